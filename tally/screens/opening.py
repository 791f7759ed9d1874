"""The first frame of every job, painted before anything is read: what is being opened, room for alarms and entries.

Once it stands, a thread loads and opens what the frame is for (`screens/preparing.py`), and the working screens take
its place. What is typed meanwhile is kept in order, shown, and put into the entry line; it is recorded only by an Enter
that is pressed when its question can be read.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass

from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Static

from tally.screens import keys, themes, words
from tally.screens.app import TallyApp
from tally.screens.base import NO_CHANGE, OurApp
from tally.screens.keyline import KeyLine
from tally.screens.keys import Keymap
from tally.screens.preparing import Preparation
from tally.screens.words import line

LONGEST = 200
SLOW_S = 3.0
"""What takes longer says for how long it has been at it."""
TYPED = "typed while it was opened, not entered: Enter takes it, Esc rubs it out"
KEPT = "it is kept: press Enter again once its question stands here"
ONE = "one answer is kept; the next once this is open"
LETTER = "a letter asks nothing before this is open: press it again then"
LATER = "that key works once this is open"


@dataclass(frozen=True, slots=True)
class Frame:
    """What stands on the first frame."""

    words: str
    """What is done first, as long as the preparation has not said it itself."""
    state: str = "not recording yet"
    """At the right of the top line."""
    entry: bool = True
    """Whether there will be an entry line."""


class Early:
    """What is typed before anything can be asked: the text of one answer. Everything else is refused, and said so."""

    def __init__(self) -> None:
        self.text = self.said = ""
        self._whole = self._skips = False
        """After an Enter; behind a letter whose question was never asked."""

    def take(self, key: str, character: str | None) -> None:
        """A key, by its name, and what it prints."""
        self.said = ""
        match key:
            case "enter":
                self._whole, self._skips = bool(self.text), False
                self.said = KEPT if self.text else ""
            case "escape":
                self.text, self._whole, self._skips = "", False, False
            case "backspace":
                self.text, self._whole = self.text[:-1], False
            case _ if character and character.isprintable():
                self._print(character)
            case _:
                self.said = LATER

    def paste(self, text: str) -> None:
        """The first line of what was pasted, as if it had been typed."""
        for character in text.splitlines()[0][:LONGEST] if text.strip() else "":
            self.take("", character)

    def _print(self, character: str) -> None:
        if self._whole or len(self.text) >= LONGEST:
            self.said = ONE
        elif self._skips or (not self.text and character.isalpha()):
            # What follows answers a question that was not asked.
            self._skips, self.said = True, LETTER
        else:
            self.text += character


class OpeningScreen(Screen[None]):
    AUTO_FOCUS = ""

    def __init__(self, frame: Frame, preparation: Preparation, early: Early, painted: Callable[[], None]) -> None:
        """`painted` is called once, when the frame stands on the terminal."""
        super().__init__()
        self._frame, self._preparation, self._early, self._painted = frame, preparation, early, painted
        self._since_s = time.monotonic()

    def compose(self) -> ComposeResult:
        yield Static(id="header")
        yield Static(line(" alarms: none is worked out before this is open"), id="alarm-bar", classes="quiet")
        yield Static(id="opening")
        with Vertical(id="foot"):
            yield Static(id="early")
            yield Static(id="outcome")
            yield KeyLine(id="keys")

    def on_mount(self) -> None:
        self.draw()
        self.call_after_refresh(self._painted)
        self.set_interval(1.0, self.draw)

    def on_resize(self) -> None:
        self.draw()

    def draw(self) -> None:
        width, preparation = self.app.size.width, self._preparation
        state = f"{self._frame.state} "
        name = words.cut(f" {preparation.name}", max(width - words.cells(state) - 1, 10))
        gap = " " * max(width - words.cells(name) - words.cells(state), 1)
        self.query_one("#header", Static).update(line((name, "bold"), gap, state))
        waited_s = time.monotonic() - self._since_s
        said = f"{preparation.words or self._frame.words}{f' ({waited_s:.0f} s)' if waited_s >= SLOW_S else ''}"
        rows = [line((part, "bold")) for part in words.folded(said, width - 2, "  ")]
        self.query_one("#opening", Static).update(words.lines([line(""), *rows]))
        if self._frame.entry:
            shown = words.cut(self._early.text, max(width - 20, 10))
            self.query_one("#early", Static).update(line((" being opened ▸ ", "bold"), shown, (" ", "reverse")))
        self.query_one("#outcome", Static).update(line(f" {self._early.said}"))
        now = [key for key in keys.PLACES if key.action in ("theme", "leave")]
        assert isinstance(self.app, OurApp)
        self.query_one(KeyLine).show(keys.mapped(now, self.app.keymap), ())


class OpeningApp(TallyApp):
    """The app of a job that is still to be opened: `preparation` is started when the first frame stands."""

    class Told(Message):
        """The preparation has got further."""

    def __init__(
        self,
        frame: Frame,
        preparation: Preparation,
        *,
        theme: str = themes.DUSK.name,
        keymap: Keymap = NO_CHANGE,
        muted: bool = False,
        said: str = "",
    ) -> None:
        super().__init__(theme=theme, keymap=keymap, muted=muted, said=said)
        self._frame, self._preparation, self._early = frame, preparation, Early()
        self._handed = False
        """Whether keys go to the working screens."""

    def get_default_screen(self) -> Screen[None]:
        return OpeningScreen(self._frame, self._preparation, self._early, self._start)

    def _start(self) -> None:
        self._preparation.start(self._tell)

    def _tell(self) -> None:
        with suppress(RuntimeError):  # the app has ended meanwhile
            self.post_message(self.Told())

    async def on_opening_app_told(self) -> None:
        preparation = self._preparation
        if self.begun:
            return
        if preparation.fault is not None:
            self.exit(return_code=1)
        elif preparation.work is not None:
            await self.begin(preparation.work)
            self.tick()
            # Behind the keys that have come meanwhile, and before the picture: what is typed on seeing it is not early.
            self.call_later(self._hand_over)
        else:
            self._draw()

    def _hand_over(self) -> None:
        """The question is about to be read: what was typed goes into its line, before any key that comes later."""
        self._handed = True
        entry = self._front.entry if self._front is not None else None
        if entry is not None:
            entry.focus_at_once()
            if self._early.text:
                entry.offer(self._early.text)
                self._said = "; ".join(filter(None, [TYPED, self._said]))
                self.say_at_first()
            self.call_after_refresh(_warm)

    def _draw(self) -> None:
        if isinstance(self.screen, OpeningScreen):
            self.screen.draw()

    # --- keys before there is anything to act on ---------------------------------------------------------------------

    async def on_event(self, event: events.Event) -> None:
        """Holds keys here, where they come in the order of the terminal, until they can be handed on."""
        if self._handed or not isinstance(event, events.Key | events.Paste) or event.is_forwarded:
            await super().on_event(event)
        elif isinstance(event, events.Key):
            self._press(event)
        elif self._frame.entry:
            self._early.paste(event.text)
            self._draw()

    def _press(self, event: events.Key) -> None:
        places = {key.key: key.action for key in keys.mapped(keys.PLACES, self.keymap)}
        action = "leave" if event.key in ("ctrl+c", "ctrl+q") else places.get(event.key)
        if action == "leave":
            self._preparation.leave()
            self.exit()
        elif action == "theme":
            self.next_theme()
        elif self._frame.entry:
            self._early.take(event.key, event.character)
        else:
            self._early.said = LATER
        self._draw()


def _warm() -> None:
    """Loads the units registry, which takes longer than a screen, while the crew looks at the first one."""
    import threading

    from tally import units

    threading.Thread(target=units.warm, name="units", daemon=True).start()
