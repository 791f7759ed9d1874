"""The commands, one a file: the only place where rooms are wired together; each loads only what it needs."""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Iterable, Sequence
from importlib import import_module

from tally import __version__
from tally.cli.common import terminal
from tally.cli.fault import WRONG, CommandFault

COMMANDS = {
    "start": "start",
    "demo": "demo",
    "plan": "plan",
    "run": "run",
    "replay": "replay",
    "watch": "watch",
    "report": "report",
    "rules": "rules",
    "check": "check",
    "mend": "mend",
    "meter": "meter",
    "settings": "settings",
    "list": "listing",
    "export": "export",
    "completion": "completion",
}
"""Each command's name and its module here, in the order of the help. A command that is named is loaded alone."""


def main(arguments: Sequence[str] | None = None) -> int:
    _set_streams()
    given = list(sys.argv[1:] if arguments is None else arguments)
    if "_ARGCOMPLETE" in os.environ:
        from tally.cli import completion

        completion.completed(_parser(COMMANDS))
    if not given and terminal():
        given = ["start"]
    parser = _parser(given[:1] if given[:1] and given[0] in COMMANDS else COMMANDS)
    options = parser.parse_args(given)
    if options.command is None:
        parser.error("which command? In a terminal, `tally` alone asks what is to be done")
    from tally.record.fault import RecordFault

    try:
        code = int(options.command(options))
        sys.stdout.flush()
    except (CommandFault, RecordFault) as fault:
        print(f"tally: {fault}", file=sys.stderr)
        return WRONG
    except BrokenPipeError:
        # Whoever read the output has had enough; nothing may be left to be written when the program ends.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    return code


def _set_streams() -> None:
    """UTF-8 with plain line ends into files and pipes on every system; no letter that a terminal lacks is a fault."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        if sys.stdout.isatty():
            sys.stdout.reconfigure(errors="replace")
        else:
            sys.stdout.reconfigure(encoding="utf-8", newline="\n")
    if isinstance(sys.stderr, io.TextIOWrapper):
        sys.stderr.reconfigure(errors="backslashreplace")


def _parser(names: Iterable[str]) -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="tally",
        description="The casing and grouting record that a water-well crew keeps beside the rig.",
        epilog="A number here is an estimate. The local code, the makers' ratings and the licensed contractor decide.",
    )
    parser.add_argument("--version", action="version", version=f"tally {__version__}")
    commands = parser.add_subparsers(title="commands", required=False, metavar="COMMAND")
    parser.set_defaults(command=None)
    for name in names:
        import_module(f"{__name__}.{COMMANDS[name]}").add(commands)
    return parser
