"""The entry line: always ready, one question at a time. Digits answer the screen's own question, letters ask others."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.message import Message
from textual.widgets import Static
from textual.widgets.input import Selection

from tally import formats
from tally.formats import Units
from tally.screens.field import Field, consume
from tally.screens.question import Ask
from tally.screens.words import cut, line

LONGEST = 2_000
LONGEST_SAID = 600
_BARE = re.compile(r"[\d.,]*")


class EntryInput(Field):
    """Hands letters on as commands while it is empty and its question is the screen's own.

    What it belongs to is called, not messaged, so that the next key of a burst finds the next question.
    """

    commands = True
    toggles = False
    listens = True
    """False where the screen's own question takes commands alone."""

    @property
    def _line(self) -> EntryLine:
        return self.query_ancestor(EntryLine)

    def took(self, event: events.Key) -> bool:
        if event.key == "enter":
            self._line.enter()
        elif event.key == "escape":
            self._line.cancel()
        elif self.toggles and event.key in ("up", "down"):
            self._line.turn(-1 if event.key == "up" else 1)
        elif self.toggles and event.key == "space" and _BARE.fullmatch(self.value):
            # Behind a unit or a foot mark the space belongs to the number.
            self._line.turn(1)
        elif self.commands and not self.value and event.character and event.character.isalpha():
            self._line.command(event.character.lower())
        elif not (self.commands and not self.listens and event.is_printable):
            return super().took(event)
        consume(event)
        return True

    def _on_paste(self, event: events.Paste) -> None:
        """As much of the first line as the field holds; the field of the library would take nothing of a longer one."""
        event.stop()
        event.prevent_default()
        if event.text and (self.listens or not self.commands):
            start, end = sorted(self.selection)
            room = LONGEST - len(self.value) + end - start
            self.replace(event.text.splitlines()[0][:room], start, end)


class EntryLine(Vertical):
    """Question with its unit, and field, in one line; below it what came of the last answer."""

    @dataclass
    class Given(Message):
        """An answer, in words; `again` where the same was given to a refusal that asked."""

        ask: Ask
        text: str
        toggle: str
        again: bool

    def __init__(self, own: Ask | None, command: Callable[[str], None], further: Callable[[Given], None]) -> None:
        """`command` is called with the letter of a command, `further` with an answer that leads to another question."""
        super().__init__(id="entry")
        self._own = own
        self.command, self._further = command, further
        self.ask = own
        self._toggle = 0
        self._refused = ""
        self._units: Units = "metric"

    def compose(self) -> ComposeResult:
        with Horizontal(id="field"):
            yield Static(id="question")
            yield EntryInput(id="input", compact=True, max_length=LONGEST, select_on_focus=False)
            yield Static(id="back")
        yield Static(id="outcome")

    def on_mount(self) -> None:
        self.input.listens = self._own is not None
        self.put()

    @property
    def input(self) -> EntryInput:
        return self.query_one(EntryInput)

    def focus_field(self) -> None:
        self.input.focus()

    def focus_at_once(self) -> None:
        """The same before any key that has come already is handed on."""
        self.screen.set_focus(self.input)

    def offer(self, text: str) -> None:
        """Puts `text` into the empty line as if it had been typed."""
        self.input.value = text
        self.input.cursor_position = len(text)

    def put(self, ask: Ask | None = None) -> None:
        """Asks `ask`, or the screen's own question."""
        self.ask = ask or self._own
        self._toggle, self._refused = 0, ""
        given = ask.given if ask else ""
        self.input.commands = ask is None
        self.input.toggles = bool(self.ask and self.ask.toggles)
        self.input.value = given
        # What is offered stands selected: Enter takes it, typing replaces it.
        self.input.selection = Selection(0, len(given))
        self._draw()

    def show_units(self, units: Units) -> None:
        if units != self._units:
            self._units = units
            # The same bare number now means another length: it is no longer the one that was asked about.
            self._refused = ""
            self._draw()

    def say(self, words: str, style: str = "") -> None:
        self.query_one("#outcome", Static).update(line((f" {cut(words, LONGEST_SAID)}", style)))

    def give_back(self, given: Given, *, insist: bool) -> None:
        """Puts an answer that was not taken into the line again, unless something else stands there by now.

        With `insist` the same again insists on it.
        """
        if self.input.value or self.ask is not self._own:
            return
        self.put(None if given.ask is self._own else given.ask)
        if given.toggle in given.ask.toggles:
            self._toggle = given.ask.toggles.index(given.toggle)
        self._refused = given.text if insist else ""
        self.input.value = given.text
        self.input.cursor_position = len(given.text)
        self._draw()

    def _draw(self) -> None:
        ask = self.ask
        label = ask.label if ask else "press a key"
        toggle = f", {ask.toggles[self._toggle]} (space changes)" if ask and ask.toggles else ""
        back = "" if self.input.commands else " Esc back "
        bare = ask is None or ask.whole or ask.kind is None
        unit = "" if bare or ask is None or ask.kind is None else f" ({formats.unit(ask.kind, self._units)})"
        self.query_one("#question", Static).update(line((f" {label}{toggle}{unit} ", "bold"), "▸ "))
        self.query_one("#back", Static).update(line(back))

    def turn(self, step: int) -> None:
        """To the next or the previous position of the question's switch."""
        if self.ask and self.ask.toggles:
            self._toggle = (self._toggle + step) % len(self.ask.toggles)
            self._refused = ""
            self._draw()

    def cancel(self) -> None:
        """Back to the screen's own question."""
        self.put()
        self.say("")

    def enter(self) -> None:
        """Gives the answer, and is free for the next at once: what is typed while this one is saved belongs to that."""
        if self.ask is None:
            return
        text = self.input.value
        toggle = self.ask.toggles[self._toggle] if self.ask.toggles else ""
        again = bool(self._refused) and self._refused == text
        given = self.Given(self.ask, text, toggle, again)
        if self.ask.then is not None:
            self._further(given)
            return
        self.post_message(given)
        self.put()

    def insist(self, text: str) -> None:
        """The same again insists on it."""
        self._refused = text
