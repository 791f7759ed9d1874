"""The list before the first batch, over the screen: Enter or a digit confirms, a reason goes on without."""

from __future__ import annotations

import asyncio
from collections.abc import Sequence
from typing import TYPE_CHECKING, cast

from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from tally import formats
from tally.job import intents as want
from tally.job.events import CheckName
from tally.job.view.checklist import CheckRow, rows
from tally.live.session import Saved
from tally.screens import words
from tally.screens.words import line

if TYPE_CHECKING:
    from tally.screens.app import TallyApp

LONGEST = 500
DRAWN_EVERY_S = 0.5
HINT = "Enter or its digit: it is so     ↑↓ moves     Esc back"
HINT_WITHOUT = "0  not so, say why        9  none of those that are left, say why"
HINT_TYPING = "not done, because … then Enter     Esc back"


class ChecklistScreen(ModalScreen[bool]):
    """True once every item has its word; False for Esc."""

    AUTO_FOCUS = ""

    def __init__(self) -> None:
        super().__init__()
        self._at = 0
        self._sent: set[CheckName] = set()
        """Answers on their way to the record: a second press means the next item."""
        self._why_for: tuple[CheckName, ...] = ()
        """What the reason that is being typed is for."""
        self._said = ""
        self._closed = False

    def compose(self) -> ComposeResult:
        with Vertical(id="pick"):
            yield Static(line(("Before the first batch", "bold")))
            yield VerticalScroll(Static(id="checks"), id="options", can_focus=False)
            yield Static(id="said")
            field = Input(id="typed", compact=True, max_length=LONGEST, select_on_focus=False)
            field.display = False
            yield field
            yield Static(id="hint")

    def on_mount(self) -> None:
        self._hint()
        self._to_next()
        self.set_interval(DRAWN_EVERY_S, self._draw)

    def on_resize(self) -> None:
        self.call_after_refresh(self._draw)

    @property
    def _tally(self) -> TallyApp:
        return cast("TallyApp", self.app)

    @property
    def _rows(self) -> tuple[CheckRow, ...]:
        return rows(self._tally.snapshot.state)

    def _open(self, found: Sequence[CheckRow]) -> list[CheckRow]:
        return [row for row in found if not row.said and row.check not in self._sent]

    # --- drawing -----------------------------------------------------------------------------------------------------

    def _draw(self) -> None:
        """One line an item; what the one under the bar rests on stands below."""
        width, found = max(self.query_one("#options").size.width - 1, 20), self._rows
        zone = self._tally.snapshot.state.plan.job.time_zone
        drawn = []
        for place, row in enumerate(found):
            here = "▸" if place == self._at else " "
            mark = {"confirmed": "✓", "not done": "✗"}.get(row.said, "▲" if row.short else " ")
            title = f"{row.title}, {formats.clock(row.at, zone)}" if row.at else row.title
            drawn.append(line(here, (f" {place + 1} ", "bold reverse"), f" {mark} {words.cut(title, width - 7)}"))
        self.query_one("#checks", Static).update(words.lines(drawn))
        self.query_one("#options", VerticalScroll).scroll_to(y=self._at, animate=False)
        told = words.folded(self._said or self._detail(found[self._at]), width, "   ")
        self.query_one("#said", Static).update(words.lines([line(""), *(line((part, "bold")) for part in told)]))

    def _detail(self, row: CheckRow) -> str:
        told = words.said(row.detail, self._tally.units)
        if row.said == "not done":
            return f"not done, because {words.cut(row.reason, 200)}"
        if row.short:
            return f"SHORT: {told}. Take more aboard, or 0 and why it goes on"
        return told

    # --- keys --------------------------------------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        """Keys that no field took."""
        if event.key == "escape":
            event.stop()
            self._back()
        elif self._why_for:
            return
        elif event.key in ("up", "down"):
            event.stop()
            self._said = ""
            self._at = (self._at + (1 if event.key == "down" else -1)) % len(self._rows)
            self._draw()
        elif event.key == "enter":
            event.stop()
            self._confirm(self._at)
        elif event.character is not None and event.character.isdecimal():
            event.stop()
            self._digit(int(event.character))

    def _digit(self, digit: int) -> None:
        found = self._rows
        if digit == 0:
            self._ask_why((found[self._at].check,))
        elif digit == 9:
            self._ask_why(tuple(row.check for row in self._open(found)))
        elif digit <= len(found):
            self._at = digit - 1
            self._confirm(self._at)

    def _back(self) -> None:
        if self._why_for:
            self._end_why()
        else:
            self._close(False)

    def _close(self, complete: bool) -> None:
        """Only once: a key that arrives while the list goes away must not end the program."""
        if not self._closed:
            self._closed = True
            self.dismiss(complete)

    def _confirm(self, place: int) -> None:
        row = self._rows[place]
        if row.said == "confirmed" or row.check in self._sent:
            self._to_next()
        else:
            self._submit(want.ConfirmCheck(row.check), row.check)

    def _ask_why(self, checks: tuple[CheckName, ...]) -> None:
        self._why_for = checks
        if not checks:
            return
        field = self.query_one(Input)
        field.display, field.value = True, ""
        field.focus()
        self._hint()

    def _hint(self) -> None:
        hints = [HINT_TYPING] if self._why_for else [HINT, HINT_WITHOUT]
        self.query_one("#hint", Static).update(words.lines([line(hint) for hint in hints]))

    def _end_why(self) -> None:
        self._why_for = ()
        self.query_one(Input).display = False
        self.set_focus(None)
        self._hint()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        event.stop()
        why = event.value.strip()
        if not why:
            return
        checks = self._why_for
        self._end_why()
        for check in checks:
            self._submit(want.OverrideCheck(check, why), check)

    # --- to the record -----------------------------------------------------------------------------------------------

    def _submit(self, intent: want.Intent, check: CheckName) -> None:
        self._sent.add(check)
        self._said = ""
        self._to_next()
        self.run_worker(self._outcome(intent, check), group="checks", exit_on_error=False)

    async def _outcome(self, intent: want.Intent, check: CheckName) -> None:
        try:
            outcome = await asyncio.wrap_future(self._tally.feed.submit(intent))
        except Exception as bug:
            self._said = f"✗ not recorded, an error in the program: {bug}"
        else:
            if not isinstance(outcome, Saved):
                self._at = next(place for place, row in enumerate(self._rows) if row.check == check)
                self._said = f"✗ {self._why_not(outcome)}"
        self._sent.discard(check)
        self._draw()
        if all(row.said for row in self._rows):
            # Not from this worker: it belongs to the screen, which would end it in the middle of its own closing.
            self.call_later(self._close, True)

    def _why_not(self, outcome: object) -> str:
        if hasattr(outcome, "words"):
            told: str = outcome.words(lambda quantity: formats.text(quantity, self._tally.units))
            return told
        return f"NOT SAVED: {getattr(outcome, 'why', '')}"

    def _to_next(self) -> None:
        """The bar to the next item that waits, from here down and round."""
        found = self._rows
        waiting = {row.check for row in self._open(found)}
        order = [(self._at + step) % len(found) for step in range(len(found))]
        self._at = next((place for place in order if found[place].check in waiting), self._at)
        self._draw()
