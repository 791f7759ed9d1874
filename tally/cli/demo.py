"""`tally demo`: a live job on a simulated meter."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli.common import folder_option, looks, terminal
from tally.cli.fault import CommandFault
from tally.cli.opening import NOTHING, shown

if TYPE_CHECKING:
    from tally.cli.common import Commands, Looks
    from tally.screens.places import Work
    from tally.screens.preparing import Preparation

SPEED = 20.0


def add(commands: Commands) -> None:
    demo = commands.add_parser(
        "demo",
        help="a live job on a simulated meter; nothing needs to be set up",
        description="Runs an invented job, live, on a simulated meter; nothing needs to be set up. F9 leaves.",
    )
    demo.add_argument("--speed", type=_speed, default=SPEED, help="times the wall clock, 1 to 60 (default 20)")
    folder_option(demo)
    demo.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    if not terminal():
        raise CommandFault("the demonstration needs a terminal; `tally replay --text` shows a session without one")
    from tally.record.folder import sessions_folder

    return demonstrated(sessions_folder(options.folder), looks(), options.speed)


def demonstrated(folder: Path, looks: Looks, speed: float = SPEED) -> int:
    """The demonstration, recorded in a folder of its own below `folder`."""
    from tally.screens.opening import Frame

    path: Path | None = None

    @contextmanager
    def playing(preparation: Preparation) -> Iterator[Work]:
        nonlocal path
        from tally.demo.demo import demonstration
        from tally.record.folder import sessions_folder
        from tally.screens.places import Work

        preparation.step("reading its plan, starting the simulated meter …")
        with demonstration(sessions_folder(folder / "demo"), speed, preparation.touching) as (recorder, feed):
            path = recorder.path
            yield Work(feed, units=looks.units or recorder.snapshot.state.plan.job.units, follow=True)

    code = shown("DEMO an invented job", Frame("loading the demonstration …"), playing, looks)
    if path is None:
        print(NOTHING)
    else:
        print(f"Recorded in {path}\n  see it again   tally replay {path}\n  its report     tally report {path}")
    return code


def _speed(text: str) -> float:
    try:
        speed = float(text)
    except ValueError:
        speed = 0.0
    if not 1.0 <= speed <= 60.0:
        raise argparse.ArgumentTypeError(f"given {text}; a number from 1 to 60 is accepted")
    return speed
