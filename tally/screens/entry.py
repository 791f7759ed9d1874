"""The entry line: always ready, one question at a time. Digits answer the screen's own question, letters ask others."""

from __future__ import annotations

from dataclasses import dataclass

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.message import Message
from textual.widgets import Input, Static

from tally import formats
from tally.formats import Units
from tally.screens.asks import Ask
from tally.screens.words import line

LONGEST = 2_000


class EntryInput(Input):
    """Hands letters on as commands while it is empty and its question is the screen's own."""

    @dataclass
    class Command(Message):
        key: str

    @dataclass
    class Toggle(Message):
        """The space bar, where the question has a switch."""

    @dataclass
    class Cancel(Message):
        """Escape: back to the screen's own question."""

    commands = True
    toggles = False

    async def _on_key(self, event: events.Key) -> None:
        if event.key == "escape":
            self._take(event, self.Cancel())
        elif event.key == "space" and self.toggles:
            self._take(event, self.Toggle())
        elif self.commands and not self.value and event.character and event.character.isalpha():
            self._take(event, self.Command(event.character.lower()))
        else:
            await super()._on_key(event)

    def _take(self, event: events.Key, message: Message) -> None:
        event.stop()
        event.prevent_default()
        self.post_message(message)


class EntryLine(Vertical):
    """Question, field and unit in one line; below it what came of the last answer."""

    @dataclass
    class Given(Message):
        """An answer, in words; `again` where the same was given to a refusal that asked."""

        ask: Ask
        text: str
        toggle: str
        again: bool

    def __init__(self, own: Ask) -> None:
        super().__init__(id="entry")
        self._own = own
        self.ask = own
        self._toggle = 0
        self._refused = ""
        self._units: Units = "metric"

    def compose(self) -> ComposeResult:
        with Horizontal(id="field"):
            yield Static(id="question")
            yield EntryInput(id="input", compact=True, max_length=LONGEST, select_on_focus=False)
            yield Static(id="unit")
        yield Static(id="outcome")

    def on_mount(self) -> None:
        self.put(self._own)

    @property
    def input(self) -> EntryInput:
        return self.query_one(EntryInput)

    def focus_field(self) -> None:
        self.input.focus()

    def put(self, ask: Ask | None = None) -> None:
        """Asks `ask`, or the screen's own question."""
        self.ask = ask or self._own
        self._toggle, self._refused = 0, ""
        self.input.commands = self.ask is self._own
        self.input.toggles = bool(self.ask.toggles)
        self.input.value = self.ask.given
        self.input.cursor_position = len(self.ask.given)
        self._draw()

    def show_units(self, units: Units) -> None:
        if units != self._units:
            self._units = units
            self._draw()

    def say(self, words: str, style: str = "") -> None:
        self.query_one("#outcome", Static).update(line((f" {words}", style)), layout=False)

    def give_back(self, given: Given, *, insist: bool) -> None:
        """Puts an answer that was not taken into the line again, unless something else stands there by now.

        With `insist` the same again insists on it.
        """
        if self.input.value or self.ask is not self._own:
            return
        self.put(given.ask)
        if given.toggle in given.ask.toggles:
            self._toggle = given.ask.toggles.index(given.toggle)
        self._refused = given.text if insist else ""
        self.input.value = given.text
        self.input.cursor_position = len(given.text)
        self._draw()

    def _draw(self) -> None:
        toggle = f", {self.ask.toggles[self._toggle]} (space changes)" if self.ask.toggles else ""
        back = "" if self.ask is self._own else "  Esc back"
        self.query_one("#question", Static).update(line((f" {self.ask.label}{toggle} ", "bold"), "▸ "))
        unit = "" if self.ask.whole or self.ask.kind is None else formats.unit(self.ask.kind, self._units)
        self.query_one("#unit", Static).update(line(f" {unit}{back} "))

    def on_entry_input_toggle(self) -> None:
        self._toggle = (self._toggle + 1) % max(len(self.ask.toggles), 1)
        self._draw()

    def on_entry_input_cancel(self) -> None:
        self.put()
        self.say("")

    def on_input_submitted(self, event: Input.Submitted) -> None:
        event.stop()
        toggle = self.ask.toggles[self._toggle] if self.ask.toggles else ""
        again = bool(self._refused) and self._refused == event.value
        self.post_message(self.Given(self.ask, event.value, toggle, again))
