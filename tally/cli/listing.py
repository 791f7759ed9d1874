"""`tally list`: the sessions of a folder."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli.common import folder_option
from tally.cli.fault import CommandFault

if TYPE_CHECKING:
    from tally.cli.common import Commands
    from tally.office.listing import Listed


def add(commands: Commands) -> None:
    listing = commands.add_parser(
        "list",
        help="the sessions of a folder: job, dates, depth, volume, state, damage",
        description="Lists the sessions of a folder: job, dates, depth, volume, state, damage.",
    )
    folder_option(listing)
    listing.add_argument("--json", action="store_true", help="one JSON object a line, in SI")
    listing.add_argument("--units", choices=("metric", "us"), help="instead of those that each plan asks for")
    listing.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    from tally.office.listing import Counts, listed_json, listed_lines
    from tally.record.folder import sessions_folder

    if options.folder is not None and not options.folder.expanduser().is_dir():  # a mistyped name makes no folder
        raise CommandFault(f"there is no folder {options.folder}; check the path, or leave --folder out for your own")
    folder, counts = sessions_folder(options.folder), Counts()
    for listed in _listed(folder):
        counts.count(listed)
        print(listed_json(listed) if options.json else "\n".join(listed_lines(listed, options.units)), flush=True)
    if not options.json:
        print(f"{counts}, in {folder}")
    return 1 if counts.damaged else 0


def _listed(folder: Path) -> Iterator[Listed]:
    """One after the other, newest first, so that a folder of thousands takes no more room than one."""
    from tally.live.loading import open_session
    from tally.office.listing import Listed
    from tally.record.fault import RecordFault
    from tally.record.folder import sessions

    for path in sessions(folder):
        try:
            opened = open_session(path)
        except RecordFault as fault:
            yield Listed(path.name, None, (str(fault),))
        else:
            yield Listed(path.name, opened.state, opened.problems)
