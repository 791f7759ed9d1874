"""The app itself: leaving, faults in drawing, what is drawn when, and the recorder behind it."""

import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from tally.job import events as ev
from tally.job.view.casing import casing
from tally.live.recorder import Recorder
from tally.screens.casing import CasingScreen
from tally.screens.pick import PickScreen
from tests.scenario import JOINT_M, Day, plan
from tests.screens.support import DayFeed, bench


@pytest.mark.parametrize("key", ["f9", "ctrl+q", "ctrl+c"])
async def test_leaving_asks_first(key: str) -> None:
    async with bench(Day()) as screen:
        await screen.keys(key)
        await screen.shows("Stop recording?")
        await screen.keys(key, "2")
        await screen.shows("joint length (m) ▸")
        assert screen.app.is_running
        await screen.keys(key)
        await screen.shows("Stop recording?")
        await screen.keys("1")
        await screen.until(lambda: screen.app._exit, "it left")


async def test_a_job_that_is_done_is_signed_off_once() -> None:
    async with bench(Day()) as screen:
        await screen.keys("f9")
        await screen.shows("sign off")
        await screen.keys("3")
        await screen.shows("session signed off; F5 w writes the report, F9 leaves")
        assert screen.app.snapshot.state.closed
        await screen.keys("f9")
        await screen.shows("Leave?", "nothing more is entered")
        assert "sign off" not in screen.text


async def test_a_fault_in_drawing_is_said_and_survived(monkeypatch: pytest.MonkeyPatch) -> None:
    broken = True
    whole = casing

    def failing(state: Any) -> Any:
        if broken:
            raise ZeroDivisionError("[/] a bug [red]")
        return whole(state)

    monkeypatch.setattr("tally.screens.casing.casing", failing)
    day = Day()
    async with bench(day) as screen:
        await screen.shows("part of this screen cannot be drawn; recording goes on", "ZeroDivisionError")
        await screen.write("5.05")
        await screen.recorded(ev.JointAdded)
        await screen.shows("✓ saved", "casing            12:00:20")
        broken = False
        await screen.shows("joints in 1")
        await screen.until(lambda: "cannot be drawn" not in screen.text, "the banner went")


async def test_a_screen_is_drawn_only_when_something_changed(monkeypatch: pytest.MonkeyPatch) -> None:
    drawn: list[str] = []
    whole = CasingScreen.show

    def counted(self: CasingScreen, *args: Any) -> None:
        drawn.append("show")
        whole(self, *args)

    monkeypatch.setattr(CasingScreen, "show", counted)
    day = Day()
    async with bench(day) as screen:
        await screen.shows("joints in 0")
        drawn.clear()
        for _ in range(20):
            screen.app.tick()
        assert drawn == []
        day.joint()
        for _ in range(3):
            screen.app.tick()
        assert drawn == ["show"]


async def test_an_answer_that_never_comes_holds_nothing_up() -> None:
    day = Day()
    async with bench(day) as screen:
        screen.feed.silent = True
        await screen.write("5.05")
        await screen.shows("being saved")
        await screen.keys("6")
        assert screen.typed == "6"
        day.record(ev.NoteWritten(text="still alive"))
        await screen.keys("f4")
        await screen.shows("still alive")
        await screen.keys("f2", "f7")
        await screen.shows("SHOE DEPTH ft")
        assert screen.typed == "6"


async def test_enter_twice_records_once() -> None:
    day = Day()
    async with bench(day) as screen:
        await screen.write("5.05", "enter", "enter", "enter")
        await screen.recorded(ev.JointAdded)
        await screen.settled()
        assert len(screen.feed.asked) == 1


async def test_what_is_typed_while_saving_is_kept() -> None:
    feed = DayFeed(Day())
    async with bench(feed) as screen:
        feed.silent = True
        await screen.keys("c")
        await screen.keys("4", ".", "9")
        await screen.settled()
        assert screen.typed == "4.9"


async def test_resizing_keeps_a_half_typed_entry_and_its_question() -> None:
    day = Day()
    day.joints([JOINT_M] * 2)
    async with bench(day) as screen:
        await screen.keys("h", "space", "1", "2")
        for width, height in ((132, 43), (40, 12), (80, 24)):
            await screen.pilot.resize_terminal(width, height)
            await screen.settled()
            assert screen.typed == "12"
        await screen.shows("hook load, lowering")
        await screen.keys("backspace", "backspace", *"0.3", "enter")
        assert (await screen.recorded(ev.HookLoadRead)).motion == "lowering"


async def test_a_question_survives_a_resize() -> None:
    async with bench(Day()) as screen:
        await screen.keys("l")
        await screen.shows("Casing landed")
        await screen.pilot.resize_terminal(100, 30)
        await screen.shows("hung at depth")
        assert isinstance(screen.app.screen, PickScreen)
        await screen.keys("escape")
        await screen.shows("EXPECTED ON HOOK")


class HeldClock:
    """A clock that a test moves; the recorder looks at it as fast as it can."""

    speed = 1.0

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._now_s = 0.0

    def move(self, seconds: float) -> None:
        with self._lock:
            self._now_s += seconds

    def monotonic(self) -> float:
        return self._now_s

    def utc(self) -> datetime:
        return datetime(2026, 5, 11, 12, 0, tzinfo=UTC) + timedelta(seconds=self._now_s)


async def test_over_a_real_recorder_an_entry_shows_once_it_is_on_the_disk(tmp_path: Path) -> None:
    clock = HeldClock()
    recorder = Recorder.opened(plan(meter=None), tmp_path, clock, lambda *_: None)
    recorder.start()
    try:
        async with bench(recorder) as screen:
            for count in (1, 2, 3):
                clock.move(30.0)
                await screen.until(lambda: recorder.snapshot.state.elapsed_s >= 30.0 * count, "a heartbeat")  # noqa: B023
                await screen.write("5.05")
                await screen.shows(f"joints in {count} ", "✓ saved")
                assert recorder.path.read_bytes().count(b'"JointAdded"') == count
            await screen.keys("u", "enter")
            await screen.shows("joints in 2 ")
            assert b"entered by mistake" in recorder.path.read_bytes()
    finally:
        recorder.stop()
