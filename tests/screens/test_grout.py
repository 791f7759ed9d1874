"""The grouting by keys alone, on a day whose casing is landed and whose meter counts."""

import pytest

from tally.job import events as ev
from tally.job.checklist import CHECKS
from tests.job.test_line import through_casing
from tests.scenario import Day, grouting_day, plan
from tests.screens.support import MIDDLE, Bench, bench


async def _picked(screen: Bench, key: str, question: str, number: str) -> None:
    await screen.keys(key)
    await screen.shows(question)
    await screen.keys(number)


async def test_a_stage_by_keys_alone() -> None:
    day = Day()
    day.joints()
    day.landed()
    day.metered()
    async with bench(day, place="grout") as screen:
        await screen.shows("no stage begun", "next: all")
        await screen.keys("e")
        await screen.write("59")
        assert (await screen.recorded(ev.TremieSet)).tip_m == 59.0
        await screen.write("10")
        await screen.shows("Before the first batch", "hole flushed", "water comes back clean")
        await screen.keys(*["enter"] * 3)
        await screen.shows("aboard 80 bags, 3,000 L of water; high need")
        await screen.keys("enter", "6", "5")
        assert {each.check for each in screen.events(ev.CheckConfirmed)} == set(CHECKS)
        assert (await screen.recorded(ev.BatchMixed)).bags == 10
        await screen.keys("d")
        await screen.write("1,86")
        assert (await screen.recorded(ev.BatchWeighed)).density_kg_m3 == pytest.approx(1860.0)
        await screen.keys("g")
        await screen.recorded(ev.StageStarted)
        await screen.shows("STAGE 1", "RETURNS due in")

        day.pump(0.300)
        await screen.shows("PUMP moving")
        await _picked(screen, "r", "Returns at surface", "3")
        seen = await screen.recorded(ev.ReturnsSeen)
        assert (seen.strength, seen.fluid) == ("full", "water")
        await screen.shows("RETURNS full, water")

        await _picked(screen, "p", "Pump stopped", "6")
        await screen.shows("why the pump stopped ▸")
        await screen.write("Hose swapped, 2 clamps")
        assert (await screen.recorded(ev.PumpStopped)).reason == "Hose swapped, 2 clamps"
        await screen.keys("p")
        await screen.recorded(ev.PumpStarted)

        await screen.keys("t", "space")
        await screen.shows("grout lost below")
        await screen.write("50.5")
        tag = await screen.recorded(ev.TopTagged)
        assert (tag.depth_m, tag.lost) == (50.5, True)

        await screen.keys("v")
        await screen.write("40 L")
        await screen.shows("a typed volume is added to it", "Enter again adds it")
        await screen.keys("enter")
        assert (await screen.recorded(ev.VolumeAdded)).volume_m3 == pytest.approx(0.040)

        await screen.keys("y")
        await screen.write("1.85")
        assert (await screen.recorded(ev.ReturnsSeen, 2)).density_kg_m3 == pytest.approx(1850.0)
        await _picked(screen, "i", "Where does the displaced water go?", "1")
        assert (await screen.recorded(ev.GroundDrinks)).drinks is False
        await screen.keys("j")
        await screen.write("12")
        assert (await screen.recorded(ev.StockDelivered)).bags == 12

        await _picked(screen, "f", "End the stage", "1")
        ended = await screen.recorded(ev.StageEnded)
        assert ended.outcome == "good grout at surface"
        await screen.shows("ENDED", "ended: good grout at surface")


async def test_strokes_counted_by_eye_are_a_volume_and_corrected_as_strokes() -> None:
    pump = {"rate_m3_s": 0.001, "stroke_m3": 0.0012, "efficiency_share": 0.9}
    async with bench(grouting_day(plan(meter=None, pump=pump)), place="grout") as screen:
        await screen.keys("v")
        await screen.shows("not metered: volume, or strokes (L)")
        await screen.write("120 strokes")
        event = await screen.recorded(ev.VolumeAdded)
        assert (event.strokes, event.typed) == (120, "120 strokes")
        assert event.volume_m3 == pytest.approx(0.1296)  # 120 x 1.2 L x 90 %
        await screen.keys("f4", "e")
        await screen.shows("or strokes", "120 strokes")
        await screen.write("125 strokes")
        await screen.shows("why")
        await screen.keys("enter")
        corrected = (await screen.recorded(ev.EntryCorrected)).event
        assert isinstance(corrected, ev.VolumeAdded)
        assert corrected.strokes == 125


async def test_strokes_without_a_stroke_say_which_key_is_missing() -> None:
    async with bench(grouting_day(plan(meter=None)), place="grout") as screen:
        await screen.keys("v")
        await screen.write("120 strokes")
        await screen.shows("not recorded: the plan has no [pump]", "stroke_volume and")


async def test_pulling_without_cover_is_refused_and_can_be_insisted_on() -> None:
    day = grouting_day()
    day.tremie(59.0)
    async with bench(day, place="grout") as screen:
        await screen.keys("m")
        await screen.write("3")
        await screen.shows("no grout is out yet", "hang 10.00 m above", "at least 1.50 m over it is asked for")
        await screen.shows("pull it all the same?", "Enter again records it")
        assert screen.typed == "3"
        assert not screen.events(ev.TremiePulled)
        await screen.keys("enter")
        assert (await screen.recorded(ev.TremiePulled)).sections == 3


async def test_finishing_without_grout_at_surface_is_asked_about() -> None:
    async with bench(grouting_day(), place="grout") as screen:
        await _picked(screen, "f", "End the stage", "1")
        await screen.shows("finish all the same?", "no full-strength grout was seen")
        await screen.keys("escape")
        await screen.shows("not recorded")
        assert not screen.events(ev.StageEnded)
        await _picked(screen, "f", "End the stage", "1")
        await screen.shows("finish all the same?")
        await screen.keys("1")
        await screen.recorded(ev.StageEnded)


@pytest.mark.parametrize(("answer", "counted_m3"), [("1", 0.120), ("2", 0.0), ("3", 0.080)])
async def test_an_unseen_volume_counts_as_the_crew_says(answer: str, counted_m3: float) -> None:
    day = grouting_day()
    day.restart(60.0)
    day.metered()
    day.meter("STALE")
    day.restart(600.0)
    day.meter("LIVE")
    day.beat(day.total_m3 + 0.120)
    async with bench(day, place="grout") as screen:
        await screen.shows("meter moved 120 L unseen: o answers")
        await _picked(screen, "o", "The meter moved by 120 L unseen", answer)
        if answer == "3":
            await screen.shows("how much of it counts (L) ▸")
            await screen.write("80")
        assert (await screen.recorded(ev.GapAnswered)).counted_m3 == pytest.approx(counted_m3)


async def test_nothing_to_answer_and_nothing_under_way_say_so() -> None:
    day = Day()
    day.joints()
    async with bench(day, place="grout") as screen:
        await screen.keys("o")
        await screen.shows("the meter offers no unseen volume")
        await screen.keys("d")
        await screen.write("1.86")
        await screen.shows("no batch was mixed yet")
        await screen.keys("escape", "g")
        await screen.shows("grout it all the same?", "the casing is not landed yet")
        await screen.keys("2")
        await screen.shows("not recorded")
        assert not screen.events(ev.StageStarted)


@pytest.mark.parametrize("typed", ["1.5", "0", "501", "9999999", "ten"])
async def test_a_batch_is_a_whole_number_of_bags(typed: str) -> None:
    async with bench(grouting_day(), place="grout") as screen:
        await screen.write(typed.removeprefix("ten") or "10 bags")
        await screen.shows("a whole number")
        assert not screen.events(ev.BatchMixed)


async def test_the_tremie_above_the_grout_is_said_in_words() -> None:
    day = grouting_day()
    day.tremie(30.0)
    async with bench(day, place="grout") as screen:
        await screen.shows("tremie 30.0 m, no grout out of it yet")
    day.pump(0.300, seconds=30)
    async with bench(day, place="grout") as screen:
        await screen.shows("tremie 30.0 m, ABOVE THE GROUT, may pull 0")


async def test_returns_are_counted_down_to_and_then_past() -> None:
    """Air over the water fills first: 20 m of pi/4 x (0.25^2 - 0.168275^2) m2 and of the open bore, 20 m of pi/4 x
    0.154051^2 m2, are 536.9 and 372.8 L: 909.7 L in theory, plus 15 %, and 15 points of it and 2 % of the meter's less
    and more."""
    day = grouting_day(alarms=True)
    day.pump(0.300, seconds=30)
    async with bench(day, place="grout") as screen:
        await screen.shows("RETURNS due in ", ", about ", "pumped")
        day.pump(0.700, seconds=35)
        await screen.shows("RETURNS DUE NOW, overdue in ")
        day.pump(0.200, seconds=10)
        await screen.shows("RETURNS OVERDUE by ", "LOSING GROUT? l: tag, wait, bridge, top up")
        await screen.keys("l")
        await screen.shows("LOSING GROUT: WHAT USUALLY HELPS", "1 TAG (t)")
        await screen.keys("escape")
        await screen.shows("STILL NEEDED")


async def test_after_the_end_the_level_is_looked_at_and_the_setting_waited_for() -> None:
    """Looks 15, 30 and 60 min after the end; the mix asks for 24 h before drilling on."""
    day = grouting_day()
    day.returns("full", "grout")
    day.end("good grout at surface")
    async with bench(day, place="grout", size=MIDDLE) as screen:
        await screen.shows("level: look at", "15 min after the end", "drilling on not before", "in 24 h 00 min")
        day.quiet(900.0)
        await screen.shows("LOOK AT THE LEVEL, 15 min after the end: t")
        await screen.keys("t")
        await screen.write("0.2")
        await screen.shows("level: look at", "30 min after the end", "in 23 h 4")
        day.quiet(960.0)
        await screen.keys("t")
        await screen.write("0.5")
        await screen.shows("level fell 0.30 m since the first look", "60 min after the end")
        day.quiet(90_000.0)
        await screen.shows("waiting time over since", "drilling on")


async def test_a_stage_that_takes_longer_than_the_mix_works_is_no_go() -> None:
    """1.61 m3 of annulus; 10 L/min take over two and a half hours, the mix works 1 h 30 min; 40 L/min about an hour."""
    for litres_a_minute, words in ((10, "NO-GO: high volume takes 3 h"), (40, "GO: high volume in 5")):
        day = Day(plan(pump={"rate_m3_s": litres_a_minute / 60_000}))
        async with bench(day, place="grout") as screen:
            await screen.shows(words, "mix")


async def test_down_the_casing_the_water_behind_the_grout_is_said() -> None:
    """1,145.6 L of line less 2 % for the meter and 3 m of bore, 55.9 L: 1,066.8 L (by hand in tests/job/test_line)."""
    async with bench(grouting_day(through_casing()), place="grout") as screen:
        await screen.shows("then 1,067 L of water down the casing, and stop")


async def test_a_stage_against_the_working_time_is_said_loudly_and_takes_a_reason() -> None:
    """2,153 L at the most, the line with them, take 93.6 min at 23 L/min; the mix works for 90."""
    day = Day(plan(pump={"rate_m3_s": 0.023 / 60}))
    day.joints()
    day.landed()
    async with bench(day, place="grout") as screen:
        await screen.shows("NO-GO")
        await screen.keys("g")
        await screen.shows(
            "■ NO-GO: the high volume takes 1 h 34 min", "begin all the same, why ▸ pumping faster than that"
        )
        assert not screen.events(ev.StageStarted)
        await screen.keys("escape", "g", "enter")
        begun = await screen.recorded(ev.StageStarted)
        assert begun.against == "pumping faster than that"
        await screen.shows("working time, because pumping faster than that")


async def test_a_stage_that_fits_is_begun_at_once() -> None:
    day = Day(plan(pump={"rate_m3_s": 0.060 / 60}))
    day.joints()
    day.landed()
    async with bench(day, place="grout") as screen:
        await screen.shows("GO: high volume in")
        await screen.keys("g")
        assert (await screen.recorded(ev.StageStarted)).against == ""


async def test_every_key_that_works_is_named_or_leads_to_the_list_of_them() -> None:
    """At 80 columns, no meter and a stage under way, all fit; where a tank is dipped too, one leads to the others."""
    day = grouting_day(plan(meter=None))
    async with bench(day, place="grout") as screen:
        await screen.shows("i ground", "y weigh them", "j bags in")
        assert "more keys" not in screen.text
    tank = {"shape": "box", "length_m": 1.0, "width_m": 1.0, "height_m": 1.0}
    async with bench(grouting_day(plan(meter=None, tank=tank)), place="grout") as screen:
        await screen.shows("F6 more keys")


async def test_an_empty_answer_says_what_is_expected() -> None:
    async with bench(Day(), place="grout") as screen:
        await screen.keys("enter")
        await screen.shows("bags in this batch: nothing was given; type a whole number such as 12, then")
        await screen.keys("t", "enter")
        await screen.shows("top tagged at: nothing was given; type a number in m, or with another unit")
