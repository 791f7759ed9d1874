"""The alarm bar, its answers, and the list."""

import pytest

from tally.job import events as ev
from tally.job.view.alarms import standing
from tests.scenario import Day, grouting_day, plan
from tests.screens.support import MIDDLE, Bench, bench


def overdue() -> Day:
    """Pumped past the high estimate without returns: beside a shut shoe 20 m of annulus are due at 704 L at most."""
    day = grouting_day(plan(casing={"shoe": "float", "mass_kg_m": 45.0}), alarms=True)  # too heavy to lift
    day.pump(1.2, seconds=20)
    assert "returns-overdue" in day.standing()
    return day


async def _asked(screen: Bench) -> None:
    await screen.keys("a")
    await screen.shows("what was done?")


async def test_the_bar_says_what_how_much_and_since_when() -> None:
    async with bench(overdue(), place="grout") as screen:
        await screen.shows("■ STOP AND LOOK  Returns overdue", "since 12:12", "returns were due by 704 L", "a answers")
        await screen.shows("RETURNS OVERDUE")


async def test_a_number_answers() -> None:
    async with bench(overdue(), place="casing") as screen:
        await _asked(screen)
        await screen.shows("1  stopped the pump and tagged the top")
        await screen.keys("1")
        answer = await screen.recorded(ev.AlarmAcknowledged)
        assert (answer.alarm, answer.done) == ("returns-overdue", "stopped the pump and tagged the top")
        await screen.shows("answered, cause still there")


@pytest.mark.parametrize(
    ("keys", "text"),
    [("Slowed down", "Slowed down"), ("02 bags dumped, 3 kept", "2 bags dumped, 3 kept"), ("0", None), (" 1st", "1st")],
)
async def test_own_words_may_begin_with_a_digit(keys: str, text: str | None) -> None:
    async with bench(overdue(), place="grout") as screen:
        await _asked(screen)
        await screen.write(keys)
        if text is None:
            await screen.settled()
            await screen.keys("escape")
            await screen.settled()
            assert not screen.events(ev.AlarmAcknowledged)
        else:
            assert (await screen.recorded(ev.AlarmAcknowledged)).done == text


async def test_a_number_that_is_no_answer_answers_nothing() -> None:
    async with bench(overdue(), place="grout") as screen:
        await _asked(screen)
        await screen.keys("9", "enter", "f3", "u")
        await screen.settled()
        assert not screen.events(ev.AlarmAcknowledged)
        await screen.shows("what was done?")


async def test_the_loudest_comes_first_and_the_list_holds_all() -> None:
    day = overdue()
    day.quiet(30.0)
    day.record(ev.NoteWritten(text="the meter has gone quiet"))
    assert set(day.standing()) == {"returns-overdue", "no-meter-data"}
    async with bench(day, place="alarms") as screen:
        await screen.shows("■ STOP AND LOOK  Returns overdue", "a answers, 2 of 2")
        heads = [line.strip() for line in screen.lines[3:] if "▲" in line or "■" in line]
        assert [head.split("  ")[1] for head in heads] == ["Returns overdue", "No meter data"]
        await _asked(screen)
        await screen.keys("1")
        await screen.shows("▲ CAUTION  No meter data", "a answers, 1 of 2")
        await screen.shows("answered: stopped the pump and tagged the top")


async def test_the_bar_goes_on_under_a_question() -> None:
    """A question may stand for a long while; an alarm must show all the same."""
    day = grouting_day(alarms=True)
    async with bench(day, place="grout") as screen:
        await screen.keys("r")
        await screen.shows("Returns at surface", "no alarm")
        day.pump(1.2, seconds=20)
        await screen.shows("■ STOP AND LOOK  Returns overdue", "Returns at surface")


async def test_a_record_that_is_not_written_is_louder_than_any_alarm() -> None:
    async with bench(overdue(), place="grout") as screen:
        screen.feed.trouble = "the disk is full"
        await screen.shows("■ THE RECORD IS NOT BEING WRITTEN", "the disk is full", "NOT SAVED")
        screen.feed.trouble = ""
        await screen.shows("Returns overdue")


async def test_a_answers_from_every_screen() -> None:
    async with bench(overdue(), place="grout") as screen:
        for place in ("f2", "f3", "f4", "f5", "f6"):
            await screen.keys(place)
            await screen.settled()
            await _asked(screen)
            await screen.keys("escape")
            await screen.settled()


async def test_without_an_alarm_there_is_nothing_to_answer() -> None:
    async with bench(Day(), place="alarms") as screen:
        await screen.shows("no alarm in this session so far")
        await screen.keys("a")
        await screen.shows("no alarm waits for an answer")


def three() -> Day:
    """Overdue returns, past the planned volume and a tremie that hangs above the grout: three that wait."""
    day = grouting_day(alarms=True)
    day.tremie(59.0)
    day.batch(20, density_kg_m3=1865.0)
    day.pump(1.2, seconds=20)
    day.meter("STALE", "nothing for 5 s")
    day.quiet(60.0)
    assert len(day.standing()) >= 3
    return day


async def test_the_bar_names_what_else_waits_where_there_is_room() -> None:
    day = three()
    titles = [row.title for row in standing(day.state) if not row.acknowledged]
    async with bench(day, place="grout", size=MIDDLE) as screen:
        await screen.shows(titles[0], "next: ")
        named = next(line for line in screen.lines if "next: " in line)
        assert titles[1] in named
        await screen.pilot.resize_terminal(132, 43)
        await screen.shows(*titles[1:3])


async def test_at_80_columns_the_next_stands_behind_what_is_told() -> None:
    """ "  1,080 L pumped, returns were due by 1,062 L" takes 46 columns; a title is never cut."""
    async with bench(three(), place="grout") as screen:
        await screen.shows("1,080 L pumped, returns were due by 1,062 L  next: ", " and ", " more")
        assert "…" not in "".join(screen.lines[1:3])
