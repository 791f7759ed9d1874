"""Every entry in plain words, newest last; an entry is voided from here."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.coordinate import Coordinate
from textual.widgets import DataTable

from tally import formats
from tally.formats import Units
from tally.job.state import State
from tally.job.view.log import LogRow, row
from tally.screens import asks, keys, words
from tally.screens.work import WorkScreen

COLUMNS = (("no", 5), ("time", 8), ("what happened", 0), ("who", 10))
MOST_ROWS = 400
"""The table holds the latest; the file and the report hold all."""


class LogScreen(WorkScreen):
    OWN_KEYS = keys.LOG
    OWN_ASK = asks.NOTE
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "row(-1)", show=False),
        Binding("down", "row(1)", show=False),
        Binding("pageup", "row(-12)", show=False),
        Binding("pagedown", "row(12)", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._shown = 0
        self._rows: dict[int, LogRow] = {}
        self._drawn: tuple[Units, frozenset[int]] | None = None

    def body(self) -> ComposeResult:
        table: DataTable[Content] = DataTable(id="table", cursor_type="row", zebra_stripes=True)
        yield table

    def on_mount(self) -> None:
        table = self.query_one(DataTable)
        for label, width in COLUMNS:
            table.add_column(label, width=width or self._told_width, key=label)

    @property
    def _told_width(self) -> int:
        """What the other columns, their gaps and the scroll bar leave."""
        return max(self.app.size.width - sum(width + 2 for _, width in COLUMNS) - 4, 30)

    def draw(self, state: State, units: Units) -> None:
        table = self.query_one(DataTable)
        if self._drawn != (units, state.voided) or self._shown > len(state.entries):
            # Units changed, or an entry was voided: every line may read differently.
            self._drawn, self._shown, self._rows = (units, state.voided), 0, {}
            table.clear()
        fresh = state.entries[self._shown :][-MOST_ROWS:]
        at_end = table.cursor_row >= table.row_count - 1
        for kept in fresh:
            told = row(state, kept)
            self._rows[told.number] = told
            mark = "VOID " if told.voided else ""
            table.add_row(
                words.line(str(told.number)),
                words.line(formats.clock_s(told.at, state.plan.job.time_zone)),
                words.line(_cut(mark + words.said(told.sentence, units), self._told_width)),
                words.line(_cut(told.who, 10)),
                key=str(told.number),
            )
        self._shown = len(state.entries)
        while table.row_count > MOST_ROWS:
            table.remove_row(next(iter(table.rows)))
        if fresh and at_end:
            table.move_cursor(row=table.row_count - 1, animate=False)

    def action_row(self, step: int) -> None:
        """The entry line keeps the focus; the arrows move the bar all the same, and the line below says it in full."""
        table = self.query_one(DataTable)
        if table.row_count:
            table.move_cursor(row=min(max(table.cursor_row + step, 0), table.row_count - 1), animate=False)
            told = self._rows[self._number]
            self.say(words.said(told.sentence, self.tally.units), "")

    @property
    def _number(self) -> int:
        """The entry under the bar."""
        table = self.query_one(DataTable)
        return int(table.coordinate_to_cell_key(Coordinate(table.cursor_row, 0)).row_key.value or 0)

    def press(self, letter: str) -> None:
        if letter == "v":
            self._void()
        else:
            super().press(letter)

    def _void(self) -> None:
        if not self.query_one(DataTable).row_count:
            return
        number = self._number
        told = self._rows[number]
        if told.voidable:
            self.put(asks.void(number, told.kind))
        else:
            self.say(f"entry {number} is none that can be voided", "")


def _cut(text: str, most: int) -> str:
    text = formats.plain(text)
    return text if len(text) <= most else text[: most - 1] + "…"
