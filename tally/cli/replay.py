"""`tally replay`: a session shown again."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli.common import shown, terminal, units_option

if TYPE_CHECKING:
    from tally.cli.common import Commands


def add(commands: Commands) -> None:
    replay = commands.add_parser("replay", help="show a session again, in the same screens")
    replay.add_argument("file", type=Path, metavar="SESSION.jsonl")
    replay.add_argument("--text", action="store_true", help="as lines, without screens (so without a terminal too)")
    units_option(replay)
    replay.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    from tally.live.loading import load

    loaded = load(options.file)
    units = shown(options, loaded.state.plan)
    if options.text or not terminal():
        from tally.report.replay import retold

        text, agrees = retold(loaded.entries, loaded.problems, units)
        print(text)
        return 0 if agrees and not loaded.damaged else 1
    from tally.live.player import Player
    from tally.screens.app import TallyApp

    for problem in loaded.problems:
        print(f"tally: {problem}", file=sys.stderr)
    TallyApp(Player(loaded.entries, loaded.extent.chain), units=units, follow=True).run()
    return 0
