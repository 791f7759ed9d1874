"""One question over the screen: a number picks an answer; where it is allowed, words can be typed instead."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from tally.screens import words
from tally.screens.words import line


class PickScreen(ModalScreen[int | str | None]):
    """Returns the option's place from 0, the text that was typed, or None for Esc."""

    def __init__(self, title: str, options: Sequence[str], *, remark: str = "", typed: str = "") -> None:
        super().__init__()
        self._title, self._options, self._remark, self._typed = title, tuple(options), remark, typed

    def compose(self) -> ComposeResult:
        with Vertical(id="pick"):
            rows = [line((self._title, "bold"))]
            if self._remark:
                rows.append(line(self._remark))
            rows.append(line(""))
            rows += [
                line((f" {place} ", "bold reverse"), f" {option}") for place, option in enumerate(self._options, 1)
            ]
            rows.append(line(""))
            yield Static(words.lines(rows))
            if self._typed:
                yield Static(line(self._typed))
                yield Input(id="typed", compact=True, max_length=500)
            yield Static(line("a number picks" + (", or type and Enter" if self._typed else "") + "   Esc back"))

    def on_mount(self) -> None:
        if self._typed:
            self.query_one(Input).focus()

    def on_key(self, event: events.Key) -> None:
        self._chosen(event)

    def _chosen(self, event: events.Key) -> None:
        if event.key == "escape":
            event.stop()
            self.dismiss(None)
        elif event.character and event.character.isdecimal() and not self._typing:
            place = int(event.character)
            if 1 <= place <= len(self._options):
                event.stop()
                self.dismiss(place - 1)

    @property
    def _typing(self) -> bool:
        return bool(self._typed) and bool(self.query_one(Input).value)

    def on_input_changed(self, event: Input.Changed) -> None:
        # A lone digit picks; it reaches the field first because the field has the focus.
        if event.value.isdecimal() and len(event.value) == 1 and 1 <= int(event.value) <= len(self._options):
            event.stop()
            self.dismiss(int(event.value) - 1)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        event.stop()
        if event.value.strip():
            self.dismiss(event.value.strip())
