"""Text from outside is text: no markup, no live links, no controls, and nothing is pushed out of its place."""

import time
import unicodedata
from dataclasses import replace

import pytest
from rich.cells import cell_len

from tally.job import events as ev
from tests.scenario import BASE, Day
from tests.screens.hostile import HOSTILE, WORST, hostile_plan, unchecked
from tests.screens.support import DEADLINE_S, SMALL, TINY, Bench, bench
from tests.screens.table import ROWS, Row, Stage

TEXTS = pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)


def hostile_day(text: str) -> Day:
    day = Day(hostile_plan(text))
    day.alarms = True
    day.who = text[:2_000]
    day.joints()
    day.record(unchecked(ev.JointRejected, length_m=5.0, typed=text, reason=text))
    day.landed()
    day.record(unchecked(ev.MeterChanged, channel="grout", condition="FAULT", why=text))
    day.record(unchecked(ev.CrewChanged, driller=text, helper=text))
    day.stage()
    day.batch(20)
    day.volume(1.3)
    day.record(unchecked(ev.PumpStopped, reason=text))
    day.record(unchecked(ev.NoteWritten, text=text))
    day.void(day.record(unchecked(ev.NoteWritten, text=text)))
    day.record(unchecked(ev.AlarmAcknowledged, alarm="over-planned-volume", done=text))
    day.record(
        unchecked(ev.AlarmRaised, alarm=text, severity="note", words=text, value=1.0, limit=2.0, measure="volume")
    )
    return day


async def _whole(screen: Bench, *, keys: bool = True) -> None:
    """Holds once what is under way is drawn."""
    await screen.settled()

    def stands() -> bool:
        try:
            _stands(screen, keys)
        except AssertionError:
            return False
        return True

    end_s = time.monotonic() + DEADLINE_S
    while not stands() and time.monotonic() < end_s:
        await screen.settled()
    _stands(screen, keys)


def _drawn_as_text(screen: Bench) -> list[str]:
    """No line is too wide, no control gets through, nothing can be clicked; the lines."""
    width, height = screen.app.size
    lines = screen.lines
    assert len(lines) == height
    for line in lines:
        assert cell_len(line) <= width
        assert not [character for character in line if unicodedata.category(character) in ("Cc", "Cf", "Cs")]
    for row in screen.segments:
        for segment in row:
            assert not any(name.startswith("@click") for name in (segment.style.meta if segment.style else {}))
            assert not (segment.style and segment.style.link)
    return lines


def _stands(screen: Bench, keys: bool) -> None:
    lines, height = _drawn_as_text(screen), screen.app.size.height
    assert "saved" in lines[0].lower() or "REPLAY" in lines[0]
    if keys:
        assert lines[-1].startswith("F2 casing  F3 grout")
        field = -5 if height > 17 else -3
        assert "▸" in lines[field] or "REPLAY" in lines[field]


@TEXTS
@pytest.mark.parametrize("size", [SMALL, TINY], ids=["80x24", "40x12"])
async def test_every_screen_stands(text: str, size: tuple[int, int]) -> None:
    day = hostile_day(text)
    async with bench(day, size=size) as screen:
        for place in ("f2", "f3", "f4", "f5", "f6"):
            await screen.keys(place)
            await screen.settled()
            assert "cannot be drawn" not in screen.text
            await _whole(screen)
            await screen.keys("up", "up")
            await screen.settled()
        assert screen.app.is_running


@TEXTS
async def test_questions_and_outcomes_stand(text: str) -> None:
    day = hostile_day(text)
    async with bench(day, place="grout") as screen:
        await screen.keys("a")
        await screen.shows("what was done?")
        await _whole(screen, keys=False)
        await screen.keys("escape", "f4")
        await screen.shows("what happened")
        await screen.keys("up", "up", "up", "v")
        await screen.settled()
        await _whole(screen)
        await screen.keys("enter")
        await screen.settled()
        await _whole(screen)
        screen.feed.trouble = text
        await screen.shows("THE RECORD IS NOT BEING WRITTEN")
        await _whole(screen)
        screen.feed.trouble, screen.feed.raw_trouble = "", text
        await screen.settled()
        await _whole(screen)


@pytest.mark.parametrize("row", ROWS, ids=str)
async def test_every_row_of_the_table_stands(row: Row, stage: Stage) -> None:
    """With such a text as job, place, crew, mix and stage, as a note, and as what the meter says."""
    async with row.shown(replace(stage, size=row.sizes[0], text=WORST)) as screen:
        assert screen.app.is_running and "cannot be drawn" not in screen.text
        _drawn_as_text(screen)


async def test_markup_is_shown_as_it_was_typed() -> None:
    text = HOSTILE["markup"]
    async with bench(Day()) as screen:
        await screen.keys("n")
        await screen.write(text)
        note = await screen.recorded(ev.NoteWritten)
        assert note.text == text
        await screen.shows(f"note: {text}")
        await _whole(screen)
        await screen.keys("f4")
        await screen.shows('note: [/] [red] [@click=app.quit]x[/] 8 5/8"')
        await screen.pilot.click("#table", offset=(30, 4))
        await screen.settled()
        assert screen.app.is_running


async def test_a_long_paste_is_taken_up_to_what_an_entry_holds() -> None:
    from textual.events import Paste

    async with bench(Day()) as screen:
        await screen.keys("n")
        screen.app.screen.query_one("#input").post_message(Paste("x" * 10_000))
        await screen.until(lambda: len(screen.typed) > 0, "pasted")
        assert len(screen.typed) <= 2_000
        await screen.keys("enter")
        await screen.recorded(ev.NoteWritten)
        await _whole(screen)


def test_the_plan_of_these_tests_is_hostile() -> None:
    assert BASE["job"]["name"] != hostile_plan("x").job.name == "x"
