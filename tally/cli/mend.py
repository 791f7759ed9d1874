"""`tally mend`: a damaged session written anew, so that recording can go on."""

from __future__ import annotations

import argparse
import getpass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tally.cli.common import Commands


def add(commands: Commands) -> None:
    mend = commands.add_parser(
        "mend",
        help="write a damaged session anew, without the lines that do not hold",
        description="Writes a damaged session anew beside itself, with every line that holds, and says what does not.",
    )
    mend.add_argument("file", type=Path, metavar="SESSION.jsonl")
    mend.add_argument("--by", default="", metavar="NAME", help="who mends it, for the record (else your login name)")
    mend.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    from tally.live.clock import SystemClock
    from tally.live.mend import mended

    done = mended(options.file, options.by or _login(), SystemClock())
    if done is None:
        print(f"{options.file} is not damaged: nothing to mend; `tally run` goes on with it")
        return 0
    entries = "1 entry is" if done.lost == 1 else f"{done.lost} entries are"
    print(
        f"{options.file} is left as it is.\n"
        f"  {done.lines} did not hold: set aside in {done.aside}\n"
        f"  {entries} missing; read them there, and enter again what you know\n"
        f"  go on      tally run {done.path}\n"
        f"  report     tally report {done.path}"
    )
    return 0


def _login() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "unknown"
