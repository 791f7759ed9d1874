"""`tally completion`: what a shell needs to complete commands and options."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tally.cli.common import Commands

SHELLS = ("bash", "zsh", "fish", "tcsh", "powershell")


def add(commands: Commands) -> None:
    completion = commands.add_parser(
        "completion",
        help="have a shell complete commands and options",
        description="Prints lines for a shell's start-up file, such as: tally completion bash >> ~/.bashrc",
    )
    completion.add_argument("shell", choices=SHELLS)
    completion.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    from argcomplete.shell_integration import shellcode

    print(shellcode(["tally"], shell=options.shell))
    return 0


def completed(parser: argparse.ArgumentParser) -> None:
    """Answers a shell that asks what could come next, and ends; returns at once where none asks."""
    import argcomplete

    argcomplete.autocomplete(parser)
