"""The hole by its log: frustums against elementary solids and numerical quadrature, and which profile is kept."""

import math
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from tally.engineering.hole import Profile
from tally.job import geometry
from tally.job.coding import encoded
from tally.job.hole import MOST_LOG_POINTS, Hole, HoleSection, LogPoint
from tally.record.line import MAX_LINE_BYTES, SEAL_BYTES
from tests.scenario import Day, plan

PIPE_M2 = math.pi / 4 * 0.168275**2
"""Outside of the test plan's casing."""


def points(*readings: tuple[float, float]) -> tuple[LogPoint, ...]:
    return tuple(LogPoint(depth_m=float(depth), diameter_m=width) for depth, width in readings)


def hole(log: tuple[LogPoint, ...], gap_m: float | None = None, bits: tuple[float, ...] = (0.250,)) -> Hole:
    """60 m in as many sections of one length as there are bits."""
    ends = [60.0 * number / len(bits) for number in range(len(bits) + 1)]
    sections = tuple(
        HoleSection(top_m=top, bottom_m=bottom, diameter_m=bit)
        for (top, bottom), bit in zip(pairwise(ends), bits, strict=True)
    )
    return Hole(sections=sections, water_level_m=20.0, log=log, log_gap_m=gap_m)


def by_hand(log: list[tuple[float, float]], **more: Any) -> Any:
    return plan(hole={"log": [{"depth_m": d, "diameter_m": w} for d, w in log], **more})


def width_m(of: Hole, depth_m: float) -> float:
    """By looking along the list, reading by reading."""
    for above, below in pairwise(of.log):
        step_m = below.depth_m - above.depth_m
        if above.depth_m <= depth_m <= below.depth_m and (of.log_gap_m is None or step_m <= of.log_gap_m):
            return above.diameter_m + (depth_m - above.depth_m) / step_m * (below.diameter_m - above.diameter_m)
    return next(part.diameter_m for part in of.sections if depth_m <= part.bottom_m)


def simpson_m3(of: Hole, top_m: float, bottom_m: float, parts: int = 200) -> float:
    """Simpson's rule between the places where the walls bend or step, finely divided."""
    bends = {top_m, bottom_m, *(p.depth_m for p in of.log), *(part.bottom_m for part in of.sections)}
    total_m3 = 0.0
    for a, b in pairwise(sorted(depth for depth in bends if top_m <= depth <= bottom_m)):
        h, eps = (b - a) / parts, (b - a) * 1e-9  # off the steps themselves
        areas = [math.pi / 4 * width_m(of, min(max(a + i * h, a + eps), b - eps)) ** 2 for i in range(parts + 1)]
        total_m3 += h / 3 * (areas[0] + 4 * sum(areas[1:-1:2]) + 2 * sum(areas[2:-1:2]) + areas[-1])
    return total_m3


@st.composite
def logged_holes(draw: st.DrawFn) -> Hole:
    """Up to a dozen readings anywhere in 60 m, of two or three bits, with or without a limit for gaps."""
    millimetres = draw(st.lists(st.integers(0, 60_000), min_size=2, max_size=12, unique=True))
    widths = draw(st.lists(st.floats(0.18, 0.6), min_size=len(millimetres), max_size=len(millimetres)))
    bits = draw(st.sampled_from([(0.25,), (0.4, 0.25), (0.4, 0.3, 0.2)]))
    gap_m = draw(st.one_of(st.none(), st.floats(0.5, 30.0)))
    return hole(points(*((mm / 1000, w) for mm, w in zip(sorted(millimetres), widths, strict=True))), gap_m, bits)


def test_a_cone_between_two_readings_by_hand() -> None:
    # h pi/12 (a2 + ab + b2) = 10 pi/12 (0.09 + 0.12 + 0.16) = 0.96866; above and below it 250 mm: 50 x 0.0490874
    profile = geometry.open_hole(hole(points((20, 0.3), (30, 0.4))))
    assert profile.volume_m3(20, 30) == pytest.approx(0.968658, abs=5e-7)
    assert profile.volume_m3(0, 60) == pytest.approx(0.968658 + 50 * 0.0490874, abs=5e-6)
    assert profile.hole_diameter_m(25) == pytest.approx(0.35)


def test_in_a_gap_the_bit_of_each_section_stands_in() -> None:
    # readings 10, 20 | 40, 50: between 20 and 40 the 400 mm bit to 30 m, then 250 mm
    profile = geometry.open_hole(hole(points((10, 0.5), (20, 0.5), (40, 0.3), (50, 0.3)), 10.0, (0.4, 0.25)))
    assert profile.volume_m3(20, 40) == pytest.approx(math.pi / 4 * (10 * 0.4**2 + 10 * 0.25**2))
    assert profile.volume_m3(10, 20) == pytest.approx(math.pi / 4 * 10 * 0.5**2)
    assert [profile.hole_diameter_m(d) for d in (5, 15, 25, 35, 45, 55)] == pytest.approx(
        [0.4, 0.5, 0.4, 0.25, 0.3, 0.25]
    )


@given(logged_holes(), st.floats(0, 60), st.floats(0, 60))
@settings(max_examples=60)
def test_volumes_are_the_integral_of_the_walls(of: Hole, one: float, other: float) -> None:
    top_m, bottom_m = sorted((one, other))
    got = geometry.open_hole(of).volume_m3(top_m, bottom_m)
    assert got == pytest.approx(simpson_m3(of, top_m, bottom_m), rel=1e-6, abs=1e-9)


@given(logged_holes(), st.lists(st.floats(0, 60), min_size=3, max_size=3))
def test_volumes_add_up_and_never_shrink(of: Hole, depths: list[float]) -> None:
    profile = geometry.open_hole(of)
    a, b, c = sorted(depths)
    assert profile.volume_m3(a, b) + profile.volume_m3(b, c) == pytest.approx(profile.volume_m3(a, c), abs=1e-10)
    assert profile.volume_m3(a, b) <= profile.volume_m3(a, c) + 1e-12


@given(logged_holes(), st.floats(0, 60), st.floats(0, 1))
def test_the_depth_for_a_volume_is_the_inverse(of: Hole, bottom_m: float, share: float) -> None:
    profile = geometry.open_hole(of)
    volume_m3 = share * profile.volume_m3(0.0, bottom_m)
    top_m = profile.top_of_fill_m(bottom_m, volume_m3)
    assert profile.volume_m3(top_m, bottom_m) == pytest.approx(volume_m3, abs=1e-9)


def test_beside_the_casing_its_outside_is_taken_off() -> None:
    day = Day(by_hand([(0.0, 0.3), (60.0, 0.3)]))
    assert geometry.bare_annulus(day.state).volume_m3(0, 60) == pytest.approx(60 * (math.pi / 4 * 0.09 - PIPE_M2))


def test_two_plans_of_the_same_width_are_never_taken_for_each_other() -> None:
    # made and dropped in turn, so that one takes the other's place in memory
    for number in range(200):
        width_m_ = 0.3 + number * 1e-4
        profile = geometry.open_hole(hole(points((0, width_m_), (60, width_m_))))
        assert profile.volume_m3(0, 60) == pytest.approx(60 * math.pi / 4 * width_m_**2)


def test_a_profile_is_compiled_once_for_a_hole_and_a_tremie_position() -> None:
    day = Day(by_hand([(0.0, 0.3), (60.0, 0.3)]))
    day.joints()
    day.landed()
    day.tremie(57.0)
    first = geometry.annulus(day.state)
    day.beats(3)
    assert geometry.annulus(day.state) is first
    day.tremie(54.0)
    assert geometry.annulus(day.state) is not first


def test_a_tremie_that_does_not_fit_is_found_so_once(monkeypatch: pytest.MonkeyPatch) -> None:
    # 168.3 + 33.4 = 201.7 mm: one reading of 195 mm does not let both by
    day = Day(by_hand([(0.0, 0.3), (30.0, 0.195), (60.0, 0.3)]))
    day.tremie(57.0)
    bare = geometry.bare_annulus(day.state)
    assert geometry.annulus(day.state) is bare

    def compiled_again(*_: object, **__: object) -> Profile:
        raise AssertionError("the same hole was worked out a second time")

    monkeypatch.setattr(Profile, "compile", compiled_again)
    assert geometry.annulus(day.state) is bare


def test_casing_that_is_landed_deeper_than_the_log_lets_it_stands_on_the_ledge() -> None:
    # as planned to 40 m; the log narrows from 300 mm at 44 m to 150 mm at 48 m
    narrow = [(10.0, 0.3), (44.0, 0.3), (48.0, 0.15), (60.0, 0.15)]
    log = [{"depth_m": depth_m, "diameter_m": width} for depth_m, width in narrow]
    day = Day(plan(hole={"log": log}, casing={"target_shoe_depth_m": 40.0}))
    day.joints()
    day.landed()
    assert geometry.shoe_m(day.state) == 44.0
    assert geometry.bare_annulus(day.state).bottom_m == 60.0


@pytest.mark.parametrize(
    ("log", "words"),
    [
        ([(10.0, 0.3), (10.0, 0.3)], "10.0 m does not lie below its 10.0 m"),
        ([(10.0, 0.3), (9.0, 0.3)], "9.0 m does not lie below its 10.0 m"),
        ([(10.0, 0.3), (60.1, 0.3)], "below the bottom at 60.0 m"),
        ([(10.0, 0.3), (20.0, 0.168), (30.0, 0.3)], "does not fit the hole as logged at 20 m"),
        ([(10.0, 0.0)], "greater than 0"),
    ],
)
def test_a_session_with_an_impossible_log_is_refused(log: list[tuple[float, float]], words: str) -> None:
    with pytest.raises(ValidationError, match=words.replace(".", r"\.")):
        by_hand(log)


@given(st.lists(st.tuples(st.integers(0, 600), st.floats(0.1, 0.5)), min_size=2, max_size=9, unique_by=lambda p: p[0]))
def test_a_log_that_is_accepted_lets_the_casing_by(readings: list[tuple[int, float]]) -> None:
    log = [(tenths / 10, width) for tenths, width in sorted(readings)]
    try:
        accepted = by_hand(log, log_gap_m=20.0)
    except ValidationError as refused:
        assert "does not fit the hole as logged" in str(refused)
        with pytest.raises(ValueError, match="must be less than the hole's"):
            geometry._annulus(hole(points(*log), 20.0), 0.168275, 60.0)
        return
    assert geometry.planned_annulus(accepted).bottom_m == 60.0


def test_the_longest_log_fits_one_line_of_a_session() -> None:
    log = [(round(at * 0.002999, 6), 0.310001 + at % 7 * 1e-6) for at in range(MOST_LOG_POINTS)]
    day = Day(by_hand(log, log_tight=[{"depth_m": 1.234567, "diameter_m": 0.1}] * 20, log_notes=["x" * 200] * 50))
    assert len(encoded(day.entries[0])) + SEAL_BYTES < MAX_LINE_BYTES
