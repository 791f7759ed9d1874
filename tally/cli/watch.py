"""`tally watch`: a session that another program records, shown while it grows."""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli.common import looks, terminal, units_option
from tally.cli.fault import CommandFault

if TYPE_CHECKING:
    from tally.cli.common import Commands, Looks

LOOK_S = 0.5


def add(commands: Commands) -> None:
    watch = commands.add_parser("watch", help="show a session that another program records, read-only")
    watch.add_argument("file", type=Path, metavar="SESSION.jsonl")
    units_option(watch)
    watch.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    if not terminal():
        raise CommandFault("watching needs a terminal; `tally replay --text` tells a session without one")
    from tally.live.follower import begun

    if options.file.is_dir():
        raise CommandFault(f"{options.file} is a folder; name a session file")
    if not begun(options.file):
        print(f"tally: {options.file} is not there yet, or empty: waiting for it (Ctrl+C leaves)", file=sys.stderr)
        try:
            while not begun(options.file):
                time.sleep(LOOK_S)
        except KeyboardInterrupt:
            return 0
    return watched(options.file, looks(options.units))


def watched(path: Path, looks: Looks) -> int:
    """The screens over a session as it grows."""
    from tally.live.clock import SystemClock
    from tally.live.follower import Follower
    from tally.screens.app import TallyApp

    follower = Follower(path, SystemClock())
    app = TallyApp(follower, follow=True, **looks.of_job(follower.snapshot.state.plan))
    app.run()
    return app.return_code or 0
