"""The grouting by keys alone, on a day whose casing is landed and whose meter counts."""

import pytest

from tally.job import events as ev
from tally.job.checklist import CHECKS
from tests.scenario import Day, grouting_day
from tests.screens.support import Bench, bench


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
        await screen.shows("STAGE 1", "RETURNS not yet")

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


async def test_pulling_without_cover_is_refused_and_can_be_insisted_on() -> None:
    day = grouting_day()
    day.tremie(59.0)
    async with bench(day, place="grout") as screen:
        await screen.keys("m")
        await screen.write("3")
        await screen.shows("at least", "is asked for", "pull it all the same? Enter again")
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
        await screen.shows("tremie 30.0 m, ABOVE THE GROUT, may pull 0")
