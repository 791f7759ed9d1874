"""Text from outside is text: no markup, no live links, no controls, and nothing is pushed out of its place."""

import time
import unicodedata
from typing import Any

import pytest
from rich.cells import cell_len

from tally.job import events as ev
from tally.live.player import Player
from tests.scenario import BASE, Day, plan
from tests.screens.support import DEADLINE_S, SMALL, TINY, Bench, bench

HOSTILE = {
    "markup": '[/] [red] [@click=app.quit]x[/] 8 5/8" [b]bold',
    "controls": "a\x1b[2J\x1b]0;owned\x07b\tc\nd\re\x00f\x9bg\u2028h",
    "long": "long " * 2_000,
    "unbroken": "x" * 10_000,
    "right to left": "\u202eאבגד עברית العربية\u202c \u2066mixed\u2069",
    "wide": "漢字かな混じり文を書く人の名前はとても長い 深い井戸 🪣🪣🪣",
    "combining": "e\u0301" * 40 + "\u200d\u200b",
    "braces": "{0} {1} {value} {{}} %s %(x)s $x",
}
TEXTS = pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)


def _plan(text: str) -> Any:
    """Every name in it is `text`; a session written by another program may hold longer ones than a plan file may."""
    whole = plan()
    part: dict[str, Any] = {
        "job": whole.job.model_copy(update=dict.fromkeys(("name", "client", "place", "permit"), text)),
        "crew": whole.crew.model_copy(update=dict.fromkeys(("driller", "helper", "rig"), text)),
        "mixes": tuple(mix.model_copy(update={"name": text}) for mix in whole.mixes),
        "stages": tuple(stage.model_copy(update={"name": text, "mix": text}) for stage in whole.stages),
    }
    return whole.model_copy(update=part)


def _event(kind: type[ev.Event], **values: Any) -> Any:
    """An event past its own checks."""
    return kind.model_construct(**values)


def hostile_day(text: str) -> Day:
    day = Day(_plan(text))
    day.alarms = True
    day.who = text[:2_000]
    day.joints()
    day.record(_event(ev.JointRejected, length_m=5.0, typed=text, reason=text))
    day.landed()
    day.record(_event(ev.MeterChanged, channel="grout", condition="FAULT", why=text))
    day.record(_event(ev.CrewChanged, driller=text, helper=text))
    day.stage()
    day.batch(20)
    day.volume(1.3)
    day.record(_event(ev.PumpStopped, reason=text))
    day.record(_event(ev.NoteWritten, text=text))
    day.void(day.record(_event(ev.NoteWritten, text=text)))
    day.record(_event(ev.AlarmAcknowledged, alarm="over-planned-volume", done=text))
    day.record(_event(ev.AlarmRaised, alarm=text, severity="note", words=text, value=1.0, limit=2.0, measure="volume"))
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


def _stands(screen: Bench, keys: bool) -> None:
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


@TEXTS
async def test_a_replay_stands(text: str) -> None:
    player = Player(hostile_day(text).entries)
    player.to_end()
    async with bench(player, place="grout") as screen:
        for place in ("f2", "f3", "f4", "f5", "f6"):
            await screen.keys(place)
            await screen.settled()
            assert "cannot be drawn" not in screen.text
            await _whole(screen)


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
    assert BASE["job"]["name"] != _plan("x").job.name == "x"
