"""The bell: at once, again until somebody answers, off by a key; alarms show all the same."""

from dataclasses import replace
from typing import Any

import pytest

from tally.job import events as ev
from tally.job.view.alarms import AlarmRow, standing
from tally.live.player import Player
from tally.screens.app import TallyApp
from tally.screens.bell import Bell
from tests.screens.days import DAYS
from tests.screens.support import Bench, DayFeed

LOUD: AlarmRow = next(row for row in standing(DAYS["grout-overdue"]().state) if row.severity == "stop-and-look")
CAUTION = replace(LOUD, alarm="another", severity="caution")
NOTE = replace(LOUD, alarm="third", severity="note")


def rings(bell: Bell, rows: list[AlarmRow], until_s: int, since_s: int = 0) -> list[int]:
    return [second for second in range(since_s, until_s) if bell.due(rows, float(second))]


def test_stop_and_look_rings_every_ten_seconds_a_caution_every_thirty_a_note_never() -> None:
    assert rings(Bell(), [LOUD], 35) == [0, 10, 20, 30]
    assert rings(Bell(), [CAUTION], 65) == [0, 30, 60]
    assert rings(Bell(), [NOTE], 65) == []
    assert rings(Bell(), [CAUTION, LOUD], 25) == [0, 10, 20]


def test_a_fresh_alarm_rings_at_once_and_an_answered_one_no_more() -> None:
    bell = Bell()
    assert rings(bell, [CAUTION], 12) == [0]
    assert rings(bell, [CAUTION, LOUD], 20, 12) == [12]
    assert rings(bell, [replace(LOUD, acknowledged=True), CAUTION], 50, 20) == [42]
    assert rings(bell, [replace(LOUD, acknowledged=True), replace(CAUTION, acknowledged=True)], 200, 50) == []
    assert rings(bell, [], 300, 200) == []


def test_muted_it_is_still_and_rings_again_once_it_is_not() -> None:
    bell = Bell(muted=True)
    assert rings(bell, [LOUD], 20) == []
    bell.muted = False
    assert rings(bell, [LOUD], 32, 20) == [20, 30]


@pytest.fixture
def rung(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    told: list[str] = []
    monkeypatch.setattr(TallyApp, "bell", lambda self: told.append("bell"))
    return told


async def test_a_key_mutes_it_and_the_bar_says_so(rung: list[str]) -> None:
    feed: Any = DayFeed(DAYS["grout-overdue"]())
    app = TallyApp(feed, place="grout")
    async with app.run_test(size=(100, 30)) as pilot:
        screen = Bench(app, pilot, feed)
        await screen.until(lambda: bool(rung), "it rang")
        assert "MUTED" not in screen.text
        await screen.keys("q")
        await screen.shows("MUTED", "STOP AND LOOK", "the bell is off")
        rung.clear()
        feed.day.tick(60.0)
        feed.day.record(ev.NoteWritten(text="a minute later"))
        await screen.settled()
        assert rung == []
        await screen.keys("q")
        await screen.until(lambda: "MUTED" not in screen.text, "the word went")


async def test_muted_by_the_settings_it_says_so_without_any_alarm(rung: list[str]) -> None:
    app = TallyApp(DayFeed(DAYS["casing"]()), muted=True)
    async with app.run_test() as pilot:
        screen = Bench(app, pilot, app.feed)
        await screen.shows("no alarm   bell muted")


async def test_a_replay_does_not_ring(rung: list[str]) -> None:
    player = Player(DAYS["grout-overdue"]().entries)
    app = TallyApp(player, place="grout")
    async with app.run_test() as pilot:
        screen = Bench(app, pilot, player)
        player.to_end()
        await screen.shows("STOP AND LOOK")
        await screen.settled()
        assert rung == []
