"""All alarms of the session, those on the bar first."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from tally import formats
from tally.formats import Units
from tally.job.state import State
from tally.job.view.alarms import AlarmRow, alarms
from tally.screens import keys, words
from tally.screens.words import line
from tally.screens.work import WorkScreen


class AlarmsScreen(WorkScreen):
    OWN_KEYS = keys.ALARMS

    def body(self) -> ComposeResult:
        with VerticalScroll(id="list", can_focus=False):
            yield Static(id="text")

    def draw(self, state: State, units: Units) -> None:
        rows: list[Content] = []
        width = max(self.query_one(VerticalScroll).size.width - 2, 20)
        for row in alarms(state):
            rows += _told(row, units, state.plan.job.time_zone, width)
        if not rows:
            rows = [line("no alarm in this session so far")]
        self.query_one("#text", Static).update(words.lines(rows))


def _told(row: AlarmRow, units: Units, zone: str, width: int) -> list[Content]:
    loud = "bold reverse" if row.standing and not row.acknowledged else "bold"
    return [
        line((f" {words.alarm_head(row)}  {row.title}", loud), f"  {formats.clock_s(row.raised_at, zone)}"),
        *(line(part) for part in words.folded(words.said(row.sentence, units), width, "   ")),
        *(line(part) for part in words.folded(words.alarm_state(row), width, "   ")),
    ]
