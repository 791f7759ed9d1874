"""The first frame: what it shows before anything is read, and what becomes of keys that come too early."""

import threading
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, contextmanager

import pytest
from rich.console import RenderableType
from textual.events import Key, Paste
from textual.screen import Screen
from textual.widget import AwaitMount

from tally.job import events as ev
from tally.live.feed import Feed
from tally.live.player import Player
from tally.screens import opening, themes
from tally.screens.entry import EntryLine
from tally.screens.opening import Frame, OpeningApp
from tally.screens.places import Work
from tally.screens.preparing import Preparation
from tally.screens.work import WorkScreen
from tests.scenario import Day
from tests.screens.contrast import weak_in
from tests.screens.days import DAYS
from tests.screens.support import LARGE, SMALL, TINY, Bench, DayFeed

NAME = "house-well.toml"


class Gate:
    """Opens `feed` when it is let; notes when it is begun and left."""

    def __init__(self, feed: Feed, place: str = "casing", fault: Exception | None = None) -> None:
        self.let, self.begun, self.left = threading.Event(), threading.Event(), threading.Event()
        self._feed, self._place, self._fault = feed, place, fault

    @contextmanager
    def make(self, preparation: Preparation) -> Iterator[Work]:
        preparation.step(f"reading the plan {NAME} …")
        while not self.let.is_set():
            preparation.wait(0.005)
        if self._fault is not None:
            raise self._fault
        self.begun.set()
        try:
            yield Work(self._feed, place=self._place)
        finally:
            self.left.set()


@asynccontextmanager
async def opened(
    gate: Gate, *, size: tuple[int, int] = SMALL, entry: bool = True, name: str = NAME, said: str = ""
) -> AsyncIterator[tuple[Bench, Preparation]]:
    """The frame, drawn, with its preparation under way."""
    preparation = Preparation(gate.make, name)
    app = OpeningApp(Frame("opening …", entry=entry), preparation, said=said)
    try:
        async with app.run_test(size=size) as pilot:
            screen = Bench(app, pilot, gate._feed)
            await screen.shows("reading the plan")
            yield screen, preparation
    finally:
        preparation.end()


async def ended(screen: Bench) -> None:
    await screen.until(lambda: screen.app._exit, "it ended")


async def test_the_frame_stands_first_and_the_working_screen_takes_its_place() -> None:
    gate = Gate(DayFeed(Day()))
    async with opened(gate) as (screen, _):
        lines = screen.lines
        assert lines[0].split() == [NAME, "not", "recording", "yet"]
        assert "alarms" in lines[1]
        assert "▸" in lines[19]
        assert "F9 leave" in lines[23]
        gate.let.set()
        await screen.shows("SHOE DEPTH", "joint length (m) ▸", "no alarm")
        assert NAME not in screen.text


async def test_nothing_is_loaded_before_the_frame_is_painted(monkeypatch: pytest.MonkeyPatch) -> None:
    painted: list[str] = []
    start = Preparation.start

    def noted(preparation: Preparation, told: object) -> None:
        painted.extend(screen.lines)
        start(preparation, told)  # type: ignore[arg-type]

    monkeypatch.setattr(Preparation, "start", noted)
    gate = Gate(DayFeed(Day()))
    preparation = Preparation(gate.make, NAME)
    app = OpeningApp(Frame("opening …"), preparation)
    drawn: list[bool] = []
    display = app._display

    def noted_display(screen: Screen[object], picture: RenderableType | None) -> None:
        drawn.append(not painted)
        display(screen, picture)

    monkeypatch.setattr(app, "_display", noted_display)
    async with app.run_test(size=SMALL) as pilot:
        screen = Bench(app, pilot, None)
        await screen.until(lambda: bool(painted), "the preparation was started")
    assert drawn[0], "the terminal got nothing before the thread was started"
    assert NAME in painted[0]
    assert "opening …" in "".join(painted)
    preparation.end()


async def test_digits_typed_early_stand_in_the_entry_line_and_wait_for_their_enter() -> None:
    gate = Gate(DayFeed(Day()))
    async with opened(gate) as (screen, _):
        await screen.keys(*"5.9", "backspace", *"20")
        await screen.shows("▸ 5.20")
        await screen.keys("enter")
        await screen.shows("press Enter again once its question stands here")
        gate.let.set()
        await screen.shows("joint length (m) ▸ 5.20", "typed while it was opened, not entered")
        assert not screen.events(ev.JointAdded)
        await screen.keys("enter")
        assert (await screen.recorded(ev.JointAdded)).typed == "5.20 m"


async def test_keys_on_both_sides_of_the_opening_keep_their_order() -> None:
    gate = Gate(DayFeed(Day()))
    async with opened(gate) as (screen, _):
        driver = screen.app._driver
        for place, digit in enumerate("12345678901234567890" * 5):
            if place == 40:
                gate.let.set()
            event = Key(digit, digit)
            event.set_sender(screen.app)
            driver.send_message(event)
            if place % 10 == 9:
                await screen.pilot.pause(0)
        await screen.shows("SHOE DEPTH")
        await screen.until(lambda: len(screen.typed) == 100, "all digits came")
        assert screen.typed == "12345678901234567890" * 5


async def test_an_enter_between_the_opening_and_the_first_picture_enters_nothing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    begin = OpeningApp.begin

    def begun(app: OpeningApp, work: Work) -> AwaitMount:
        standing = begin(app, work)
        for key in (Key("0", "0"), Key("enter", "\r"), Key("f4", None)):
            key.set_sender(app)
            app._driver.send_message(key)  # type: ignore[union-attr]
        return standing

    monkeypatch.setattr(OpeningApp, "begin", begun)
    gate = Gate(DayFeed(Day()))
    async with opened(gate) as (screen, _):
        await screen.keys(*"5.2")
        gate.let.set()
        await screen.shows("joint length (m) ▸ 5.20", "typed while it was opened")
        assert not screen.feed.asked
        assert screen.app.current_mode == "casing"
        await screen.keys("enter")
        assert (await screen.recorded(ev.JointAdded)).typed == "5.20 m"


async def test_a_key_right_behind_the_first_picture_goes_into_the_line(monkeypatch: pytest.MonkeyPatch) -> None:
    hand_over = OpeningApp._hand_over

    def handed(app: OpeningApp) -> None:
        hand_over(app)
        key = Key("0", "0")
        key.set_sender(app)
        app._driver.send_message(key)  # type: ignore[union-attr]

    monkeypatch.setattr(OpeningApp, "_hand_over", handed)
    # The screen's own focus comes by a message of its own, which may be late.
    monkeypatch.setattr(EntryLine, "focus_field", lambda line: None)
    monkeypatch.setattr(WorkScreen, "AUTO_FOCUS", "")
    gate = Gate(DayFeed(Day()))
    async with opened(gate) as (screen, _):
        await screen.keys(*"5.2")
        gate.let.set()
        await screen.shows("joint length (m) ▸ 5.20")


async def test_a_second_answer_is_refused_in_words_rather_than_run_into_the_first() -> None:
    gate = Gate(DayFeed(Day()))
    async with opened(gate) as (screen, _):
        await screen.keys(*"5.20", "enter", "6")
        await screen.shows("one answer is kept")
        gate.let.set()
        await screen.shows("joint length (m) ▸ 5.20")
        assert screen.typed == "5.20"


async def test_a_letter_asks_nothing_early_and_what_follows_it_is_no_answer_to_another_question() -> None:
    gate = Gate(DayFeed(Day()))
    async with opened(gate) as (screen, _):
        await screen.keys(*"h24.5")
        await screen.shows("a letter asks nothing before this is open")
        await screen.keys("enter", *"6.1")
        await screen.shows("▸ 6.1")
        gate.let.set()
        await screen.shows("joint length (m) ▸ 6.1")
        assert screen.typed == "6.1"
        assert not screen.feed.asked


async def test_escape_rubs_out_what_was_typed_early() -> None:
    gate = Gate(DayFeed(Day()))
    async with opened(gate) as (screen, _):
        await screen.keys(*"5.20", "escape")
        gate.let.set()
        await screen.shows("joint length (m) ▸")
        assert screen.typed == ""
        assert "typed while" not in screen.text


async def test_on_the_grout_screen_too_nothing_is_entered_that_nobody_could_read() -> None:
    gate = Gate(DayFeed(DAYS["grout"]()), "grout")
    async with opened(gate) as (screen, _):
        await screen.keys("3", "enter")
        gate.let.set()
        await screen.shows("PUMPED", "bags in this batch ▸ 3", "typed while it was opened")
        assert not screen.feed.asked


async def test_a_paste_is_kept_as_if_it_had_been_typed() -> None:
    gate = Gate(DayFeed(Day()))
    async with opened(gate) as (screen, _):
        screen.app.post_message(Paste("20' 3\nsecond line"))
        await screen.shows("▸ 20' 3")
        screen.app.post_message(Paste("\n"))
        gate.let.set()
        await screen.shows("joint length (m) ▸ 20' 3")


async def test_a_function_key_goes_nowhere_before_there_is_anywhere_to_go() -> None:
    gate = Gate(DayFeed(DAYS["grout"]()))
    async with opened(gate) as (screen, _):
        await screen.keys("f4")
        await screen.shows("that key works once this is open")
        gate.let.set()
        await screen.shows("SHOE DEPTH")
        await screen.keys("f4")
        await screen.until(lambda: screen.app.current_mode == "log")


async def test_a_replay_says_that_keys_count_later_and_none_is_held_for_it() -> None:
    gate = Gate(Player(DAYS["grout"]().entries))
    async with opened(gate, entry=False) as (screen, _):
        assert "▸" not in screen.text
        await screen.keys("space")
        await screen.shows("that key works once this is open")
        gate.let.set()
        await screen.shows("REPLAY", "SHOE DEPTH")
        assert not screen.app.player.playing


async def test_the_light_changes_at_once() -> None:
    async with opened(Gate(DayFeed(Day()))) as (screen, _):
        await screen.keys("f8")
        assert screen.app.theme == themes.SUNLIGHT.name


@pytest.mark.parametrize("key", ["f9", "ctrl+c", "ctrl+q"])
async def test_leaving_early_begins_nothing(key: str) -> None:
    gate = Gate(DayFeed(Day()))
    async with opened(gate) as (screen, preparation):
        await screen.keys("5", key)
        await ended(screen)
        gate.let.set()
        preparation.end()
        assert not gate.begun.is_set()


async def test_what_was_opened_is_left_with_the_screens() -> None:
    gate = Gate(DayFeed(Day()))
    async with opened(gate) as (screen, preparation):
        gate.let.set()
        await screen.shows("SHOE DEPTH")
        assert not gate.left.is_set()
        preparation.end()
        assert gate.left.is_set()


async def test_what_cannot_be_opened_ends_the_screens_and_keeps_its_words() -> None:
    fault = OSError("no such file")
    gate = Gate(DayFeed(Day()), fault=fault)
    async with opened(gate) as (screen, preparation):
        gate.let.set()
        await ended(screen)
        assert preparation.fault is fault


async def test_what_the_settings_said_stands_beside_what_was_typed() -> None:
    gate = Gate(DayFeed(Day()))
    async with opened(gate, said="settings: no such key") as (screen, _):
        await screen.keys("5")
        gate.let.set()
        await screen.shows("typed while it was opened", "settings: no such key")


async def test_what_takes_long_says_for_how_long(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "SLOW_S", 0.0)
    async with opened(Gate(DayFeed(Day()))) as (screen, _):
        screen.app.screen.draw()
        await screen.shows("… (0 s)")


@pytest.mark.parametrize("size", [TINY, SMALL, LARGE])
async def test_any_name_fits_and_is_taken_as_plain_text(size: tuple[int, int]) -> None:
    name = "[/] [red] [@click=app.quit]x[/] " + "long" * 60
    async with opened(Gate(DayFeed(Day())), size=size, name=name) as (screen, _):
        await screen.shows("[/] [red]", "not recording yet")
        assert all(len(line) <= size[0] for line in screen.lines)


@pytest.mark.parametrize("theme", [theme.name for theme in themes.ALL])
async def test_the_frame_stands_out(theme: str) -> None:
    async with opened(Gate(DayFeed(Day()))) as (screen, _):
        screen.app.theme = theme
        await screen.keys(*"5.20", "enter")
        await screen.settled()
        assert weak_in(screen) == []
