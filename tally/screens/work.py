"""What the working screens share: frame, and drawing part by part."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar, cast

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Vertical, VerticalScroll
from textual.css.query import NoMatches
from textual.screen import Screen

from tally.formats import Units
from tally.job.state import State
from tally.job.view.alarms import standing
from tally.job.view.header import header
from tally.live.session import Snapshot
from tally.screens import keys
from tally.screens.answering import Answering
from tally.screens.asks import Ask
from tally.screens.entry import EntryLine
from tally.screens.keys import Key
from tally.screens.parts import AlarmBar, Banner, Header, KeyLine
from tally.screens.timebar import TimeBar
from tally.screens.watchline import WatchLine

if TYPE_CHECKING:
    from tally.screens.app import TallyApp


class WorkScreen(Screen[None]):
    """Header, alarm bar, a body of its own, keys; between them the entry line, or what a replay or a watcher has."""

    OWN_KEYS: ClassVar[tuple[Key, ...]] = ()
    OWN_ASK: ClassVar[Ask | None] = None
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "scroll_list(-1)", show=False),
        Binding("down", "scroll_list(1)", show=False),
        Binding("pageup", "scroll_list(-10)", show=False),
        Binding("pagedown", "scroll_list(10)", show=False),
    ]

    def __init__(self) -> None:
        super().__init__()
        self._answering = Answering(self)

    def compose(self) -> ComposeResult:
        yield Header(id="header")
        yield AlarmBar(id="alarm-bar")
        yield Banner(id="banner")
        with Container(id="body"):
            yield from self.body()
        with Vertical(id="foot"):
            if self.tally.player is not None:
                yield TimeBar(self.tally.player)
            elif self.tally.follower is not None:
                yield WatchLine()
            else:
                yield EntryLine(self.OWN_ASK, self.press, self._answering.further)
            yield KeyLine(id="keys")

    def body(self) -> ComposeResult:
        raise NotImplementedError

    def draw(self, state: State, units: Units) -> None:
        """Puts the body's widgets right for `state`."""
        raise NotImplementedError

    @property
    def tally(self) -> TallyApp:
        return cast("TallyApp", self.app)

    @property
    def entry(self) -> EntryLine | None:
        """The entry line; a replay has none."""
        found = self.query(EntryLine)
        return found.first() if found else None

    @property
    def own_keys(self) -> tuple[Key, ...]:
        if self.tally.player is not None:
            return keys.REPLAY
        return keys.WATCH if self.tally.follower is not None else self.OWN_KEYS

    def on_screen_resume(self) -> None:
        if self.entry is not None:
            self.entry.focus_field()
        self.tally.redraw()

    def on_resize(self) -> None:
        self.tally.redraw()

    def show(self, snapshot: Snapshot, units: Units) -> None:
        """Draws every part that can be drawn; raises the first fault of those that cannot."""
        state, replay = snapshot.state, self.tally.past
        parts: list[Callable[[], None]] = [
            lambda: self.query_one(AlarmBar).show(
                standing(state), units, state.plan.job.time_zone, snapshot.trouble, snapshot.raw_trouble, bool(replay)
            ),
            lambda: self.query_one(Header).show(header(state), units, snapshot.trouble, replay, snapshot.copy),
            lambda: self.query_one(KeyLine).show(keys.PLACES, self.own_keys),
            lambda: self._show_foot(state, units),
            lambda: self.draw(state, units),
        ]
        faults: list[Exception] = []
        for part in parts:
            try:
                part()
            except NoMatches:
                raise
            except Exception as fault:
                faults.append(fault)
        self.query_one(Banner).show(faults[0] if faults else None)
        if faults:
            raise faults[0]

    def _show_foot(self, state: State, units: Units) -> None:
        if self.entry is not None:
            self.entry.show_units(units)
        elif self.tally.player is not None:
            self.query_one(TimeBar).show(self.tally.player, state)
        elif self.tally.follower is not None:
            self.query_one(WatchLine).show(self.tally.follower)

    def action_scroll_list(self, step: int) -> None:
        """The entry line keeps the focus; the arrows scroll all the same."""
        for found in self.query("#list").results(VerticalScroll):
            found.scroll_relative(y=step, animate=False)

    # --- from a key to the record ------------------------------------------------------------------------------------

    def press(self, letter: str) -> None:
        """A letter key: asks its question, or says that there is none."""
        key = next((key for key in self.OWN_KEYS if key.key == letter), None)
        if key is None:
            self.say(f"nothing is tied to {letter} here; F6 shows the keys")
        elif key.action == "answer":
            self._answering.alarm()
        elif key.action == "checks":
            self._answering.checks()
        else:
            self._answering.act(key.action)

    def put(self, ask: Ask) -> None:
        """Has `ask` asked in the entry line."""
        if self.entry is not None:
            self.entry.put(ask)
            self.entry.focus_field()

    def on_entry_line_given(self, message: EntryLine.Given) -> None:
        self._answering.given(message)

    def say(self, text: str, style: str = "") -> None:
        if self.entry is not None:
            self.entry.say(text, style)
