"""Where a replay is to go, as it is typed: a time of day, a share of the session, or an entry."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, datetime, time, timedelta

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from tally import formats
from tally.live.player import Player
from tally.screens.words import line

LONGEST = 40
WITHIN = timedelta(seconds=1)
"""A clock that shows 14:03:20 shows it until the next second."""
MOST_DAYS = 400
_SHARE = re.compile(r"(\d{1,3}(?:[.,]\d+)?)\s*%")
_CLOCK = re.compile(r"(?:(\d{4}-\d{2}-\d{2})\s+)?(\d{1,2}):(\d{2})(?::(\d{2}))?")
ACCEPTED = "a time such as 14:03 or 14:03:20, a share such as 35 %, or an entry's number is accepted"


def go(player: Player, text: str) -> str:
    """Goes where `text` says; else says why not."""
    text = formats.plain(text).strip()
    if (share := _SHARE.fullmatch(text)) and float(share[1].replace(",", ".")) <= 100:
        player.seek_share(float(share[1].replace(",", ".")) / 100)
        return ""
    if text.isdecimal():
        first, last = player.entries[0].number, player.entries[-1].number
        known = player.seek_number(int(text))
        return "" if known else f"no entry {text} is shown; there are {first} to {last}"
    clock = _CLOCK.fullmatch(text)
    if clock is None:
        return f"given {text!r}; {ACCEPTED}"
    at = _moment(player, clock)
    if at is None:
        return f"the session does not reach {text}; it runs {_reach(player)}"
    player.seek_time(at)
    return ""


def _moment(player: Player, clock: re.Match[str]) -> datetime | None:
    """The end of that second: on the day that was named, else on the day that is shown, else on the nearest."""
    zone = formats.zone(player.snapshot.state.plan.job.time_zone)
    try:
        wanted = time(int(clock[2]), int(clock[3]), int(clock[4] or 0))
        days = [date.fromisoformat(clock[1])] if clock[1] else list(_days(player))
    except ValueError:
        return None
    now = player.snapshot.state.at.astimezone(zone)
    days.sort(key=lambda day: abs(day - now.date()))
    begun, ended = player.entries[0].at, player.entries[-1].at
    for day in days:
        at = datetime.combine(day, wanted, zone)
        if at + (WITHIN if clock[4] else timedelta(minutes=1)) > begun and at <= ended:
            return at + WITHIN - timedelta(milliseconds=1)
    return None


def _days(player: Player) -> Iterator[date]:
    zone = formats.zone(player.snapshot.state.plan.job.time_zone)
    first, last = (entry.at.astimezone(zone).date() for entry in (player.entries[0], player.entries[-1]))
    return (first + timedelta(days=count) for count in range(min(max((last - first).days, 0), MOST_DAYS) + 1))


def _reach(player: Player) -> str:
    zone = player.snapshot.state.plan.job.time_zone
    begun, ended = player.entries[0].at, player.entries[-1].at
    days = formats.day(begun, zone), formats.day(ended, zone)
    until = formats.clock_s(ended, zone) if days[0] == days[1] else f"{days[1]} {formats.clock_s(ended, zone)}"
    return f"{days[0]} from {formats.clock_s(begun, zone)} to {until}"


class GoScreen(ModalScreen[None]):
    """One line over the screen; a refusal is said under it and leaves what was typed."""

    def __init__(self, player: Player, given: str) -> None:
        super().__init__()
        self._player, self._given = player, given

    def compose(self) -> ComposeResult:
        with Vertical(id="pick"):
            yield Static(line(("Go to", "bold"), "  14:03 or 14:03:20   35 %   120 (an entry)"))
            yield Input(self._given, id="typed", compact=True, max_length=LONGEST, select_on_focus=False)
            yield Static(line("Enter goes there   Esc back"), id="hint")

    def on_mount(self) -> None:
        field = self.query_one(Input)
        field.focus()
        field.cursor_position = len(self._given)

    def key_escape(self) -> None:
        self.dismiss()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        event.stop()
        if wrong := go(self._player, event.value):
            self.query_one("#hint", Static).update(line(("✗ ", "bold"), wrong))
        else:
            self.dismiss()
