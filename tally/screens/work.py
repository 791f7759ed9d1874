"""What the working screens share: frame, and drawing part by part."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, ClassVar, cast

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Container, Vertical, VerticalScroll
from textual.css.query import NoMatches
from textual.screen import Screen
from textual.widget import Widget

from tally.formats import Units
from tally.job.state import State
from tally.job.view.alarms import standing
from tally.job.view.header import header
from tally.live.session import Snapshot
from tally.screens import keys, loss
from tally.screens.answering import Answering
from tally.screens.entry import EntryLine
from tally.screens.keyline import KeyLine
from tally.screens.keys import Key
from tally.screens.parts import AlarmBar, Banner, Header
from tally.screens.question import Ask
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

    @property
    def sizes(self) -> tuple[object, ...]:
        """Of its parts: they follow a terminal that is resized a little later, one after the other."""
        return tuple(part.size for part in self.walk_children(Widget))

    def show(self, snapshot: Snapshot, units: Units) -> None:
        """Draws every part that can be drawn; raises the first fault of those that cannot."""
        state, replay = snapshot.state, self.tally.past
        parts: list[Callable[[], None]] = [
            lambda: self.query_one(AlarmBar).show(
                standing(state),
                units,
                state.plan.job.time_zone,
                snapshot.trouble,
                snapshot.raw_trouble,
                "" if replay else self.tally.face("answer"),
                muted=self.tally.bell_muted,
            ),
            lambda: self.query_one(Header).show(header(state), units, snapshot.trouble, replay, snapshot.copy),
            lambda: self.query_one(KeyLine).show(
                *(keys.mapped(each, self.tally.keymap) for each in (keys.PLACES, self.own_keys))
            ),
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
        """A letter or function key: does what it stands for, or says that it stands for nothing."""
        key = next((key for key in keys.mapped(self.OWN_KEYS, self.tally.keymap) if key.key == letter), None)
        if key is None:
            self.say(f"nothing is tied to {letter} here; {self.tally.face('help')} shows the keys")
        elif key.action == "mute":
            self.tally.mute()
        else:
            self.act(key.action)

    def act(self, action: str) -> None:
        """Asks what `action` asks for."""
        if action == "answer":
            self._answering.alarm()
        elif action == "report":
            from tally.screens.reporting import Reporting  # not for the first screen

            Reporting(self).ask()
        elif action == "curve":
            self.turn_over()
        elif action == "loss":
            self.app.push_screen(loss.page())
        elif action == "checks":
            self._answering.checks()
        else:
            self._answering.act(action)

    def on_key(self, event: events.Key) -> None:
        """A function key that stands for a letter's action, or a letter where there is no entry line."""
        mapped = [key for key in keys.mapped(self.OWN_KEYS, self.tally.keymap) if key.changeable and len(key.key) > 1]
        if self.entry is not None and any(key.key == event.key for key in mapped):
            event.stop()
            self.press(event.key)
        elif self.tally.follower is not None and event.key == keys.mapped([keys.MUTE], self.tally.keymap)[0].key:
            event.stop()
            self.tally.mute()

    def turn_over(self) -> None:
        """To the other drawing of the screen, where it has one."""

    def put(self, ask: Ask) -> None:
        """Has `ask` asked in the entry line."""
        if self.entry is not None:
            self.entry.put(ask)
            self.entry.focus_field()

    def on_entry_line_given(self, message: EntryLine.Given) -> None:
        self._answering.given(message)

    def sign_off(self) -> None:
        """Records that the job is done."""
        self._answering.sign_off()

    def say(self, text: str, style: str = "") -> None:
        if self.entry is not None:
            self.entry.say(text, style)
