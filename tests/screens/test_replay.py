"""A recorded day shown again in the same screens."""

import pytest
from textual.widgets import Input

from tally.job import events as ev
from tally.job.alarms.replay import disagreements
from tally.job.supposition import Supposition, against_recorded, supposed
from tally.live.player import Difference, Player
from tally.report.supposed import moved_words
from tally.screens import going
from tests.scenario import Day, grouting_day, plan
from tests.screens.support import bench


def player() -> Player:
    day = grouting_day(plan(casing={"shoe": "float", "mass_kg_m": 45.0}), alarms=True)  # too heavy to lift
    day.pump(1.2, seconds=20)
    day.quiet(60.0)
    return Player(day.entries)


def calm() -> Player:
    """The same day without its alarms, so that its entries are counted by hand: 38."""
    day = grouting_day(plan(casing={"shoe": "float", "mass_kg_m": 45.0}))
    day.pump(1.2, seconds=20)
    day.quiet(60.0)
    return Player(day.entries)


async def test_a_replay_has_a_time_bar_and_no_entry_line() -> None:
    async with bench(player()) as screen:
        await screen.shows("REPLAY holding", "entry 1 of", "play/pause", "joints in 0")
        assert not screen.app.screen.query("#input")


async def test_step_goes_entry_by_entry_over_heartbeats() -> None:
    async with bench(player()) as screen:
        await screen.keys("right")
        await screen.shows("joints in 1")
        await screen.keys(*["right"] * 11)
        await screen.shows("joints in 12")


async def test_next_alarm_holds_there_and_end_goes_to_the_end() -> None:
    async with bench(player(), place="grout") as screen:
        await screen.keys("n")
        await screen.shows("Returns overdue", "REPLAY holding")
        await screen.keys("n")
        await screen.shows("2 of 2", "PUMP STILL 1 min 00 s")
        await screen.keys("e")
        await screen.shows("REPLAY at the end")


async def test_playing_moves_and_holds() -> None:
    playing = player()
    async with bench(playing) as screen:
        await screen.keys(*["plus"] * 9)
        await screen.shows("as fast as it goes")
        await screen.keys("minus")
        await screen.shows("600×")
        await screen.keys("minus")
        await screen.shows("300×")
        await screen.keys("space")
        await screen.until(lambda: playing.place > 3, "entries were played")
        await screen.until(lambda: playing.at_end, "it came to its end")
        await screen.shows("REPLAY at the end", "joints in 12")


async def test_from_a_tenth_of_its_pace_to_as_fast_as_it_goes() -> None:
    playing = player()
    async with bench(playing) as screen:
        await screen.keys(*["minus"] * 20)
        await screen.shows("1/10×")
        await screen.keys("plus")
        await screen.shows("1/5×")
        await screen.keys(*["plus"] * 20)
        await screen.shows("as fast as it goes")
        await screen.keys("space")
        await screen.until(lambda: playing.at_end, "it came to its end")


async def test_back_by_entries_by_alarms_and_to_the_start() -> None:
    playing = player()
    async with bench(playing, place="grout") as screen:
        await screen.keys("e", "left")
        alarms = [place for place, each in enumerate(playing.entries, 1) if isinstance(each.event, ev.AlarmRaised)]
        assert alarms[-1] == playing.count
        assert playing.place == alarms[-2]  # between the two there are heartbeats alone
        await screen.keys("e", "b")
        assert playing.place == alarms[-2]
        await screen.shows("Returns overdue", "REPLAY holding")
        await screen.keys("s")
        assert playing.place == 1
        await screen.shows("entry 1 of")


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("12:03", 4),  # twelve joints, a minute each, from 12:00 on
        ("12:03:59", 4),
        ("12:05:00", 6),
        ("2026-05-11 12:02", 3),
        ("0%", 1),
        ("7", 7),
        ("100 %", 38),
        ("12:13:00", 37),  # the heartbeats end at 12:12:21 and go on at 12:13:21
    ],
)
async def test_a_time_a_share_or_an_entry_is_typed_to_go_there(typed: str, number: int) -> None:
    playing = calm()
    async with bench(playing) as screen:
        await screen.write(typed)
        await screen.until(lambda: playing.snapshot.state.number == number, f"entry {number}")
        await screen.shows(f"entry {number} of 38")


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("99", "no entry 99 is shown; there are 1 to 38"),
        ("250 %", "is accepted"),
        ("12.5", "is accepted"),
        ("11:58", "runs 2026-05-11 from 12:00:00"),
        ("25:00", "does not reach"),
        ("2026-05-12 12:03", "does not reach"),
        ("0[/]", "given '0[/]'"),
    ],
)
async def test_where_it_cannot_go_it_says_so_and_stays(typed: str, why: str) -> None:
    playing = calm()
    async with bench(playing) as screen:
        await screen.write(typed)
        await screen.shows(why)
        assert screen.app.screen.query_one("#typed", Input).value == typed
        await screen.keys("escape")
        await screen.shows("entry 1 of")
        assert playing.place == 1


async def test_past_midnight_a_time_is_that_of_the_day_shown_else_of_the_nearest() -> None:
    day = Day(plan(job={"time_zone": "Pacific/Auckland"}))  # 12:00 UTC is midnight there, in May
    day.quiet(3_600.0)
    day.quiet(24 * 3_600.0)
    playing = Player(day.entries)
    assert (going.go(playing, "01:00"), playing.place) == ("", 2)
    playing.seek(3)
    assert (going.go(playing, "01:00"), playing.place) == ("", 3)
    assert (going.go(playing, "23:00"), playing.place) == ("", 2)


async def test_alarms_that_differ_are_said_and_gone_to() -> None:
    entries = list(player().entries)
    raised = [place for place, entry in enumerate(entries) if isinstance(entry.event, ev.AlarmRaised)]
    for place in raised[:2]:
        event = entries[place].event
        assert isinstance(event, ev.AlarmRaised)
        entries[place] = entries[place].model_copy(update={"event": event.model_copy(update={"limit": 0.5})})
    playing = Player(entries)
    async with bench(playing) as screen:
        await screen.until(lambda: playing.checked, "all was looked at")
        count = len(disagreements(entries))
        assert count >= 3  # two that are not called for, and the first of them that is
        await screen.shows(f"ALARMS DIFFER at {count}, d goes there")
        number = entries[raised[0]].number
        await screen.keys("d")
        await screen.shows(f"ALARMS DIFFER entry {number}: “")
        assert playing.place == number
        await screen.keys(*["d"] * len({found.place for found in playing.differences}))
        assert playing.place == number  # after the last comes the first


async def test_alarms_that_agree_are_said_too() -> None:
    async with bench(player()) as screen:
        await screen.shows("alarms agree")
        await screen.keys("d")
        assert screen.feed.place == 1


@pytest.mark.parametrize("place", ["casing", "grout", "log", "alarms", "help"])
async def test_a_what_if_says_so_on_every_screen(place: str) -> None:
    playing = player()
    what = "allowance 150 %"
    altered = tuple(supposed(playing.entries, Supposition(allowance_share=1.5)))
    pairs = [pair for pair in against_recorded(playing.entries, altered) if pair.alarm == "returns-overdue"]
    differences = [Difference(pair.place, moved_words(pair, "UTC")) for pair in pairs]
    async with bench(Player(altered, what_if=what, differences=differences), place=place) as screen:
        await screen.shows("WHAT-IF holding", f"{what}: ▲ ALARMS DIFFER at 1, d goes there")
        assert "  WHAT-IF  meter" in screen.lines[0]
        await screen.keys("d")
        await screen.shows("ALARMS DIFFER Returns overdue: recorded here, not WHAT-IF")
        await screen.keys("e")
        await screen.shows("WHAT-IF at the end")
        assert "REPLAY" not in screen.text or place == "help"


async def test_nothing_is_entered_into_a_replay() -> None:
    playing = player()
    before = tuple(playing.entries)
    async with bench(playing) as screen:
        for place in ("f2", "f3", "f4", "f5", "f6"):
            await screen.keys(place)
            await screen.settled()
            await screen.keys("1", "enter", "h", "u", "v", "a", "enter")
            await screen.settled()
        assert playing.snapshot.state.number == 1
        assert tuple(playing.entries) == before


async def test_keys_of_the_replay_work_on_every_screen() -> None:
    playing = player()
    async with bench(playing) as screen:
        for count, place in enumerate(("f2", "f3", "f4", "f5", "f6"), start=1):
            await screen.keys(place)
            await screen.settled()
            await screen.keys("right")
            await screen.until(lambda count=count: playing.place == count + 1, f"{place} stepped")  # type: ignore[misc]


async def test_leaving_a_replay_asks_nothing() -> None:
    async with bench(player()) as screen:
        await screen.keys("f9")
        await screen.until(lambda: not screen.app.is_running or screen.app._exit, "it left")
