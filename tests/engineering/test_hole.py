"""The hole: volumes against numerical quadrature and elementary solids; depth for volume as their inverse."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tally.engineering.hole import PipeSpan, Profile, Segment, Walls

diameters = st.floats(0.15, 0.9)
lengths = st.floats(0.02, 80.0)


@st.composite
def profiles(draw: st.DrawFn) -> Profile:
    """Holes of one to eight frustums from ground level or below a stick-up, with up to two pipes."""
    top = draw(st.sampled_from([0.0, 1.5]))
    segments, depth = [], top
    for length in draw(st.lists(lengths, min_size=1, max_size=8)):
        upper = draw(diameters)
        lower = draw(st.one_of(st.just(upper), diameters))
        segments.append(Segment(depth, depth + length, upper, lower))
        depth += length
    pipes = []
    for outer in draw(st.lists(st.sampled_from([0.02, 0.06, 0.075]), max_size=2)):
        end = top + draw(st.floats(0.05, 1.0)) * (depth - top)
        pipes.append(PipeSpan(top - 1.0, end, outer))
    return Profile.compile(segments, pipes=pipes)


def quadrature_m3(profile: Profile, top_m: float, bottom_m: float) -> float:
    """Simpson's rule on the capacity between splits: exact for a parabola, which a frustum's area is."""
    cuts = sorted({top_m, bottom_m, *(s.top_m for s in profile.segments if top_m < s.top_m < bottom_m)})
    total = 0.0
    for a, b in pairwise(cuts):
        inset = (b - a) * 1e-9  # keep off the steps, where capacity is that of the part below
        ends = profile.capacity_m3_m(a) + profile.capacity_m3_m(b - inset)
        total += (b - a) / 6.0 * (ends + 4.0 * profile.capacity_m3_m((a + b) / 2.0))
    return total


@given(profiles(), st.floats(0, 1), st.floats(0, 1))
def test_volume_is_the_integral_of_capacity(profile: Profile, one: float, other: float) -> None:
    span = profile.bottom_m - profile.top_m
    a, b = sorted((profile.top_m + one * span, profile.top_m + other * span))
    a, b = max(a, profile.top_m), min(b, profile.bottom_m)
    assert profile.volume_m3(a, b) == pytest.approx(quadrature_m3(profile, a, b), rel=1e-7, abs=1e-9)


@given(profiles(), st.floats(0, 1), st.floats(0, 1), st.floats(0, 1))
def test_volume_adds_up(profile: Profile, x: float, y: float, z: float) -> None:
    span = profile.bottom_m - profile.top_m
    a, b, c = (min(profile.bottom_m, profile.top_m + share * span) for share in sorted((x, y, z)))
    parts = profile.volume_m3(a, b) + profile.volume_m3(b, c)
    assert parts == pytest.approx(profile.volume_m3(a, c), rel=1e-9, abs=1e-12)
    assert profile.volume_m3(a, c) >= profile.volume_m3(a, b) - 1e-15
    assert profile.volume_m3(b, b) == 0.0


@settings(max_examples=300)
@given(profiles(), st.floats(0, 1), st.floats(0, 1))
def test_depth_for_a_volume_inverts_volume_for_a_depth(profile: Profile, x: float, share: float) -> None:
    bottom = min(profile.bottom_m, profile.top_m + x * (profile.bottom_m - profile.top_m))
    volume = share * profile.volume_m3(profile.top_m, bottom)
    top = profile.top_of_fill_m(bottom, volume)
    assert profile.top_m <= top <= bottom
    assert profile.volume_m3(top, bottom) == pytest.approx(volume, rel=1e-9, abs=1e-12)


@given(profiles(), st.lists(st.floats(0, 1.3), min_size=2, max_size=6))
def test_more_volume_never_stands_lower(profile: Profile, shares: list[float]) -> None:
    whole = profile.volume_m3(profile.top_m, profile.bottom_m)
    tops = [profile.top_of_fill_m(profile.bottom_m, share * whole) for share in sorted(shares)]
    assert tops == sorted(tops, reverse=True)


@given(profiles())
def test_an_empty_and_an_overfull_annulus(profile: Profile) -> None:
    assert profile.top_of_fill_m(profile.bottom_m, 0.0) == profile.bottom_m
    whole = profile.volume_m3(profile.top_m, profile.bottom_m)
    assert profile.top_of_fill_m(profile.bottom_m, whole * 1.01 + 1e-6) == profile.top_m


def test_a_cone_holds_a_third_of_its_cylinder() -> None:
    # Euclid, Elements XII.10; the apex is 1 mm wide, worth less than a millionth of a share here
    cone = Profile.compile([Segment(0, 3.0, 1.0, 1e-3)])
    assert cone.volume_m3(0, 3.0) == pytest.approx(math.pi / 4 * 3.0 / 3.0, rel=0.0011)


def test_a_frustum_by_its_textbook_formula() -> None:
    # V = pi h (R2 + R r + r2)/3, with R = 0.2, r = 0.1, h = 6: pi x 6 x 0.07/3 = 0.439823 m3
    frustum = Profile.compile([Segment(10, 16, 0.4, 0.2)])
    assert frustum.volume_m3(10, 16) == pytest.approx(0.439823, abs=5e-7)


def test_a_nearly_straight_taper_loses_no_digits() -> None:
    straight = Profile.compile([Segment(0, 50, 0.25, 0.25)])
    tapered = Profile.compile([Segment(0, 50, 0.25, 0.25 * (1 + 1e-14))])
    assert tapered.top_of_fill_m(50, 1.0) == pytest.approx(straight.top_of_fill_m(50, 1.0), rel=1e-12)


def test_open_hole_under_the_pipe_counts_at_full_bore() -> None:
    # by hand: ring of 0.2 and 0.1 m is 0.0235619 m2 over 10 m; full circle is 0.0314159 m2 over 2 m
    profile = Profile.compile([Segment(0, 12, 0.2, 0.2)], pipes=[PipeSpan(-0.5, 10, 0.1)])
    assert profile.volume_m3(0, 12) == pytest.approx(0.235619 + 0.0628319, abs=1e-6)
    assert profile.capacity_m3_m(9.99) == pytest.approx(0.0235619, abs=1e-7)
    assert profile.capacity_m3_m(10.0) == pytest.approx(0.0314159, abs=1e-7)
    assert profile.hole_diameter_m(5.0) == pytest.approx(0.2)
    assert [(s.top_m, s.bottom_m) for s in profile.segments] == [(0, 10), (10, 12)]


def test_two_pipes_side_by_side_take_both_their_areas() -> None:
    # by hand: 0.3 m hole, 0.168 m casing and 0.06 m tremie: pi/4 (0.09 - 0.028224 - 0.0036) = 0.045691 m2
    profile = Profile.compile([Segment(0, 9, 0.3, 0.3)], pipes=[PipeSpan(0, 9, 0.168), PipeSpan(0, 9, 0.06)])
    assert profile.capacity_m3_m(4) == pytest.approx(0.045691, abs=5e-7)


def test_a_step_is_no_taper() -> None:
    profile = Profile.compile([Segment(0, 10, 0.3, 0.3), Segment(10, 20, 0.2, 0.2)])
    assert profile.volume_m3(0, 20) == pytest.approx(math.pi / 4 * (0.09 + 0.04) * 10)
    assert profile.capacity_m3_m(10) == pytest.approx(math.pi / 4 * 0.04)


def test_a_hair_of_rounding_between_segments_is_joined() -> None:
    profile = Profile.compile([Segment(0, 10, 0.3, 0.3), Segment(10.0000005, 20, 0.2, 0.2)])
    assert profile.segments[1].top_m == 10
    assert profile.bottom_m == 20


@pytest.mark.parametrize(
    ("segments", "pipes", "words"),
    [
        ([], [], "at least one segment"),
        ([Segment(0, 10, 0.3, 0.3), Segment(11, 20, 0.3, 0.3)], [], r"segments\[1\]\.top_m = 11: leaves a gap.*10"),
        ([Segment(0, 10, 0.3, 0.3), Segment(9, 20, 0.3, 0.3)], [], r"segments\[1\]\.top_m = 9: overlaps.*10"),
        ([Segment(5, 5, 0.3, 0.3)], [], r"bottom_m = 5: must be deeper"),
        ([Segment(0, 5, 0.0, 0.3)], [], r"top_diameter_m = 0\.0: must be more than 0"),
        ([Segment(0, 5, 0.3, -0.3)], [], r"bottom_diameter_m = -0\.3: must be more than 0"),
        ([Segment(0, math.nan, 0.3, 0.3)], [], r"bottom_m = nan: must be a finite number"),
        ([Segment(math.nan, 5, 0.3, 0.3)], [], r"top_m = nan: must be a finite number"),
        # narrow only where a part begins, and only where one ends
        (
            [Segment(0, 10, 0.3, 0.3), Segment(10, 20, 0.1, 0.3), Segment(20, 30, 0.3, 0.3)],
            [PipeSpan(0, 30, 0.15)],
            r"0\.15: must be less than the hole's 0\.1 at depth 10 m",
        ),
        (
            [Segment(0, 10, 0.3, 0.3), Segment(10, 20, 0.3, 0.1), Segment(20, 30, 0.3, 0.3)],
            [PipeSpan(0, 30, 0.15)],
            r"0\.15: must be less than the hole's 0\.1 at depth 20 m",
        ),
        ([Segment(0, 30, 0.3, 0.3)], [PipeSpan(0, 10, 0.3)], r"0\.3: must be less than the hole's 0\.3"),
        ([Segment(0, 30, 0.3, 0.1)], [PipeSpan(0, 30, 0.15)], r"0\.15: must be less than the hole's 0\.1 at depth 30"),
        ([Segment(0, 30, 0.3, 0.3)], [PipeSpan(0, 30, 0.2), PipeSpan(0, 20, 0.11)], r"0\.2 and 0\.11: do not fit"),
        ([Segment(0, 30, 0.3, 0.3)], [PipeSpan(0, 30, 0.15)] * 4, r"fill the whole of the hole's 0\.3"),
        ([Segment(0, 30, 0.3, 0.3)], [PipeSpan(9, 3, 0.1)], r"pipes\[0\]\.bottom_m = 3: must be deeper"),
        ([Segment(0, 30, 0.3, 0.3)], [PipeSpan(0, 3, 0.0)], r"outer_diameter_m = 0\.0: must be more than 0"),
    ],
)
def test_what_cannot_be_a_hole_is_refused_with_its_depth(
    segments: list[Segment], pipes: list[PipeSpan], words: str
) -> None:
    with pytest.raises(ValueError, match=words):
        Profile.compile(segments, pipes=pipes)


def test_pipes_that_pass_each_other_do_not_meet() -> None:
    profile = Profile.compile([Segment(0, 30, 0.3, 0.3)], pipes=[PipeSpan(0, 10, 0.2), PipeSpan(10, 30, 0.2)])
    assert profile.capacity_m3_m(20) == profile.capacity_m3_m(5)


def test_three_pipes_need_room_for_the_two_widest_side_by_side() -> None:
    # 0.20 and 0.06 m fit into 0.30 m beside each other, and 0.05 m beside them
    pipes = [PipeSpan(0, 30, 0.2), PipeSpan(0, 30, 0.06), PipeSpan(0, 30, 0.05)]
    profile = Profile.compile([Segment(0, 30, 0.3, 0.3)], pipes=pipes)
    assert profile.capacity_m3_m(5) == pytest.approx(math.pi / 4 * (0.09 - 0.04 - 0.0036 - 0.0025))


def test_exactly_all_that_it_holds_fills_it_to_the_top() -> None:
    profile = Profile.compile([Segment(2, 30, 0.3, 0.3)], pipes=[PipeSpan(0, 20, 0.1)])
    assert profile.top_of_fill_m(25, profile.volume_m3(2, 25)) == 2.0
    assert profile.top_of_fill_m(25, 1e12) == 2.0


@pytest.mark.parametrize(
    ("top", "bottom", "words"),
    [
        (-1, 5, r"top_m = -1: must lie between 0 and 30"),
        (0, 31, r"bottom_m = 31: must lie between 0 and 30"),
        (20, 10, r"top_m = 20: must be no deeper than bottom_m = 10"),
    ],
)
def test_depths_outside_the_profile_are_refused(top: float, bottom: float, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        Profile.compile([Segment(0, 30, 0.3, 0.3)]).volume_m3(top, bottom)


def test_ten_thousand_caliper_points() -> None:
    # a caliper log of a real length: round trips hold all along it
    points = [0.2 + 0.03 * math.sin(0.07 * i) + 0.01 * math.sin(1.7 * i) for i in range(10_001)]
    segments = [Segment(0.02 * i, 0.02 * (i + 1), points[i], points[i + 1]) for i in range(10_000)]
    profile = Profile.compile(segments, pipes=[PipeSpan(0, 150.005, 0.1)])
    whole = profile.volume_m3(0, 200)
    for share in (0.001, 0.2, 0.5, 0.77, 0.999):
        top = profile.top_of_fill_m(200, share * whole)
        assert profile.volume_m3(top, 200) == pytest.approx(share * whole, rel=1e-9)


@pytest.mark.parametrize("ends", [(0.1000001, 0.9), (0.9, 0.1000001)])
@pytest.mark.parametrize("share", [1e-9, 0.001, 0.3, 0.999, 1 - 1e-9])
def test_a_pipe_that_all_but_fills_one_end_of_a_steep_taper(ends: tuple[float, float], share: float) -> None:
    profile = Profile.compile([Segment(0, 2, *ends)], pipes=[PipeSpan(0, 2, 0.1)])
    whole = profile.volume_m3(0, 2)
    top = profile.top_of_fill_m(2, share * whole)
    assert profile.volume_m3(top, 2) == pytest.approx(share * whole, rel=1e-6, abs=1e-15)


def test_pipes_come_and_go_in_walls_that_stay() -> None:
    segments = [Segment(0, 10, 0.3, 0.4), Segment(10, 30, 0.25, 0.22)]
    walls = Walls(segments)
    for pipes in ([], [PipeSpan(-1, 25.5, 0.1)], [PipeSpan(0, 10, 0.1), PipeSpan(0, 4, 0.05)]):
        profile, afresh = walls.less(pipes), Profile.compile(segments, pipes=pipes)
        assert profile.segments == afresh.segments
        assert profile.volume_m3(1, 29) == afresh.volume_m3(1, 29)
    assert walls.less([]).segments == tuple(segments)


def test_a_taper_below_ground_by_hand() -> None:
    # 0.40 m at 10 m to 0.20 m at 20 m: 0.35 m wide a quarter of the way down
    profile = Profile.compile([Segment(10, 20, 0.40, 0.20)])
    assert profile.hole_diameter_m(12.5) == pytest.approx(0.35)
    assert profile.capacity_m3_m(12.5) == pytest.approx(math.pi / 4 * 0.35**2)


def test_three_pipes_need_not_stand_in_a_row() -> None:
    """A casing of 100 mm and two tremies of 80 mm, 260 mm in a row, lie round each other in 250 mm. What is left is
    pi/4 x (0.25^2 - 0.1^2 - 2 x 0.08^2) m2."""
    hole = [Segment(0.0, 10.0, 0.25, 0.25)]
    pipes = [PipeSpan(0.0, 10.0, outer) for outer in (0.10, 0.08, 0.08)]
    left = Profile.compile(hole, pipes=pipes)
    assert left.volume_m3(0.0, 10.0) == pytest.approx(10.0 * math.pi / 4 * (0.25**2 - 0.1**2 - 2 * 0.08**2))
