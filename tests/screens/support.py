"""Screens to test: an app over a day that is written down as keys are pressed, driven by keys alone."""

import asyncio
import time
from collections.abc import AsyncIterator, Callable, Sequence
from concurrent.futures import Future
from contextlib import asynccontextmanager
from dataclasses import dataclass
from typing import Any

from rich.segment import Segment
from textual._context import visible_screen_stack
from textual.events import Key
from textual.keys import _character_to_key
from textual.pilot import Pilot
from textual.widgets import Input

from tally.job import events as ev
from tally.job.decide.refusal import Refusal
from tally.job.intents import Intent
from tally.live.session import Outcome, Saved, Snapshot
from tally.screens.app import TallyApp
from tally.screens.start import StartApp
from tests.scenario import Day

DEADLINE_S = 20.0
SMALL, MIDDLE, LARGE, TINY = (80, 24), (100, 30), (132, 43), (40, 12)


class DayFeed:
    """A feed that decides on a Day and writes down at once; alarms follow as in a live session."""

    def __init__(self, day: Day) -> None:
        self.day = day
        self.asked: list[Intent] = []
        self.trouble = ""
        self.raw_trouble = ""
        self.silent = False
        """True: answers never come."""
        self._published: tuple[tuple[object, ...], Snapshot] | None = None

    @property
    def snapshot(self) -> Snapshot:
        now = (self.day.state, self.trouble, self.raw_trouble)
        if self._published is None or self._published[0] != now or self._published[0][0] is not self.day.state:
            self._published = (now, Snapshot(self.day.state, "", self.trouble, self.raw_trouble))
        return self._published[1]

    def submit(self, intent: Intent) -> "Future[Outcome]":
        self.asked.append(intent)
        outcome: Future[Outcome] = Future()
        if self.silent:
            return outcome
        if self.day.state.grout.stage is None:
            # A joint takes its time: without it the same length again would pass for one key too many.
            self.day.beat(after_s=20.0)
        decision = self.day.ask(intent)
        if isinstance(decision, Refusal):
            outcome.set_result(decision)
        else:
            outcome.set_result(Saved(tuple(self.day.record(event).number for event in decision)))
        return outcome


@dataclass
class Bench:
    """An app under test."""

    app: Any
    pilot: "Pilot[Any]"
    feed: Any

    @property
    def day(self) -> Day:
        day: Day = self.feed.day
        return day

    async def keys(self, *keys: str) -> None:
        """Keys by their names, or single characters, each taken before the next comes."""
        driver = self.app._driver
        assert driver is not None
        for key in keys:
            character = " " if key == "space" else (key if len(key) == 1 else _CHARACTERS.get(key))
            named = _character_to_key(key) if len(key) == 1 and not key.isalnum() else key
            event = Key(named, character)
            event.set_sender(self.app)
            driver.send_message(event)
            for _ in range(2):
                await self.pilot.pause(0)

    async def write(self, text: str, *then: str) -> None:
        """`text` letter by letter, then `then`; Enter unless told otherwise."""
        await self.keys(*text, *(then or ("enter",)))

    async def until(self, condition: Callable[[], bool], what: str = "") -> None:
        """Waits until `condition` holds; fails with the screen after the deadline."""
        end_s = time.monotonic() + DEADLINE_S
        while not condition():
            if time.monotonic() > end_s:
                raise AssertionError(f"not within {DEADLINE_S} s: {what}\n" + "\n".join(self.lines))
            self._tick()
            await self.pilot.pause(0)
            await asyncio.sleep(0.002)

    async def shows(self, *words: str) -> None:
        for word in words:
            await self.until(lambda word=word: word in self.text, f"no {word!r}")  # type: ignore[misc]

    async def recorded(self, kind: type[ev.Event], count: int = 1) -> Any:
        """The event that was written down last, once there are `count` of its kind."""
        await self.until(lambda: len(self.events(kind)) >= count, f"{count} of {kind.__name__}")
        return self.events(kind)[-1]

    def events(self, kind: type[ev.Event]) -> list[Any]:
        return [entry.event for entry in self.day.entries if isinstance(entry.event, kind)]

    async def settled(self) -> None:
        """Everything that is under way is drawn: the screen has stayed the same for a while."""
        end_s, same, before = time.monotonic() + DEADLINE_S, 0, ""
        while same < 2 and time.monotonic() < end_s:
            self._tick()
            await self.pilot.pause(0)
            await asyncio.sleep(0.005)
            now = self.text
            same, before = (same + 1 if now == before else 0), now

    def _tick(self) -> None:
        if isinstance(self.app, TallyApp):
            self.app.tick()

    @property
    def segments(self) -> list[list[Segment]]:
        """The screen as it is drawn, line by line."""
        width, height = self.app.size
        visible_screen_stack.set(self.app._background_screens)
        drawn = self.app.screen._compositor.render_strips(self.app.size)
        return [list(strip.crop(0, width)) for strip in drawn[:height]]

    @property
    def lines(self) -> list[str]:
        return ["".join(segment.text for segment in row).rstrip() for row in self.segments]

    @property
    def text(self) -> str:
        return "\n".join(self.lines)

    @property
    def typed(self) -> str:
        """What stands in the entry line."""
        field: Input = self.app.screen.query_one("#input", Input)
        return field.value


_CHARACTERS = {"plus": "+", "minus": "-"}


@asynccontextmanager
async def bench(
    day: Day | Any, *, size: tuple[int, int] = SMALL, place: str = "casing", units: Any = "metric"
) -> AsyncIterator[Bench]:
    """The app over `day` (or over a feed of its own), at its first screen and drawn."""
    feed = DayFeed(day) if isinstance(day, Day) else day
    app = TallyApp(feed, units=units, place=place)
    async with app.run_test(size=size) as pilot:
        # Tests say themselves when time passes on the screen.
        under_test = Bench(app, pilot, feed)
        await under_test.settled()
        yield under_test


@asynccontextmanager
async def started(app: StartApp, *, size: tuple[int, int] = SMALL) -> AsyncIterator[Bench]:
    """The app that asks which job, drawn."""
    async with app.run_test(size=size) as pilot:
        under_test = Bench(app, pilot, None)
        await under_test.settled()
        yield under_test


async def resized(screen: Bench, size: tuple[int, int]) -> None:
    """The terminal as large as that, and drawn."""
    if size != tuple(screen.app.size):
        await screen.pilot.resize_terminal(*size)
    await screen.settled()


def rows_with(lines: Sequence[str], word: str) -> list[str]:
    return [line for line in lines if word in line]
