"""`tally replay`: a session shown again."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tally.cli.common import shown, terminal, units_option

if TYPE_CHECKING:
    from tally.cli.common import Commands
    from tally.formats import Units
    from tally.live.loading import Loaded


def add(commands: Commands) -> None:
    replay = commands.add_parser("replay", help="show a session again, in the same screens")
    replay.add_argument("file", type=Path, metavar="SESSION.jsonl")
    replay.add_argument("--text", action="store_true", help="as lines, without screens (so without a terminal too)")
    units_option(replay)
    replay.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    from tally.live.loading import load

    loaded = load(options.file)
    if options.text or not terminal():
        units = shown(options, loaded.state.plan)
        from tally.report.replay import retold

        text, agrees = retold(loaded.entries, loaded.problems, units)
        print(text)
        return 0 if agrees and not loaded.damaged else 1
    for problem in loaded.problems:
        print(f"tally: {problem}", file=sys.stderr)
    return replayed(loaded, options.units)


def replayed(loaded: Loaded, units: Units | None, **looks: Any) -> int:
    """The screens over a session that is past; `looks` go to the app as they are."""
    from tally.live.player import Player
    from tally.screens.app import TallyApp

    player = Player(loaded.entries, loaded.extent.chain)
    TallyApp(player, units=units or loaded.state.plan.job.units, follow=True, **looks).run()
    return 0
