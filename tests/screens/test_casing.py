"""The casing run by keys alone. 1 ft is 0.3048 m and 1 in 25.4 mm exactly (NIST SP 811, 2008, appendix B.8)."""

import pytest

from tally.job import events as ev
from tests.scenario import JOINT_M, JOINTS, Day, plan
from tests.screens.support import bench

FOOT_M, INCH_M = 0.3048, 0.0254


@pytest.mark.parametrize(
    ("typed", "length_m", "kept"),
    [
        ("5.05", 5.05, "5.05 m"),
        ("5,05", 5.05, "5,05 m"),
        ("505 cm", 5.05, "505 cm"),
        ("16' 6 1/2\"", 16 * FOOT_M + 6.5 * INCH_M, "16' 6 1/2\""),
        ("16.5 ft", 16.5 * FOOT_M, "16.5 ft"),
    ],
)
async def test_a_joint_is_a_length_and_enter(typed: str, length_m: float, kept: str) -> None:
    async with bench(Day()) as screen:
        await screen.write(typed)
        joint = await screen.recorded(ev.JointAdded)
        assert joint.length_m == pytest.approx(length_m, abs=1e-9)
        assert joint.typed == kept
        await screen.shows("✓ saved 3: joint of", "joints in 1 ")
        assert screen.typed == ""


async def test_a_bare_number_takes_the_unit_that_is_shown() -> None:
    async with bench(Day()) as screen:
        await screen.keys("f7")
        await screen.shows("SHOE DEPTH ft")
        await screen.write("16.5")
        joint = await screen.recorded(ev.JointAdded)
        assert joint.length_m == pytest.approx(16.5 * FOOT_M, abs=1e-9)
        assert joint.typed == "16.5 ft"
        await screen.shows("joint of 16.50 ft on")
        await screen.keys("f7")
        await screen.shows("SHOE DEPTH m")


async def test_a_refusal_keeps_the_answer_and_enter_insists() -> None:
    async with bench(Day()) as screen:
        await screen.write("3.2")
        await screen.shows("not recorded: 3.20 m is outside the delivered range, 4.00 m to 7.00 m.")
        await screen.shows("Enter again records it")
        assert screen.typed == "3.2"
        assert not screen.events(ev.JointAdded)
        await screen.keys("enter")
        assert (await screen.recorded(ev.JointAdded)).length_m == 3.2


async def test_another_length_does_not_insist() -> None:
    async with bench(Day()) as screen:
        await screen.write("3.2")
        await screen.shows("Enter again records it")
        await screen.keys("backspace", "3", "enter")
        await screen.shows("3.30 m is outside the delivered range")
        assert not screen.events(ev.JointAdded)


async def test_other_units_do_not_insist_on_the_same_digits() -> None:
    """7.5 m is over the delivered 7 m; 7.5 ft is under 4 m, and nobody was asked about that."""
    async with bench(Day()) as screen:
        await screen.write("7.5")
        await screen.shows("7.50 m is outside", "Enter again records it")
        await screen.keys("f7")
        await screen.shows("SHOE DEPTH ft")
        await screen.keys("enter")
        await screen.shows("7.50 ft is outside")
        assert not screen.events(ev.JointAdded)


@pytest.mark.parametrize("typed", ["0", "-5", "99", "5 furlong", "5 kg", "1e999", "5..5"])
async def test_what_is_no_joint_is_refused_where_it_was_typed(typed: str) -> None:
    async with bench(Day()) as screen:
        await screen.write(typed)
        await screen.shows("✗", "accepted")
        assert screen.typed == typed
        await screen.keys("enter")
        await screen.settled()
        assert not screen.events(ev.JointAdded)


async def test_hook_load_says_how_the_string_moved() -> None:
    day = Day()
    day.joints([JOINT_M] * 2)
    async with bench(day) as screen:
        await screen.keys("h")
        await screen.shows("hook load, still (space changes)")
        await screen.keys("space")
        await screen.shows("hook load, lowering (space changes)")
        await screen.write("0.30")
        reading = await screen.recorded(ev.HookLoadRead)
        assert reading.motion == "lowering"
        # 1 t weighs 9806.65 N by the standard acceleration of free fall (NIST SP 811, 2008, appendix B.8).
        assert reading.load_n == pytest.approx(0.30 * 9806.65)
        await screen.shows("the reading (lowering) is as expected")
        await screen.keys("h", "up")
        await screen.shows("hook load, picking up")


async def test_a_space_behind_a_unit_belongs_to_the_number() -> None:
    day = Day()
    async with bench(day) as screen:
        await screen.keys("w")
        await screen.write("65' 6\"")
        level = await screen.recorded(ev.FluidLevelRead)
        assert level.depth_m == pytest.approx(65.5 * FOOT_M)
        assert level.where == "hole"


async def test_a_centralizer_stands_where_it_was_planned_unless_another_height_is_typed() -> None:
    """Planned at 58 m, 2 m above the shoe at 60 m."""
    day = Day(plan(casing={"centralizer_depths_m": [58.0]}))
    day.joint()
    async with bench(day) as screen:
        await screen.shows("CENTRALIZER belongs 2.00 m above the shoe: c")
        await screen.keys("c")
        await screen.shows("centralizer, above the shoe (m) ▸ 2.00 m")
        await screen.keys("enter")
        fitted = await screen.recorded(ev.CentralizerFitted)
        assert (fitted.above_shoe_m, fitted.at_top) == (2.0, False)
        await screen.keys("c")
        await screen.shows("above the shoe (m) ▸ 5.05 m")
        await screen.write("3.1")
        assert (await screen.recorded(ev.CentralizerFitted, 2)).above_shoe_m == 3.1
        await screen.keys("c")
        await screen.write("9")
        await screen.shows("given 9.00 m; from 0.00 m to 5.05 m is accepted")


async def test_the_run_by_keys_alone() -> None:
    """Twelve joints, a rejected one, a stick-up, a cut, and the landing picked; shoe at 12 * 5.05 - 0.6 = 60.0 m."""
    day = Day(plan(casing={"rack_m": [JOINT_M] * JOINTS + [4.9]}))
    async with bench(day) as screen:
        for place in range(JOINTS):
            await screen.write("5.05")
            await screen.recorded(ev.JointAdded, place + 1)
            if place in (0, 6):
                await screen.keys("c")
                await screen.shows("centralizer, above the shoe (m)")
                await screen.keys("enter")
                await screen.recorded(ev.CentralizerFitted, 1 if place == 0 else 2)
        await screen.shows("centralizers 2")
        await screen.keys("x")
        await screen.write("4.9")
        assert (await screen.recorded(ev.JointRejected)).length_m == 4.9
        await screen.keys("k")
        await screen.write("20 cm")
        assert (await screen.recorded(ev.CutOffMade)).length_m == pytest.approx(0.2)
        await screen.keys("s")
        await screen.write("0.4")
        await screen.recorded(ev.StickUpRead)
        await screen.shows("stick-up 0.40 m read", "string 60.40 m", "left 0  rejected 1")
        await screen.keys("l")
        await screen.shows("hung at depth")
        await screen.keys("2")
        assert (await screen.recorded(ev.CasingLanded)).on == "hung"
        await screen.shows("HUNG AT DEPTH  F3 goes on to the grout")
        assert screen.day.state.string.landed_on == "hung"


async def test_a_joint_is_measured_again() -> None:
    """Three joints of 5.05 m; the last at 5.01 m makes 15.11 m, the first at 16' 6" (5.0292 m) 15.09 m."""
    day = Day()
    async with bench(day) as screen:
        await screen.keys("m")
        await screen.shows("no joint is in the hole yet")
        for place in range(3):
            await screen.write("5.05")
            await screen.recorded(ev.JointAdded, place + 1)
        await screen.keys("m")
        await screen.shows("joint (1 to 3) and length")
        await screen.write("3 5.01")
        again = await screen.recorded(ev.JointRemeasured)
        assert (again.length_m, again.typed) == (5.01, "5.01 m")
        await screen.shows("string 15.11 m")
        await screen.keys("m")
        await screen.write("first 5 m")
        await screen.shows("a joint, counted from the shoe")
        await screen.keys("escape", "m")
        await screen.write("1 16' 6\"")
        assert (await screen.recorded(ev.JointRemeasured, 2)).length_m == pytest.approx(16.5 * FOOT_M)
        await screen.shows("string 15.09 m")


async def test_a_depth_says_from_where_it_is_measured() -> None:
    day = Day(plan(casing={"measured_from_m": 0.8}))
    async with bench(day) as screen:
        await screen.keys("w")
        await screen.shows("from 0.80 m above ground")
        await screen.write("20.8")
        assert (await screen.recorded(ev.FluidLevelRead)).depth_m == pytest.approx(20.0)


async def test_landing_short_of_depth_is_asked_about() -> None:
    day = Day()
    day.joints([JOINT_M] * 6)
    async with bench(day) as screen:
        await screen.keys("l")
        await screen.shows("Casing landed")
        await screen.keys("1")
        await screen.shows("landed here all the same?", "30.30 m above its planned depth")
        await screen.keys("2")
        await screen.shows("not recorded")
        await screen.keys("l")
        await screen.shows("Casing landed")
        await screen.keys("1")
        await screen.shows("landed here all the same?")
        await screen.keys("1")
        await screen.recorded(ev.CasingLanded)


async def test_undo_is_a_void_with_its_reason() -> None:
    day = Day()
    day.joints([JOINT_M] * 2)
    async with bench(day) as screen:
        await screen.keys("u")
        await screen.shows("void 3 (joint of 5.05 m on), why")
        assert screen.typed == "entered by mistake"
        await screen.keys("enter")
        voided = await screen.recorded(ev.EntryVoided)
        assert (voided.entry, voided.reason) == (3, "entered by mistake")
        await screen.shows("joints in 1  left 11")
        await screen.keys("u")
        await screen.shows("void 2 (")
        await screen.write("wrong pipe")
        assert (await screen.recorded(ev.EntryVoided, 2)).reason == "wrong pipe"
        await screen.keys("u")
        await screen.shows("there is no entry to void")


@pytest.mark.parametrize("text", ["Wind from the West", "8 joints look bent", "Halt at 14:30 - gas, none found"])
async def test_a_note_keeps_capitals_spaces_and_digits(text: str) -> None:
    async with bench(Day()) as screen:
        await screen.keys("n")
        await screen.shows("note ▸")
        await screen.write(text)
        assert (await screen.recorded(ev.NoteWritten)).text == text
        await screen.shows("joint length (m) ▸")


async def test_escape_goes_back_and_an_unknown_letter_says_so() -> None:
    async with bench(Day()) as screen:
        await screen.keys("n")
        await screen.write("half a no", "escape")
        await screen.shows("joint length (m) ▸")
        assert screen.typed == ""
        await screen.keys("z")
        await screen.shows("nothing is tied to z here")
        assert len(screen.day.entries) == 1


async def test_keys_go_to_every_place_and_through_the_themes() -> None:
    async with bench(Day()) as screen:
        for key, word in (("f3", "no stage begun"), ("f4", "what happened"), ("f5", "no alarm in this session"),
                          ("f6", "ANYWHERE"), ("f2", "SHOE DEPTH")):  # fmt: skip
            await screen.keys(key)
            await screen.shows(word)
        themes = {screen.app.theme}
        for _ in range(3):
            await screen.keys("f8")
            await screen.settled()
            themes.add(screen.app.theme)
        assert themes == {"dusk", "sunlight", "plain"}
        assert screen.app.theme == "dusk"
