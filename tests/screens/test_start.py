"""The first screen: what it lists, what each key leads to, by keys alone."""

import os
import threading
from pathlib import Path

import pytest
from textual.events import Key

from tally.live.clock import SystemClock
from tally.live.recent import Recent, recent
from tally.live.recorder import Recorder
from tally.planfile import example
from tally.record.folder import sessions
from tally.screens import themes
from tally.screens.start import Choice, StartApp, StartScreen
from tests.scenario import Day, plan
from tests.screens.support import Bench, started
from tests.screens.table import FOLDER, Stage, session_folder


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    session_folder(Stage(tmp_path))
    return tmp_path


def app(folder: Path, **more: str) -> StartApp:
    return StartApp(sessions(folder), FOLDER, **more)  # type: ignore[arg-type]


async def read(screen: Bench) -> None:
    await screen.until(lambda: "jsonl  …" not in screen.text, "every session was read")


async def chose(screen: Bench) -> Choice | None:
    await screen.until(lambda: screen.app._exit, "it ended")
    chosen: Choice | None = screen.app.return_value
    return chosen


async def test_enter_goes_on_with_the_newest_open_session_at_once(folder: Path) -> None:
    async with started(app(folder)) as screen:
        await screen.keys("enter")  # as soon as it stands there: it waits until it knows
        assert await chose(screen) == Choice("go on", folder / "2026-05-13-newest-open.jsonl")


async def test_each_session_is_told_in_a_line(folder: Path) -> None:
    async with started(app(folder)) as screen:
        await read(screen)
        for number, *words in [
            (" 5 ", "2026-05-15-torn.jsonl", "CANNOT BE READ"),
            (" 6 ", "Test hole 1", "shoe 60.0 m", "signed off"),
            (" 7 ", "2026-05-11", "shoe 34.8 m", "open: 7 of 12 joints in"),
            (" 8 ", "open: grout, stage 1 of"),
            (" 9 ", "DAMAGED"),
        ]:
            row = next(line for line in screen.lines if line[1:4] == number)
            assert all(word in row for word in words), row
        await screen.shows("ENTER GOES ON RECORDING", "2026-05-13-newest-open.jsonl")


@pytest.mark.parametrize(("asked", "told"), [({}, "shoe 0.0 ft"), ({"units": "metric"}, "shoe 0.0 m")])
async def test_a_session_is_told_in_its_own_units_unless_others_are_asked_for(
    tmp_path: Path, asked: dict[str, str], told: str
) -> None:
    day = plan(meter=None, job={"units": "us"})
    Recorder.opened(day, tmp_path, SystemClock(), lambda *_: None).stop()
    async with started(app(tmp_path, **asked)) as screen:
        await read(screen)
        await screen.shows(told)


async def test_a_number_asks_first_what_with_it(folder: Path) -> None:
    async with started(app(folder)) as screen:
        await read(screen)
        await screen.keys("8")
        await screen.shows("1  go on recording", "2  see it again", "3  write its report")
        await screen.keys("escape", "6")
        await screen.shows("1  see it again")
        assert "go on recording" not in screen.text.partition("ENTER")[0]
        await screen.keys("1")
        assert await chose(screen) == Choice("replay", folder / "2026-05-14-signed.jsonl")


async def test_a_number_for_a_session_that_is_still_being_read_is_not_lost(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    held = threading.Event()

    def slow(path: Path) -> Recent:
        assert held.wait(20.0)
        return recent(path)

    monkeypatch.setattr("tally.live.recent.recent", slow)
    async with started(app(folder)) as screen:
        await screen.keys("6")
        await screen.shows("it comes at once")
        held.set()
        await screen.shows("1  see it again")
        assert not screen.app._exit


async def test_sessions_are_not_read_for_a_screen_that_was_left(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    held, read, readers = threading.Event(), StartScreen._read, []

    def late(screen: StartScreen, paths: tuple[Path, ...]) -> None:
        readers.append(threading.current_thread())
        assert held.wait(20.0)
        read(screen, paths)

    monkeypatch.setattr(StartScreen, "_read", late)
    monkeypatch.setattr("tally.live.recent.recent", lambda path: pytest.fail(f"{path} was read"))
    async with started(app(folder)) as screen:
        await screen.keys("f9")
        await chose(screen)
    held.set()
    readers[0].join(20.0)  # a fault in a thread fails the test that it falls into
    assert not readers[0].is_alive()


async def test_a_damaged_session_is_never_gone_on_with(folder: Path) -> None:
    async with started(app(folder)) as screen:
        await read(screen)
        await screen.keys("down", "down")
        await screen.shows("DAMAGED, not recorded on: line 5")
        await screen.keys("enter")
        await screen.shows("1  see it again", "2  write its report")
        await screen.keys("2")
        assert await chose(screen) == Choice("report", folder / "2026-05-11-damaged.jsonl")


async def test_what_is_no_session_says_why(folder: Path) -> None:
    async with started(app(folder)) as screen:
        await read(screen)
        await screen.keys("5")
        await screen.shows("2026-05-15-torn.jsonl is not a session", "nothing was saved in it")
        assert not screen.app._exit


async def test_a_session_that_is_being_recorded_says_by_whom(tmp_path: Path) -> None:
    recorder = Recorder.opened(plan(meter=None), tmp_path, SystemClock(), lambda *_: None)
    try:
        assert recent(recorder.path).recorded_by.startswith(f"pid {os.getpid()}")
        async with started(app(tmp_path)) as screen:
            await screen.shows("BEING RECORDED", "▸ 1  plan it here")
            await screen.keys("5")
            await screen.shows(
                f"BEING RECORDED by another program (pid {os.getpid()}", "1  watch it here", "2  see it again"
            )
            assert "go on recording" not in screen.text
    finally:
        recorder.stop()
    assert recent(recorder.path).open


async def test_a_name_typed_ahead_of_its_field_is_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A burst, as from fast fingers over a slow link: the first letter opens the field, the others come at once."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "upper.toml").write_text(example(), encoding="utf-8")
    async with started(StartApp((), tmp_path)) as screen:
        await screen.keys("2")
        await screen.shows("Which plan?")
        driver = screen.app._driver
        for key in [*"lowerx", "backspace", "full_stop", *"toml", "enter"]:
            event = Key(key, "." if key == "full_stop" else key if len(key) == 1 else None)
            event.set_sender(screen.app)
            driver.send_message(event)
        await screen.shows("lower.toml", "no such file")


async def test_a_plan_file_is_checked_before_it_is_recorded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "upper.toml").write_text(example().replace('"12 1/4 in"', '"12 1/4"'), encoding="utf-8")
    (tmp_path / "other.toml").write_text("[tool]\n", encoding="utf-8")
    async with started(StartApp((), tmp_path)) as screen:
        await screen.keys("2")
        await screen.shows("Which plan?", "1  upper.toml", "0  in your own words")
        assert "other.toml" not in screen.text
        await screen.keys("1")
        await screen.shows("1 mistake; nothing was started", "hole.section[2].diameter", "no unit")
        (tmp_path / "upper.toml").write_text(example(), encoding="utf-8")
        await screen.keys("enter")
        await screen.shows("Start recording Upper Meadow, well 2?", "shoe planned at 47.50", "9 joints")
        await screen.keys("2", "2")
        await screen.write("0./upper.toml")
        await screen.shows("Start recording Upper Meadow")
        await screen.keys("1")
        assert await chose(screen) == Choice("record", Path("upper.toml"))


@pytest.mark.parametrize("key", ["escape", "f9", "ctrl+c"])
async def test_it_is_left_without_a_choice(tmp_path: Path, key: str) -> None:
    async with started(app(tmp_path, said="The report was written to somewhere")) as screen:
        await screen.shows("NO SESSION YET", "The report was written to somewhere")
        await screen.keys("f6")
        await screen.shows("Nothing is recorded on this screen")
        await screen.keys("escape", key)
        assert await chose(screen) is None


async def test_the_light_goes_on_into_the_job(tmp_path: Path) -> None:
    async with started(app(tmp_path)) as screen:
        await screen.keys("f8", "3")
        assert await chose(screen) == Choice("demonstration", None, themes.SUNLIGHT.name)


async def test_a_hostile_job_is_drawn_as_text(tmp_path: Path) -> None:
    name = "[/] [red] [@click=app.quit]x[/] \x1b[2J ‮abc 穴穴 " + "x" * 1_500
    facts = plan().job.model_dump() | {"name": name}
    Stage(tmp_path).kept("2026-05-11-[red]", Day(plan(job=facts)))
    async with started(app(tmp_path)) as screen:
        await screen.shows("[/] [red]")
        await screen.keys("5")
        await screen.shows("go on recording")
        assert "\x1b" not in screen.text
