"""One question over the screen: a number picks an answer; where it is allowed, words can be typed instead."""

from __future__ import annotations

from collections.abc import Sequence

from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from tally.screens import words
from tally.screens.field import Field, pass_on
from tally.screens.words import line

LONGEST = 500


class PickScreen(ModalScreen[int | str | None]):
    """Returns the option's place from 0, the text that was typed, or None for Esc.

    Words begin with a letter, or after 0, so that "2 bags dumped" can be said where 2 picks an answer.
    """

    AUTO_FOCUS = ""

    def __init__(self, title: str, options: Sequence[str], *, remark: str = "", typed: bool = False) -> None:
        super().__init__()
        self._title, self._options, self._remark, self._typed = title, tuple(options), remark, typed
        self._answered = False

    def compose(self) -> ComposeResult:
        rows = [line((f" {place} ", "bold reverse"), f" {option}") for place, option in enumerate(self._options, 1)]
        if self._typed:
            rows.append(line((" 0 ", "bold reverse"), " in your own words"))
        with Vertical(id="pick"):
            yield Static(line((words.cut(self._title, LONGEST), "bold")))
            if self._remark:
                yield Static(line(words.cut(self._remark, LONGEST)))
            options = VerticalScroll(Static(words.lines(rows)), id="options", can_focus=False)
            yield options
            if self._typed:
                field = Field(id="typed", compact=True, max_length=LONGEST, select_on_focus=False)
                field.display = False
                yield field
            yield Static(line("a number picks   Esc back"), id="hint")

    def on_key(self, event: events.Key) -> None:
        """Keys that no field took; those that come while the question goes away belong to what is asked next."""
        if self._answered:
            pass_on(self.app, event)
        elif event.key == "escape":
            event.stop()
            self._close(None)
        elif self._typing:
            self._ahead(event)
        elif not event.is_printable or not event.character:
            return
        elif event.character.isdecimal() and event.character != "0":
            event.stop()
            place = int(event.character)
            if place <= len(self._options):
                self._close(place - 1)
        elif self._typed:
            event.stop()
            self._begin("" if event.character in "0 " else event.character)

    def _close(self, answer: int | str | None) -> None:
        """Only once: a key that arrives while the question goes away must not end the program."""
        if not self._answered:
            self._answered = True
            self.dismiss(answer)

    @property
    def _typing(self) -> bool:
        return self._typed and self.query_one(Input).display

    def _begin(self, text: str) -> None:
        field = self.query_one(Input)
        field.display = True
        field.value = text
        field.cursor_position = len(text)
        field.focus()
        self.query_one("#hint", Static).update(line("your own words, then Enter   Esc back"))

    def _ahead(self, event: events.Key) -> None:
        """A key that came before the field had the focus, as from fast fingers over a slow link."""
        field = self.query_one(Input)
        if field.has_focus:
            return
        event.stop()
        if event.is_printable and event.character:
            field.insert_text_at_cursor(event.character)
        elif event.key == "backspace":
            field.action_delete_left()
        elif event.key == "enter":
            self._submit(field.value)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        event.stop()
        self._submit(event.value)

    def _submit(self, text: str) -> None:
        if text.strip():
            self._close(text.strip())
