"""`tally watch`: a session that another program records, shown while it grows."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli.common import looks, terminal, units_option
from tally.cli.fault import CommandFault
from tally.cli.opening import shown

if TYPE_CHECKING:
    from tally.cli.common import Commands, Looks
    from tally.screens.places import Work
    from tally.screens.preparing import Preparation

LOOK_S = 0.5


def add(commands: Commands) -> None:
    watch = commands.add_parser(
        "watch",
        help="show a session that another program records, read-only",
        description="Shows a session that another program records, read-only, as it grows.",
    )
    watch.add_argument("file", type=Path, metavar="SESSION.jsonl")
    units_option(watch)
    watch.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    if not terminal():
        raise CommandFault("watching needs a terminal; `tally replay --text` tells a session without one")
    return watched(options.file, looks(options.units))


def watched(path: Path, looks: Looks) -> int:
    """The screens over a session as it grows; they wait for one that is not there yet."""
    from tally.screens.opening import Frame

    @contextmanager
    def following(preparation: Preparation) -> Iterator[Work]:
        if path.is_dir():
            raise CommandFault(f"{path} is a folder; name a session file")
        from tally.live.clock import SystemClock
        from tally.live.follower import Follower, begun
        from tally.record.similar import meant
        from tally.screens.places import Work

        if not begun(path):
            other = "" if path.exists() else meant(path)
            preparation.step(f"{path.name} is not there yet, or empty: waiting for it{f'; {other}' if other else ''}")
            while not begun(path):
                preparation.wait(LOOK_S)
            preparation.step(f"reading {path.name} …")
        follower = Follower(path, SystemClock())
        yield Work(follower, units=looks.units or follower.snapshot.state.plan.job.units, follow=True)

    return shown(path.name, Frame(f"reading {path.name} …", "WATCHING, read-only", entry=False), following, looks)
