"""Where a replay is: place, time, speed, and whether its alarms are those that were recorded."""

from __future__ import annotations

import math

from textual.widgets import Static

from tally import formats
from tally.job.state import State
from tally.live.player import Player
from tally.screens import words
from tally.screens.words import bar, line, lines

LEAST_BAR = 10
DIFFER = "▲ ALARMS DIFFER"


class TimeBar(Static):
    def __init__(self, player: Player) -> None:
        super().__init__(id="time-bar")
        self._player = player

    def show(self, player: Player, state: State) -> None:
        zone, width = state.plan.job.time_zone, max(self.size.width, 2 * LEAST_BAR)
        run = "playing" if player.playing else ("at the end" if player.at_end else "holding")
        when = f"{formats.day(state.at, zone)} {formats.clock_s(state.at, zone)}"
        place = f"entry {player.place} of {player.count}"
        told = words.cut(_alarms(player), width - LEAST_BAR - 4)
        filled = bar(player.place / player.count, width - 2 - (words.cells(told) + 2 if told else 0))
        self.update(
            lines(
                [
                    line(
                        (f" {player.word} {run}", "bold"),
                        f"  {when}  {place}  {speed(player.speed)}",
                    ),
                    line(f" {filled}  ", (told, "bold" if player.differences else "")),
                ]
            ),
            layout=False,
        )


def speed(times: float) -> str:
    """Times the clock of the day, in words."""
    if math.isinf(times):
        return "as fast as it goes"
    return f"{times:g}×" if times >= 1 else f"1/{round(1 / times)}×"


def _alarms(player: Player) -> str:
    """Whether alarms differ from the recorded ones; where the replay stands at such a place, how."""
    if here := player.difference:
        return f"{DIFFER} {here.words}"
    count = len(player.differences)
    if count:
        return f"{player.what_if}{': ' if player.what_if else ''}{DIFFER} at {count}, d goes there"
    if player.what_if:
        return f"{player.what_if}: no alarm moves"
    return "alarms agree" if player.checked else "alarms being checked"
