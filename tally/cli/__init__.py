"""The commands, one a file: the only place where rooms are wired together; each loads only what it needs."""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Sequence

from tally import __version__
from tally.cli import (
    check,
    completion,
    demo,
    export,
    listing,
    mend,
    meter,
    plan,
    replay,
    report,
    rules,
    run,
    settings,
    start,
    watch,
)
from tally.cli.common import terminal
from tally.cli.fault import WRONG, CommandFault

COMMANDS = (
    start,
    demo,
    plan,
    run,
    replay,
    watch,
    report,
    rules,
    check,
    mend,
    meter,
    settings,
    listing,
    export,
    completion,
)


def main(arguments: Sequence[str] | None = None) -> int:
    _set_streams()
    parser = _parser()
    if "_ARGCOMPLETE" in os.environ:
        completion.completed(parser)
    options = parser.parse_args(arguments)
    if options.command is None:
        if not terminal():
            parser.error("which command? In a terminal, `tally` alone asks what is to be done")
        options = parser.parse_args(["start"])
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


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="tally",
        description="The casing and grouting record that a water-well crew keeps beside the rig.",
        epilog="A number here is an estimate. The local code, the makers' ratings and the licensed contractor decide.",
    )
    parser.add_argument("--version", action="version", version=f"tally {__version__}")
    commands = parser.add_subparsers(title="commands", required=False, metavar="COMMAND")
    parser.set_defaults(command=None)
    for command in COMMANDS:
        command.add(commands)
    return parser
