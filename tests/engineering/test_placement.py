"""Placement: zero spread is theory, the spread is a central 80 %, tags narrow it, windows by hand."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.engineering import placement, tag
from tally.engineering.hole import PipeSpan, Profile, Segment
from tally.engineering.pipe import circle_area_m2, ring_area_m2
from tally.engineering.placement import Factor

PROFILE = Profile.compile([Segment(0, 6, 0.35, 0.35), Segment(6, 60, 0.25, 0.27)], pipes=[PipeSpan(0, 58, 0.168)])
RING = ring_area_m2(outer_diameter_m=0.25, bore_m=0.168)
STRAIGHT = Profile.compile([Segment(0, 100, 0.25, 0.25)], pipes=[PipeSpan(0, 100, 0.168)])
EXACT = Factor(1.0)
medians, spreads = st.floats(0.7, 2.0), st.floats(0.001, 0.6)


def test_the_deviate_is_that_of_the_central_eighty_percent() -> None:
    # NIST/SEMATECH e-Handbook 1.3.6.7.1: the 0.90 quantile of the standard normal is 1.2816
    assert pytest.approx(1.2816, abs=5e-5) == placement.Z_80


@given(medians, spreads)
def test_a_factor_is_positive_and_its_spread_half_its_range(median: float, spread: float) -> None:
    factor = Factor(median, spread)
    assert 0 < factor.low < factor.likely < factor.high
    assert (factor.high - factor.low) / 2 == pytest.approx(spread)
    assert factor.low * factor.high == pytest.approx(median**2)
    assert Factor.of_sigma(median, factor.sigma).spread == pytest.approx(spread)


def test_no_spread_is_exactly_the_median() -> None:
    factor = Factor(1.15)
    assert factor.low == factor.likely == factor.high == 1.15
    assert placement.combined(factor, 0.0) == factor


@given(st.floats(0, 4), st.floats(0, 60))
def test_zero_spread_is_theory(out: float, bottom: float) -> None:
    found = placement.top_range(profile=PROFILE, bottom_m=bottom, grout_out_m3=out, factor=EXACT, meter_tolerance=0)
    theory = PROFILE.top_of_fill_m(bottom, out)
    assert (found.low_m, found.likely_m, found.high_m) == (theory, theory, theory)
    tagged = tag.top_range_after_tag(
        profile=PROFILE,
        bottom_m=60,
        tag_depth_m=bottom,
        out_at_tag_m3=1.0,
        grout_out_m3=1.0 + out,
        prior=EXACT,
        meter_tolerance=0,
    )
    assert tagged.low_m == tagged.likely_m == tagged.high_m == pytest.approx(theory, abs=1e-9)


@given(st.floats(0.01, 4), medians, spreads, st.floats(0, 0.2))
def test_the_lowest_top_is_the_deepest(out: float, median: float, spread: float, meter: float) -> None:
    found = placement.top_range(
        profile=PROFILE, bottom_m=60, grout_out_m3=out, factor=Factor(median, spread), meter_tolerance=meter
    )
    assert found.low_m >= found.likely_m >= found.high_m


def test_top_by_hand() -> None:
    # straight annulus, factor 1.2: 1.2 m3 out fill 1.0 m3 of theory, 1/RING metres up
    found = placement.top_range(profile=STRAIGHT, bottom_m=100, grout_out_m3=1.2, factor=Factor(1.2), meter_tolerance=0)
    assert found.likely_m == pytest.approx(100 - 1.0 / RING)


@given(medians, spreads, st.floats(0, 0.3))
def test_a_meter_widens_what_the_hole_leaves_open(median: float, spread: float, meter: float) -> None:
    factor = Factor(median, spread)
    both = placement.combined(factor, meter)
    assert both.median == median
    assert both.spread >= spread * (1 - 1e-12)
    assert both.sigma**2 == pytest.approx(factor.sigma**2 + Factor(1.0, meter).sigma ** 2)


@given(medians, spreads, medians, spreads)
def test_a_blend_lies_between_and_is_surer_than_either(m1: float, s1: float, m2: float, s2: float) -> None:
    one, other = Factor(m1, s1), Factor(m2, s2)
    both = placement.blended(one, other)
    assert min(m1, m2) * (1 - 1e-9) <= both.median <= max(m1, m2) * (1 + 1e-9)
    assert both.sigma <= min(one.sigma, other.sigma) * (1 + 1e-9)
    assert placement.blended(other, one).median == pytest.approx(both.median)


def test_equally_sure_estimates_meet_at_their_geometric_mean() -> None:
    # by hand: medians 1 and 1.44 of equal relative spread meet at 1.2, with the deviation over the square root of two
    one, other = Factor(1.0, 0.1), Factor(1.44, 0.144)
    both = placement.blended(one, other)
    assert both.median == pytest.approx(1.2)
    assert both.sigma == pytest.approx(one.sigma / math.sqrt(2))


def test_certain_estimates_stand_alone_and_may_not_differ() -> None:
    assert placement.blended(Factor(1.2, 0.1), Factor(1.3)) == Factor(1.3)
    assert placement.blended(Factor(1.3), Factor(1.2, 0.1)) == Factor(1.3)
    with pytest.raises(ValueError, match=r"measured = 1\.2: contradicts prior = 1\.3"):
        placement.blended(Factor(1.3), Factor(1.2))


def test_a_tag_measures_the_hole_below_it() -> None:
    # 1.3 times theory went out to reach 80 m
    theory = STRAIGHT.volume_m3(80, 100)
    found = tag.measured_factor(profile=STRAIGHT, bottom_m=100, tag_depth_m=80, out_m3=1.3 * theory)
    assert found.median == pytest.approx(1.3)
    assert found.spread == pytest.approx(0.13)
    with pytest.raises(ValueError, match=r"tag_depth_m = 100: must be above bottom_m = 100"):
        tag.measured_factor(profile=STRAIGHT, bottom_m=100, tag_depth_m=100, out_m3=1.0)


def after_tag(project: bool, grout_out: float = 1.0) -> placement.TopRange:
    theory = STRAIGHT.volume_m3(80, 100)
    return tag.top_range_after_tag(
        profile=STRAIGHT,
        bottom_m=100,
        tag_depth_m=80,
        out_at_tag_m3=1.5 * theory,
        grout_out_m3=1.5 * theory + grout_out,
        prior=Factor(1.1, 0.15),
        meter_tolerance=0.02,
        project=project,
    )


def test_a_tag_moves_and_narrows_the_forecast_above_it() -> None:
    tagged, fresh = after_tag(True), after_tag(False)
    assert tagged.low_m - tagged.high_m < fresh.low_m - fresh.high_m
    # the rock below swallowed 1.5 times theory, so the rock above is likely to take more than the plan says
    assert tagged.likely_m > fresh.likely_m


def test_a_fracture_is_not_projected_upward() -> None:
    fresh = after_tag(False)
    as_planned = placement.top_range(
        profile=STRAIGHT, bottom_m=80, grout_out_m3=1.0, factor=Factor(1.1, 0.15), meter_tolerance=0.02
    )
    for name in ("low_m", "likely_m", "high_m"):
        assert getattr(fresh, name) == pytest.approx(getattr(as_planned, name))


def test_nothing_pumped_since_the_tag_stands_at_the_tag() -> None:
    found = after_tag(True, grout_out=0.0)
    assert (found.low_m, found.likely_m, found.high_m) == (80, 80, 80)
    with pytest.raises(ValueError, match="must be no less than out_at_tag_m3"):
        after_tag(True, grout_out=-0.1)


@pytest.mark.parametrize(
    ("pumped", "starts", "out", "into"),
    [
        (0.03, "water", 0.0, 0.03),
        (0.03, "empty", 0.0, 0.0),
        (0.25, "water", 0.20, 0.25),
        (0.25, "empty", 0.20, 0.20),
    ],
)
def test_line_fill_by_hand(pumped: float, starts: str, out: float, into: float) -> None:
    line = {"pumped_m3": pumped, "line_m3": 0.05, "line_starts": starts}
    assert placement.out_of_tremie_m3(**line) == pytest.approx(out)  # type: ignore[arg-type]
    assert placement.into_annulus_m3(**line) == pytest.approx(into)  # type: ignore[arg-type]


def test_an_empty_tremie_hanging_in_water_delays_by_its_air_only() -> None:
    into = placement.into_annulus_m3(pumped_m3=0.25, line_m3=0.05, line_starts="empty", standing_water_m3=0.04)
    assert into == pytest.approx(0.24)
    with pytest.raises(ValueError, match=r"standing_water_m3 = 0\.06: must lie between"):
        placement.into_annulus_m3(pumped_m3=1, line_m3=0.05, line_starts="empty", standing_water_m3=0.06)
    with pytest.raises(ValueError, match="line_starts = 'full': must be one of water, empty"):
        placement.out_of_tremie_m3(pumped_m3=1, line_m3=0.05, line_starts="full")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"line_m3": -0.01}, r"line_m3 = -0\.01: must be 0 or more"),
        ({"line_starts": "full"}, "line_starts = 'full': must be one of water, empty"),
    ],
)
def test_what_is_no_line_is_refused_by_its_own_name(change: dict[str, Any], words: str) -> None:
    line: dict[str, Any] = {"pumped_m3": 1.0, "line_m3": 0.05, "line_starts": "empty"}
    for function in (placement.into_annulus_m3, placement.out_of_tremie_m3):
        with pytest.raises(ValueError, match=f"^{words}"):
            function(**(line | change))


def test_grout_that_came_back_into_the_tremie_is_refused_by_its_name() -> None:
    with pytest.raises(ValueError, match=r"^grout_out_m3 = -0\.1: must be 0 or more"):
        placement.top_range(profile=STRAIGHT, bottom_m=100, grout_out_m3=-0.1, factor=EXACT, meter_tolerance=0)


def test_a_bore_that_holds_less_than_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^bore_area_m2 = -0\.001: must be 0 or more"):
        window(20.0, bore_area_m2=-0.001)


def window(level: float, **change: object) -> placement.ReturnsWindow:
    arguments = {
        "profile": STRAIGHT,
        "fluid_level_m": level,
        "factor": Factor(1.0),
        "meter_tolerance": 0.0,
        "ground_drinks": False,
    }
    return placement.returns_window(**(arguments | change))  # type: ignore[arg-type]


def test_returns_are_due_at_once_from_a_hole_that_stands_full() -> None:
    assert window(0.0) == placement.ReturnsWindow(0.0, 0.0)
    assert window(-0.4) == placement.ReturnsWindow(0.0, 0.0)


def test_the_air_must_fill_first() -> None:
    # by hand: 20 m of air in an annulus of pi/4 (0.25^2 - 0.168^2) = 0.026920 m2: 0.5384 m3
    found = window(20.0)
    assert found.low_m3 == pytest.approx(0.5384, abs=5e-5)
    assert found.high_m3 == pytest.approx(0.5384, abs=5e-5)


def test_an_open_shoe_fills_the_bore_as_well() -> None:
    bore = circle_area_m2(0.154)
    assert window(20.0, bore_area_m2=bore).low_m3 == pytest.approx((RING + bore) * 20)


def test_ground_that_drinks_may_want_the_whole_annulus() -> None:
    found = window(20.0, ground_drinks=True)
    assert found.low_m3 == pytest.approx(RING * 20)
    assert found.high_m3 == pytest.approx(RING * 100)
    assert window(20.0, ground_drinks=True, bottom_m=60.0).high_m3 == pytest.approx(RING * 60)


def test_a_level_below_the_stage_leaves_all_of_it_dry() -> None:
    assert window(70.0, bottom_m=60.0).high_m3 == pytest.approx(RING * 60)


@given(st.floats(0, 100), medians, spreads, st.floats(0, 0.2), st.booleans())
def test_the_window_opens_before_it_closes(level: float, m: float, s: float, meter: float, drinks: bool) -> None:
    found = window(level, factor=Factor(m, s), meter_tolerance=meter, ground_drinks=drinks, bore_area_m2=0.01)
    assert 0 <= found.low_m3 <= found.high_m3


def test_still_needed_by_hand() -> None:
    whole = STRAIGHT.volume_m3(0, 100)
    found = placement.still_needed_m3(
        profile=STRAIGHT, bottom_m=100, top_m=0, grout_out_m3=1.0, factor=Factor(1.15, 0.15), meter_tolerance=0
    )
    assert found.likely_m3 == pytest.approx(1.15 * whole - 1.0)
    assert found.high_m3 - found.low_m3 == pytest.approx(0.30 * whole)
    done = placement.still_needed_m3(
        profile=STRAIGHT, bottom_m=100, top_m=0, grout_out_m3=9.0, factor=Factor(1.15, 0.15), meter_tolerance=0
    )
    assert (done.low_m3, done.likely_m3, done.high_m3) == (0, 0, 0)


@given(medians, spreads, st.floats(0, 0.2))
def test_the_high_need_suffices_nine_times_in_ten(median: float, spread: float, meter: float) -> None:
    factor = Factor(median, spread)
    common = {"profile": STRAIGHT, "bottom_m": 100.0, "top_m": 0.0, "factor": factor, "meter_tolerance": meter}
    need = placement.still_needed_m3(grout_out_m3=0.0, **common)  # type: ignore[arg-type]
    for volume, chance in ((need.low_m3, 0.1), (need.likely_m3, 0.5), (need.high_m3, 0.9)):
        found = placement.chance_of_enough(grout_out_m3=0.0, aboard_m3=volume, **common)  # type: ignore[arg-type]
        assert found == pytest.approx(chance, abs=1e-6)


def test_chances_at_the_ends() -> None:
    common = {"profile": STRAIGHT, "bottom_m": 100.0, "factor": Factor(1.15, 0.15), "meter_tolerance": 0.0}
    nothing = placement.chance_of_enough(top_m=0.0, grout_out_m3=0, aboard_m3=0, **common)  # type: ignore[arg-type]
    no_need = placement.chance_of_enough(top_m=100.0, grout_out_m3=0, aboard_m3=0, **common)  # type: ignore[arg-type]
    assert (nothing, no_need) == (0.0, 1.0)
    sure = common | {"factor": EXACT, "top_m": 0.0, "grout_out_m3": 0.0}
    whole = STRAIGHT.volume_m3(0, 100)
    assert placement.chance_of_enough(aboard_m3=whole, **sure) == 1.0  # type: ignore[arg-type]
    assert placement.chance_of_enough(aboard_m3=whole * 0.999, **sure) == 0.0  # type: ignore[arg-type]


def test_tremie_by_hand() -> None:
    # tip at 50 m, lowest top 38 m: 12 m of cover, 10.5 m of it to spare over 1.5 m: three sections of 3.05 m
    assert placement.tremie_cover_m(tip_depth_m=50, lowest_top_m=38) == 12
    sections = [3.05] * 16
    pull = placement.sections_that_may_be_pulled(section_lengths_m=sections, tip_depth_m=50, lowest_top_m=38)
    assert pull == 3
    none = placement.sections_that_may_be_pulled(section_lengths_m=sections, tip_depth_m=39, lowest_top_m=38)
    assert none == 0
    exact = placement.sections_that_may_be_pulled(
        section_lengths_m=[3.0, 3.0, 3.0], tip_depth_m=50, lowest_top_m=42.5, minimum_cover_m=1.5
    )
    assert exact == 2


def test_pulled_pipe_lets_the_top_fall_by_its_metal() -> None:
    # by hand: 0.02 m3 of metal out of an annulus of 0.026920 m2: 0.743 m
    top = placement.top_after_pulling_m(profile_without=STRAIGHT, top_m=40, metal_m3=0.02)
    assert top - 40 == pytest.approx(0.743, abs=0.0005)
    with pytest.raises(ValueError, match=r"metal_m3 = 9: must be no more than the hole holds"):
        placement.top_after_pulling_m(profile_without=STRAIGHT, top_m=40, metal_m3=9)


def test_time_to_surface_by_hand() -> None:
    assert placement.time_to_pump_s(volume_m3=0.9, flow_m3_s=0.0005) == pytest.approx(1800)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_a_factor_is_never_zero(bad: float) -> None:
    with pytest.raises(ValueError, match=r"median = .*: must be"):
        Factor(bad)


def test_a_tag_at_the_bottom_measures_nothing_and_leaves_the_prior() -> None:
    found = tag.top_range_after_tag(
        profile=STRAIGHT,
        bottom_m=100,
        tag_depth_m=100,
        out_at_tag_m3=0.5,
        grout_out_m3=1.5,
        prior=Factor(1.15, 0.15),
        meter_tolerance=0.02,
    )
    fresh = placement.top_range(
        profile=STRAIGHT, bottom_m=100, grout_out_m3=1.0, factor=Factor(1.15, 0.15), meter_tolerance=0.02
    )
    assert found == fresh


def test_the_bore_counts_from_the_top_of_the_profile() -> None:
    below = Profile.compile([Segment(5, 40, 0.25, 0.25)], pipes=[PipeSpan(0, 40, 0.168)])
    found = window(20.0, profile=below, bore_area_m2=0.01)
    assert found.low_m3 == pytest.approx((RING + 0.01) * 15)
