"""Where the grout is and when returns are due, worked by hand from the geometry.

250 mm hole, 168.275 mm casing, 60 m:
    hole      pi/4 x 0.250^2                = 0.0490874 m2
    casing    pi/4 x 0.168275^2             = 0.0222397 m2
    annulus                                 = 0.0268477 m2  -> 26.848 L/m, 1,610.86 L in 60 m
    bore      pi/4 x 0.154051^2             = 0.0186390 m2  -> 18.639 L/m
The handbooks' form in inches, L/m = 0.506707 (Dh^2 - Dp^2), gives 0.506707 x (9.84252^2 - 6.625^2) = 26.848.
"""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.job import events as ev
from tally.job import fill as filling
from tally.job import geometry
from tally.job.fill import Fill
from tests.scenario import Day, grouting_day, plan

ANNULUS_M2 = 0.0268477
BORE_M2 = 0.0186390
EXACT: dict[str, Any] = {"allowance_share": 0.0, "spread_share": 0.0}


def stage_of(**changes: Any) -> list[dict[str, Any]]:
    return [{**plan().stages[0].model_dump(), **changes}]


def exact_day(**changes: Any) -> Day:
    """A hole that is its bit size, and a meter without error."""
    meter = {"tolerance_share": 0.0}
    return grouting_day(plan(**{"stages": stage_of(**EXACT), "meter": meter, **changes}))


def fill(day: Day) -> Fill:
    return filling.fill(day.state, day.state.grout.stages[-1])


# --- volumes ---------------------------------------------------------------------------------------------------------


def test_planned_volume_is_annulus_with_allowance_and_line() -> None:
    now = fill(grouting_day())
    assert now.theory_m3 == pytest.approx(60 * ANNULUS_M2, rel=1e-5)
    assert now.planned_m3 == pytest.approx(1.15 * 60 * ANNULUS_M2 + 0.040, rel=1e-5)  # 1,852.5 + 40 L
    assert now.needed_m3 == pytest.approx(now.planned_m3)
    assert now.needed_low_m3 < now.needed_m3 < now.needed_high_m3


def test_hole_below_the_shoe_counts_at_full_bore() -> None:
    """Shoe at 58 m: 58 m of annulus and 2 m of hole, 1,557.17 + 98.17 L."""
    day = exact_day(casing={"target_shoe_depth_m": 58.0}, stages=stage_of(**EXACT))
    day.record(ev.EntryVoided(entry=14, reason="not landed"))  # without a landing the planned depth counts
    assert day.state.string.landed_on is None
    assert fill(day).theory_m3 == pytest.approx(58 * ANNULUS_M2 + 2 * 0.0490874, rel=1e-5)


def test_casing_landed_high_leaves_more_hole_below_it() -> None:
    day = Day(plan(stages=stage_of(**EXACT)))
    day.joints([5.05] * 11)  # 55.55 m less 0.60 m: the shoe is at 54.95 m
    day.landed("hung")
    day.stage()
    assert fill(day).theory_m3 == pytest.approx(54.95 * ANNULUS_M2 + 5.05 * 0.0490874, rel=1e-5)


def test_casing_landed_a_little_into_a_narrower_hole_stands_on_the_ledge() -> None:
    """By the tape the shoe is 2 cm inside a 150 mm hole that cannot take it."""
    sections = [
        {"top_m": 0.0, "bottom_m": 60.0, "diameter_m": 0.25},
        {"top_m": 60.0, "bottom_m": 80.0, "diameter_m": 0.15},
    ]
    day = Day(plan(hole={"sections": sections}))
    day.joints([*[5.05] * 11, 5.07])
    day.landed()
    day.stage()
    assert geometry.shoe_m(day.state) == 60.0
    assert fill(day).theory_m3 == pytest.approx(60 * ANNULUS_M2, rel=1e-5)


def test_a_hanging_tremie_lifts_the_top_and_not_what_is_needed() -> None:
    """33.4 mm outside: 0.00087616 m2. 400 L out stand 400 / (26.8477 - 0.87616) = 15.4016 m high beside it, from 60 m
    up with the tremie down to 60 m; in the end it comes out, and 60 m of annulus are to be filled all the same."""
    day = exact_day()
    day.tremie(60.0)
    day.pump(0.440)
    now = fill(day)
    assert now.top.likely_m == pytest.approx(60 - 15.4016, abs=1e-3)
    assert now.theory_m3 == pytest.approx(60 * ANNULUS_M2, rel=1e-5)
    assert now.needed_m3 == pytest.approx(60 * ANNULUS_M2 - 0.400, rel=1e-5)
    day.record(ev.TremiePulled(sections=20))
    assert day.state.grout.tremie_out
    assert fill(day).needed_m3 == pytest.approx(60 * ANNULUS_M2 - 0.400, rel=1e-5)


def test_after_a_tag_the_tremie_below_it_is_still_to_be_filled() -> None:
    """Tagged at 45 m beside a tremie down to 60 m: 45 m of annulus and 15 x 0.87616 = 13.142 L where it hangs."""
    day = exact_day()
    day.tremie(60.0)
    day.pump(0.440)
    day.tag(45.0)
    assert fill(day).needed_m3 == pytest.approx(45 * ANNULUS_M2 + 15 * 0.00087616, rel=1e-5)


# --- the top ---------------------------------------------------------------------------------------------------------


def test_with_no_spread_the_top_is_theory() -> None:
    """440 L pumped, 40 L of it in the line: 400 L fill 400 / 26.8477 = 14.8989 m, so that the top is at 45.101 m."""
    day = exact_day()
    day.pump(0.440)
    now = fill(day)
    assert now.out_m3 == pytest.approx(0.400)
    assert now.top.low_m == now.top.likely_m == now.top.high_m == pytest.approx(45.1011, abs=1e-4)
    assert now.needed_m3 == pytest.approx(60 * ANNULUS_M2 - 0.400, rel=1e-5)


def test_nothing_has_left_the_line_before_it_is_full() -> None:
    day = exact_day()
    day.pump(0.030)
    now = fill(day)
    assert now.out_m3 == 0.0 and now.top.likely_m == 60.0
    assert now.into_annulus_m3 == pytest.approx(0.030)  # the line's water goes first
    empty = exact_day(line={"starts": "empty"})
    empty.pump(0.030)
    assert fill(empty).into_annulus_m3 == 0.0


def test_the_allowance_lowers_the_top_and_the_spread_lies_on_both_sides() -> None:
    day = grouting_day()
    day.pump(0.440)
    now = fill(day)
    assert 60 - now.top.likely_m == pytest.approx(14.8989 / 1.15, abs=1e-3)
    assert now.top.low_m > now.top.likely_m > now.top.high_m  # low is the lowest top: deepest


@given(st.floats(0.0, 3.0), st.floats(0.001, 1.0))
def test_more_pumped_is_never_a_lower_top_nor_a_greater_need(pumped_m3: float, more_m3: float) -> None:
    day = grouting_day(plan(meter=None))
    if pumped_m3:
        day.volume(pumped_m3)
    before = fill(day)
    day.volume(more_m3)
    after = fill(day)
    assert after.top.likely_m <= before.top.likely_m and after.needed_m3 <= before.needed_m3


# --- a tag -----------------------------------------------------------------------------------------------------------


def test_after_a_tag_the_top_and_the_need_go_by_it() -> None:
    """Zero spread: tagged at 50 m after 440 L; 268.477 L more fill 10 m from there, and 40 m still want 1,073.9 L."""
    day = exact_day()
    day.pump(0.440)
    day.tag(50.0)
    assert fill(day).top.likely_m == 50.0
    assert fill(day).needed_m3 == pytest.approx(50 * ANNULUS_M2, rel=1e-5)
    day.pump(0.268477)
    assert fill(day).top.likely_m == pytest.approx(40.0, abs=1e-3)
    assert fill(day).needed_m3 == pytest.approx(40 * ANNULUS_M2, rel=1e-4)


def test_a_tag_tells_of_the_hole_above_too() -> None:
    """400 L out filled only 10 m (268.5 L by theory): a factor near 1.49, so that more is needed than planned."""
    day = grouting_day()
    day.pump(0.440)
    day.tag(50.0)
    needed_m3, theory_m3 = fill(day).needed_m3, 50 * ANNULUS_M2
    assert 1.15 * theory_m3 < needed_m3 < 0.400 / (10 * ANNULUS_M2) * theory_m3


def test_a_loss_into_a_fracture_is_not_projected_upward() -> None:
    day = grouting_day()
    day.pump(0.440)
    day.tag(50.0, lost=True)
    assert fill(day).needed_m3 == pytest.approx(1.15 * 50 * ANNULUS_M2, rel=1e-5)


def test_above_a_loss_the_next_tag_measures_from_the_loss_on() -> None:
    """After the loss, 308.75 L filled the 10 m from 50 to 40 m: exactly 1.15 of theory, as planned."""
    day = grouting_day()
    day.pump(1.040)
    day.tag(50.0, lost=True)
    day.pump(1.15 * 10 * ANNULUS_M2)
    day.tag(40.0)
    assert fill(day).needed_m3 == pytest.approx(1.15 * 40 * ANNULUS_M2, rel=1e-4)


def test_a_tag_at_the_bottom_says_that_all_is_lost() -> None:
    day = exact_day()
    day.pump(0.440)
    day.tag(60.0, lost=True)
    now = fill(day)
    assert now.top.likely_m == 60.0
    assert now.needed_m3 == pytest.approx(60 * ANNULUS_M2, rel=1e-5)


# --- returns ---------------------------------------------------------------------------------------------------------


def due(day: Day) -> filling.Due:
    return fill(day).due


def test_an_open_shoe_fills_the_bore_too() -> None:
    """Water at 20 m: 20 x (26.8477 + 18.6390) = 909.7 L."""
    window = due(exact_day())
    assert window.low_m3 == window.high_m3 == pytest.approx(20 * (ANNULUS_M2 + BORE_M2), rel=1e-5)
    assert window.fluid == "water"


@pytest.mark.parametrize("shoe", ["float", "closed"])
def test_a_shut_shoe_leaves_only_the_annulus_to_fill(shoe: str) -> None:
    """20 x 26.8477 = 536.95 L."""
    window = due(exact_day(casing={"shoe": shoe}))
    assert window.low_m3 == window.high_m3 == pytest.approx(20 * ANNULUS_M2, rel=1e-5)


def test_pumped_through_the_casing_the_bore_is_full_already() -> None:
    day = exact_day(stages=stage_of(**EXACT, method="through casing"))
    assert due(day).low_m3 == pytest.approx(20 * ANNULUS_M2, rel=1e-5)


@pytest.mark.parametrize("drinks", [False, None])
def test_a_hole_that_stands_full_returns_at_once(drinks: bool | None) -> None:
    window = due(exact_day(hole={"water_level_m": 0.0, "drinks_water": drinks}))
    assert window.low_m3 == window.high_m3 == 0.0


def test_a_line_that_starts_empty_delays_by_its_volume() -> None:
    window = due(exact_day(hole={"water_level_m": 0.0}, line={"starts": "empty"}))
    assert window.low_m3 == window.high_m3 == pytest.approx(0.040)


def test_ground_that_drinks_returns_grout_alone_when_all_is_full() -> None:
    window = due(exact_day(hole={"drinks_water": True}))
    assert window.fluid == "grout"
    assert window.low_m3 == window.high_m3 == pytest.approx(60 * ANNULUS_M2 + 0.040, rel=1e-5)


def test_where_nobody_knows_whether_it_drinks_the_window_spans_both() -> None:
    window = due(exact_day(hole={"drinks_water": None}, casing={"shoe": "closed"}))
    assert window.low_m3 == pytest.approx(20 * ANNULUS_M2, rel=1e-5)
    assert window.high_m3 == pytest.approx(60 * ANNULUS_M2 + 0.040, rel=1e-5)


def test_the_key_that_the_ground_drinks_stands_over_the_plan() -> None:
    day = exact_day()
    day.record(ev.GroundDrinks(drinks=True))
    assert due(day).fluid == "grout"
    day.record(ev.GroundDrinks(drinks=False))
    assert due(day).fluid == "water"


def test_a_level_measured_on_the_day_moves_the_window() -> None:
    day = exact_day(casing={"shoe": "closed"})
    day.record(ev.FluidLevelRead(where="hole", depth_m=5.0, typed=""))
    assert due(day).high_m3 == pytest.approx(5 * ANNULUS_M2, rel=1e-5)


def test_a_stage_that_begins_higher_up_has_less_to_fill() -> None:
    """From 40 m up, nobody knows whether the ground drinks: at most 40 x 26.8477 L and the line; set grout shuts the
    shoe."""
    day = exact_day(hole={"drinks_water": None})
    day.pump(0.5)
    day.end("left to set")
    day.tag(40.0)
    day.stage(0, bottom_m=40.0)
    window = due(day)
    assert window.low_m3 == pytest.approx(20 * ANNULUS_M2, rel=1e-5)
    assert window.high_m3 == pytest.approx(40 * ANNULUS_M2 + 0.040, rel=1e-5)


def test_the_spread_opens_the_window() -> None:
    window = due(grouting_day(plan(casing={"shoe": "closed"})))
    assert window.low_m3 < 1.15 * 20 * ANNULUS_M2 < window.high_m3


# --- zones, chance, an empty tremie ----------------------------------------------------------------------------------

FRACTURE = [{"top_m": 40.0, "bottom_m": 50.0, "kind": "fracture"}]


def test_a_zone_widens_the_top_over_its_interval() -> None:
    """± 50 %: the zone takes 1.618034 of theory at the high end, 0.618034 at the low. 400 L out are 268.48 L below the
    zone and 131.52 L in it: 4.8989 m likely, 131.52 / (1.618034 x 26.8477) = 3.0277 m lowest, 7.9265 m highest."""
    day = exact_day(hole={"zones": FRACTURE})
    day.pump(0.440)
    top = fill(day).top
    assert top.likely_m == pytest.approx(45.1011, abs=1e-4)
    assert (top.low_m, top.high_m) == pytest.approx((50 - 3.0277, 50 - 7.9265), abs=1e-3)
    assert fill(day).needed_m3 == pytest.approx(60 * ANNULUS_M2 - 0.400, rel=1e-5)
    assert fill(day).planned_high_m3 == pytest.approx(66.18034 * ANNULUS_M2 + 0.040, rel=1e-5)


def test_the_plan_may_say_how_far_a_zone_strays() -> None:
    """± 20 %: e^asinh(0.2) is 1.219804."""
    day = exact_day(hole={"zones": [{**FRACTURE[0], "spread_share": 0.20}]})
    assert fill(day).planned_high_m3 == pytest.approx((50 + 10 * 1.219804) * ANNULUS_M2 + 0.040, rel=1e-5)


def test_a_zone_in_the_air_opens_the_window() -> None:
    """20 m of air, 10 m of it a ± 50 % zone, a shut shoe: 16.18034 to 26.18034 m less 10 m are 16.18 and 26.18."""
    day = exact_day(hole={"zones": [{"top_m": 5.0, "bottom_m": 15.0, "kind": "loss"}]}, casing={"shoe": "closed"})
    window = due(day)
    assert window.low_m3 == pytest.approx((10 + 6.18034) * ANNULUS_M2, rel=1e-5)
    assert window.high_m3 == pytest.approx((10 + 16.18034) * ANNULUS_M2, rel=1e-5)


def test_the_chance_that_the_bags_suffice() -> None:
    """49 bags make 1,636.6 L. Less the line's 40 L and 50 m of certain rock, 1,342.385 L, they leave 254.2 L for the
    zone, 0.946878 of its theory. Its logarithm, -0.054585, over the zone's 0.375492 is -0.14537: 44.22 % lie below."""
    day = exact_day(hole={"zones": FRACTURE}, aboard={"bags": 49})
    assert fill(day).chance == pytest.approx(0.4422, abs=1e-3)
    day.batch(20)
    assert fill(day).chance == pytest.approx(0.4422, abs=1e-3), "mixed bags are as good as bags"
    day.record(ev.StockDelivered(bags=10))
    assert fill(day).chance > 0.8
    assert fill(exact_day(aboard={"bags": 49})).chance == 0.0
    assert fill(exact_day(aboard={"bags": 50})).chance == 1.0


def test_an_empty_tremie_stands_full_of_water_to_the_level_of_the_hole() -> None:
    """26.6 mm bore: 0.555716 L a metre. Down to 57 m from a level at ground 31.676 L of the line's 40 L are water, so
    that 8.324 L of air delay; from 20 m 20.561 L, and 19.439 L delay. Beside the tremie a metre holds 25.9715 L."""
    day = exact_day(hole={"water_level_m": 0.0}, line={"starts": "empty"})
    day.tremie(57.0)
    assert due(day).low_m3 == due(day).high_m3 == pytest.approx(0.008324, abs=1e-6)
    day.pump(0.030)
    assert fill(day).into_annulus_m3 == pytest.approx(0.030 - 0.008324, abs=1e-6)
    assert fill(day).out_m3 == 0.0
    day.record(ev.TremiePulled(sections=5))
    assert due(day).low_m3 == pytest.approx(0.008324, abs=1e-6), "its water went in when pumping began"
    lower = exact_day(line={"starts": "empty"}, casing={"shoe": "closed"})
    lower.tremie(57.0)
    assert due(lower).low_m3 == pytest.approx(20 * 0.0259715 + 0.019439, abs=1e-5)


def test_a_tag_above_a_zone_is_trusted_less() -> None:
    """The same tag, with a void below it: the rock above stays nearer to the plan."""
    plain, zoned = (
        grouting_day(),
        grouting_day(plan(hole={"zones": [{"top_m": 52.0, "bottom_m": 58.0, "kind": "void"}]})),
    )
    for day in (plain, zoned):
        day.pump(0.440)
        day.tag(50.0)
    theory_m3 = 50 * ANNULUS_M2
    assert 1.15 * theory_m3 < fill(zoned).needed_m3 < fill(plain).needed_m3


def test_what_was_worked_out_for_one_day_is_not_told_of_another() -> None:
    """What follows from entries alone is kept from heartbeat to heartbeat: of the same plan, and other entries."""
    shared = plan()
    first, second = grouting_day(shared), Day(shared)
    second.stage(bottom_m=30.0)
    alone = [fill(day) for day in (first, second)]
    assert alone[0].planned_high_m3 != alone[1].planned_high_m3
    for _ in range(2):
        assert [fill(day) for day in (first, second)] == alone
    second.record(ev.FluidLevelRead(where="hole", depth_m=2.0, typed="2 m"))
    assert fill(second).due != alone[1].due
