"""Known zones: nothing changes without them, by hand where one part varies, and against a sum drawn at random."""

import math
import random
from statistics import quantiles

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.engineering import placement
from tally.engineering.hole import PipeSpan, Profile, Segment
from tally.engineering.placement import Z_80, Factor, Uptake, Zone
from tally.engineering.tag import measured_factor

# pi/4 (0.25^2 - 0.168^2) = 0.0269203 m2: 2.69203 m3 in 100 m
RING = 0.0269203
STRAIGHT = Profile.compile([Segment(0, 100, 0.25, 0.25)], pipes=[PipeSpan(0, 100, 0.168)])
TAPERED = Profile.compile([Segment(0, 6, 0.35, 0.35), Segment(6, 60, 0.25, 0.27)], pipes=[PipeSpan(0, 58, 0.168)])
ROCK = Factor(1.15, 0.15)
depths = st.floats(0, 60)


def zone_of(pair: tuple[float, float], spread: float) -> Zone:
    return Zone(min(pair), max(pair) + 0.1, spread)


zones = st.lists(st.builds(zone_of, st.tuples(depths, depths), st.floats(0, 1.5)), max_size=4)


def tops(out_m3: float, factor: Factor, *known: Zone) -> placement.TopRange:
    return placement.top_range(
        profile=STRAIGHT, bottom_m=100, grout_out_m3=out_m3, factor=factor, meter_tolerance=0, zones=known
    )


@given(st.floats(0, 4), depths, zones)
def test_zones_without_spread_in_certain_rock_are_theory(out: float, bottom: float, known: list[Zone]) -> None:
    sure = [Zone(zone.top_m, zone.bottom_m, 0.0) for zone in known]
    found = placement.top_range(
        profile=TAPERED, bottom_m=bottom, grout_out_m3=out, factor=Factor(1.0), meter_tolerance=0, zones=sure
    )
    theory = TAPERED.top_of_fill_m(bottom, out)
    assert (found.low_m, found.likely_m, found.high_m) == (theory, theory, theory)


@given(st.floats(0, 3), st.lists(st.floats(60.1, 200), min_size=2, max_size=2, unique=True))
def test_zones_outside_the_stretch_change_nothing(out: float, pair: list[float]) -> None:
    common = {"profile": TAPERED, "bottom_m": 60.0, "grout_out_m3": out, "factor": ROCK, "meter_tolerance": 0.02}
    outside = [Zone(min(pair), max(pair), 0.5)]
    assert placement.top_range(**common, zones=outside) == placement.top_range(**common)  # type: ignore[arg-type]


def test_one_zone_in_certain_rock_by_hand() -> None:
    """Rock that takes its theory, a zone from 60 to 50 m with ± 50 %: its 10th and 90th are 1.618 and 0.618 of theory
    (sinh of 0.481212 is 0.5). 40 m of rock and the zone take 50 x 0.0269203 = 1.346015 m3."""
    zone = Zone(50, 60, 0.5)
    found = tops(50 * RING, Factor(1.0), zone)
    assert found.likely_m == pytest.approx(50.0, abs=1e-4)
    # lowest: 10 m of theory are left for the zone, which takes 1.618034 a metre: 6.18034 m of it
    assert found.low_m == pytest.approx(60 - 10 / 1.618034, abs=1e-4)
    # highest: the zone takes 6.18034, so that 3.81966 m rise above it
    assert found.high_m == pytest.approx(50 - 3.81966, abs=1e-4)


def test_deviations_add_in_squares() -> None:
    """100 m of ± 10 % rock, 20 m of it in a ± 40 % zone. At the high end rock adds e^(asinh 0.1) - 1 = 0.104988 of
    100 m, the zone e^(asinh 0.4) - 1 = 0.477033 of 20 m: the root of 10.4988^2 + 9.54066^2 is 14.1862 m."""
    takes = Uptake(STRAIGHT, bottom_m=100, factor=Factor(1.0, 0.1), zones=[Zone(40, 60, 0.4)])
    assert takes.volume_m3(0, 0.0) == pytest.approx(100 * RING, rel=1e-5)
    assert takes.volume_m3(0, Z_80) == pytest.approx(114.1862 * RING, rel=1e-5)
    # low end: 1 - e^-asinh: 0.0950124 of 100 m and 0.322967 of 20 m: the root is 11.4890 m
    assert takes.volume_m3(0, -Z_80) == pytest.approx(88.5110 * RING, rel=1e-5)


def test_below_the_zone_the_top_is_as_without_it() -> None:
    fresh, zoned = tops(30 * RING, ROCK), tops(30 * RING, ROCK, Zone(40, 60, 0.5))
    for name in ("low_m", "likely_m", "high_m"):
        assert getattr(zoned, name) == pytest.approx(getattr(fresh, name), abs=1e-9)
    beyond, zoned = tops(60 * RING, ROCK), tops(60 * RING, ROCK, Zone(60, 80, 0.5))
    assert zoned.low_m > beyond.low_m and zoned.high_m < beyond.high_m
    assert zoned.likely_m == pytest.approx(beyond.likely_m)


@given(st.floats(0.01, 3), st.floats(0.001, 0.5), zones, depths)
def test_the_top_is_the_inverse_of_the_volume(out: float, spread: float, known: list[Zone], bottom: float) -> None:
    takes = Uptake(TAPERED, bottom_m=bottom, factor=Factor(1.1, spread), zones=known)
    for deviate in (-Z_80, 0.0, Z_80):
        top_m = takes.top_m(out, deviate)
        assert 0 <= top_m <= bottom
        if top_m > 1e-9:
            assert takes.volume_m3(top_m, deviate) == pytest.approx(out, rel=1e-9)
        else:
            assert takes.volume_m3(0.0, deviate) <= out * (1 + 1e-9)


@given(st.floats(0.01, 3), st.floats(0.01, 3), zones)
def test_more_out_is_never_a_lower_top(out: float, more: float, known: list[Zone]) -> None:
    before, after = tops(out, ROCK, *known), tops(out + more, ROCK, *known)
    assert after.low_m <= before.low_m and after.likely_m <= before.likely_m and after.high_m <= before.high_m


@given(st.floats(0.01, 3), zones, zones)
def test_the_range_never_narrows_by_a_zone(out: float, known: list[Zone], more: list[Zone]) -> None:
    few, many = tops(out, ROCK, *known), tops(out, ROCK, *known, *more)
    assert many.low_m >= few.low_m - 1e-9 and many.high_m <= few.high_m + 1e-9
    assert many.likely_m == pytest.approx(few.likely_m, abs=1e-9)


def test_against_sums_drawn_at_random() -> None:
    """40,000 draws of rock x (stretch + each zone's own factor): within 2 % of the 10th, 50th and 90th of a hundred."""
    chance, known = random.Random(3), [Zone(10, 15, 1.0), Zone(40, 60, 0.3)]
    rock, own = ROCK.sigma, [zone.sigma for zone in known]
    drawn = sorted(
        1.15 * math.exp(chance.gauss(0, rock))
        * (75 + 5 * math.exp(chance.gauss(0, own[0])) + 20 * math.exp(chance.gauss(0, own[1]))) * RING
        for _ in range(40_000)
    )  # fmt: skip
    cuts = quantiles(drawn, n=10)
    found = placement.volume_range(profile=STRAIGHT, bottom_m=100, top_m=0, factor=ROCK, meter_tolerance=0, zones=known)
    assert [found.low_m3, found.likely_m3, found.high_m3] == pytest.approx([cuts[0], cuts[4], cuts[8]], rel=0.02)


@given(zones)
def test_the_high_need_suffices_nine_times_in_ten(known: list[Zone]) -> None:
    common = {"profile": STRAIGHT, "bottom_m": 100.0, "top_m": 0.0, "factor": ROCK, "meter_tolerance": 0.02}
    need = placement.still_needed_m3(**common, grout_out_m3=0.0, zones=known)  # type: ignore[arg-type]
    for volume, chance in ((need.low_m3, 0.1), (need.likely_m3, 0.5), (need.high_m3, 0.9)):
        found = placement.chance_of_enough(**common, grout_out_m3=0.0, aboard_m3=volume, zones=known)  # type: ignore[arg-type]
        assert found == pytest.approx(chance, abs=1e-6)


def test_a_tag_above_a_zone_says_less_of_the_rock() -> None:
    """20 m below the tag, 5 of them in a ± 100 % zone: a quarter of ± 100 % stands beside the ± 10 % resemblance."""
    theory = STRAIGHT.volume_m3(80, 100)
    common = {"profile": STRAIGHT, "bottom_m": 100.0, "tag_depth_m": 80.0, "out_m3": 1.3 * theory}
    plain = measured_factor(**common)  # type: ignore[arg-type]
    zoned = measured_factor(**common, zones=[Zone(85, 90, 1.0)])  # type: ignore[arg-type]
    assert zoned.median == plain.median
    assert zoned.sigma == pytest.approx(math.hypot(math.asinh(0.10), math.asinh(0.25)) / Z_80)


def test_the_air_above_the_water_may_hold_a_zone() -> None:
    """20 m of dry annulus, wholly in a ± 50 % zone: due from 0.618 to 1.618 of it."""
    found = placement.returns_window(
        profile=STRAIGHT, fluid_level_m=20, factor=Factor(1.0), meter_tolerance=0, ground_drinks=False,
        zones=[Zone(0, 20, 0.5)],
    )  # fmt: skip
    assert (found.low_m3, found.high_m3) == pytest.approx((20 * RING * 0.618034, 20 * RING * 1.618034), rel=1e-5)


def test_what_a_zone_refuses() -> None:
    with pytest.raises(ValueError, match=r"bottom_m = 4\.0: must be deeper than its top_m = 4\.0"):
        Zone(4.0, 4.0, 0.5)
    with pytest.raises(ValueError, match=r"spread = -0\.1: must be"):
        Zone(4.0, 5.0, -0.1)
    with pytest.raises(ValueError, match=r"deviate = 9\.0: must lie between"):
        Uptake(STRAIGHT, bottom_m=100, factor=ROCK).volume_m3(0, 9.0)


def test_a_chance_of_a_count() -> None:
    assert placement.chance_of_at_most(lambda deviate: 10 * math.exp(deviate), 10) == pytest.approx(0.5)
    # NIST/SEMATECH e-Handbook 1.3.6.7.1: 0.84134 of the standard normal lie below 1
    assert placement.chance_of_at_most(lambda deviate: 10 + deviate, 11) == pytest.approx(0.84134, abs=1e-5)
    assert placement.chance_of_at_most(lambda deviate: 5.0, 4.9) == 0.0
    assert placement.chance_of_at_most(lambda deviate: 5.0, 5.0) == 1.0


def test_a_thin_zone_counts_too() -> None:
    # one metre of 26.92 L with ± 100 %: its 90th is 1 + root 2 times its theory (sinh of 0.881374 is 1)
    takes = Uptake(STRAIGHT, bottom_m=100, factor=Factor(1.0), zones=[Zone(50, 51, 1.0)])
    assert takes.volume_m3(40, Z_80) == pytest.approx(60 * RING + RING * math.sqrt(2), rel=1e-5)


@pytest.mark.parametrize("deviate", [8.01, -8.01])
def test_no_deviate_lies_further_out_than_eight(deviate: float) -> None:
    takes = Uptake(STRAIGHT, bottom_m=100, factor=ROCK, zones=[])
    with pytest.raises(ValueError, match=r"deviate = .*between -8\.0 and 8\.0"):
        takes.volume_m3(40, deviate)
    with pytest.raises(ValueError, match=r"deviate = .*between -8\.0 and 8\.0"):
        takes.top_m(1.0, deviate)


def test_a_zone_begins_somewhere() -> None:
    with pytest.raises(ValueError, match=r"top_m = nan: must be a finite number"):
        Zone(math.nan, 5.0, 0.5)
