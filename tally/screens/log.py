"""Every entry in plain words, newest last; corrections, missed joints and voids are entered from here."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.coordinate import Coordinate
from textual.widgets import DataTable

from tally import formats
from tally.formats import Units
from tally.job.state import Kept, State
from tally.job.view.log import LogRow, row
from tally.screens import asks, correcting, keys, words
from tally.screens.question import Ask
from tally.screens.work import WorkScreen

WHO = 10
COLUMNS = (("no", 5), ("time", 8), ("what happened", 0), ("who", WHO))
MOST_ROWS = 400
"""The table holds the latest; the file and the report hold all."""


class LogScreen(WorkScreen):
    OWN_KEYS = keys.LOG
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
        self._drawn: tuple[Units, frozenset[int], int] | None = None

    def body(self) -> ComposeResult:
        table: DataTable[Content] = DataTable(id="table", cursor_type="row", zebra_stripes=True)
        table.can_focus = False
        yield table

    @property
    def _told_width(self) -> int:
        """What the other columns, their gaps and the scroll bar leave."""
        return max(self.app.size.width - sum(width + 2 for _, width in COLUMNS) - 4, 20)

    def draw(self, state: State, units: Units) -> None:
        table = self.query_one(DataTable)
        drawn = (units, state.voided, self._told_width)
        afresh = self._drawn != drawn or self._shown > len(state.entries)
        number = self._number if table.row_count else 0
        at_end = table.cursor_row >= table.row_count - 1
        if afresh:
            # Units or width changed, an entry was voided, or another session came: any line may read differently.
            self._drawn, self._shown, self._rows = drawn, 0, {}
            table.clear(columns=True)
            for label, width in COLUMNS:
                table.add_column(label, width=width or self._told_width, key=label)
        fresh = state.entries[self._shown :][-MOST_ROWS:]
        for kept in fresh:
            self._add(state, kept, units)
        self._shown = len(state.entries)
        while table.row_count > MOST_ROWS:
            table.remove_row(next(iter(table.rows)))
        if fresh and at_end:
            table.move_cursor(row=table.row_count - 1, animate=False)
        elif afresh and str(number) in table.rows:
            table.move_cursor(row=table.get_row_index(str(number)), animate=False)

    def _add(self, state: State, kept: Kept, units: Units) -> None:
        told = row(state, kept)
        self._rows[told.number] = told
        mark = "VOID " if told.voided else ""
        self.query_one(DataTable).add_row(
            words.line(str(told.number)),
            words.line(formats.clock_s(told.at, state.plan.job.time_zone)),
            words.line(words.cut(mark + words.said(told.sentence, units), self._told_width)),
            words.line(words.cut(told.who, WHO)),
            key=str(told.number),
        )

    def action_row(self, step: int) -> None:
        """The entry line keeps the focus; the arrows move the bar all the same, and the line below says it in full."""
        table = self.query_one(DataTable)
        if table.row_count:
            table.move_cursor(row=min(max(table.cursor_row + step, 0), table.row_count - 1), animate=False)
            told = self._rows[self._number]
            self.say(("VOID " if told.voided else "") + words.said(told.sentence, self.tally.units))

    @property
    def _number(self) -> int:
        """The entry under the bar."""
        table = self.query_one(DataTable)
        return int(table.coordinate_to_cell_key(Coordinate(table.cursor_row, 0)).row_key.value or 0)

    def act(self, action: str) -> None:
        actions = {"void": self._void, "correct": self._correct, "insert": self._insert}
        if action in actions and self.query_one(DataTable).row_count:
            actions[action]()
        else:
            super().act(action)

    def _void(self) -> None:
        number = self._number
        told = self._rows[number]
        if told.voidable:
            self.put(asks.void(told, self.tally.units))
        else:
            self.say(f"entry {number} is none that can be voided")

    def _correct(self) -> None:
        question = correcting.again(self._number, self.tally.snapshot.state, self.tally.units)
        if isinstance(question, str):
            self.say(question)
        elif isinstance(question, Ask):
            self.put(question)
        else:
            self._answering.pick(question)

    def _insert(self) -> None:
        question = correcting.missed(self._number, self.tally.snapshot.state)
        if isinstance(question, str):
            self.say(question)
        else:
            self.put(question)
