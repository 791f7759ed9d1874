"""Where a replay is: place, time, speed."""

from __future__ import annotations

import math

from textual.widgets import Static

from tally import formats
from tally.job.state import State
from tally.live.player import Player
from tally.screens.words import bar, line, lines


class TimeBar(Static):
    def __init__(self, player: Player) -> None:
        super().__init__(id="time-bar")
        self._player = player

    def show(self, player: Player, state: State) -> None:
        zone = state.plan.job.time_zone
        run = "playing" if player.playing else ("at the end" if player.at_end else "holding")
        when = f"{formats.day(state.at, zone)} {formats.clock_s(state.at, zone)}"
        width = max(self.size.width - 2, 10)
        self.update(
            lines(
                [
                    line(
                        (f" REPLAY {run}", "bold"),
                        f"  {when}  entry {player.place} of {player.count}",
                        f"  {_speed(player)}",
                    ),
                    line(f" {bar(player.place / player.count, width)}"),
                ]
            ),
            layout=False,
        )


def _speed(player: Player) -> str:
    return "as fast as it goes" if math.isinf(player.speed) else f"{player.speed:g}×"
