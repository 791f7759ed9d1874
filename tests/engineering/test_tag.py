"""A tag by hand: what it measures, what it says of the rock above it, and what it refuses by name.

How often the stated range holds the truth is test_calibration's.
"""

import math
from typing import Any

import pytest

from tally.engineering import tag
from tally.engineering.factor import Factor
from tally.engineering.hole import PipeSpan, Profile, Segment
from tally.engineering.pipe import ring_area_m2

STRAIGHT = Profile.compile([Segment(0, 100, 0.25, 0.25)], pipes=[PipeSpan(0, 100, 0.168)])
RING_M2 = ring_area_m2(outer_diameter_m=0.25, bore_m=0.168)
AT_80_M3 = 1.44 * RING_M2 * 20
BELOW: dict[str, Any] = {"profile": STRAIGHT, "bottom_m": 100.0, "tag_depth_m": 80.0}
PLANNED: dict[str, Any] = {"prior": Factor(1.0, 0.10), "meter_tolerance": 0.0}
TAGGED: dict[str, Any] = BELOW | PLANNED | {"out_at_tag_m3": AT_80_M3, "grout_out_m3": AT_80_M3}


def test_a_tag_as_sure_as_the_plan_meets_it_half_way() -> None:
    # 1.44 times theory below the tag, spread by the usual 10 %, and the plan's 1.00 by its own 10 %: equally sure, so
    # that the rock above takes root(1.00 x 1.44) = 1.20, and the deviation is that of either over root 2.
    above = tag.factor_above_tag(**BELOW, **PLANNED, out_m3=AT_80_M3)
    assert above.median == pytest.approx(1.20)
    assert above.sigma == pytest.approx(Factor(1.0, 0.10).sigma / math.sqrt(2))


def test_what_is_pumped_since_a_tag_rises_by_what_it_taught() -> None:
    # As above: what fills ten metres at 1.20 times theory brings the top from 80 to 70 m; by the plan alone to 68.
    since_m3 = 1.20 * RING_M2 * 10
    found = tag.top_range_after_tag(**(TAGGED | {"grout_out_m3": AT_80_M3 + since_m3}))
    assert found.likely_m == pytest.approx(70.0, abs=1e-6)
    alone = tag.top_range_after_tag(**(TAGGED | {"grout_out_m3": AT_80_M3 + since_m3}), project=False)
    assert alone.likely_m == pytest.approx(68.0, abs=1e-6)


def test_a_metre_of_grout_is_measured_too() -> None:
    # pi/4 (0.25^2 - 0.168^2) = 0.0269 m3 of theory, and 0.0323 m3 went out: 1.2
    found = tag.measured_factor(profile=STRAIGHT, bottom_m=100, tag_depth_m=99, out_m3=0.0323)
    assert found.median == pytest.approx(1.20, abs=0.0005)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"out_at_tag_m3": -0.1}, r"out_at_tag_m3 = -0\.1: must be 0 or more"),
        ({"out_at_tag_m3": -0.1, "project": False}, r"out_at_tag_m3 = -0\.1: must be 0 or more"),
        ({"bottom_m": 100.1}, r"bottom_m = 100\.1: must lie between 0"),
        ({"tag_depth_m": -0.1}, r"tag_depth_m = -0\.1: must lie between 0"),
        ({"tag_depth_m": -0.1, "project": False}, r"tag_depth_m = -0\.1: must lie between 0"),
    ],
)
def test_a_tag_that_cannot_be_is_refused_by_name(change: dict[str, Any], words: str) -> None:
    with pytest.raises(ValueError, match=f"^{words}"):
        tag.top_range_after_tag(**(TAGGED | change))


def test_what_a_tag_measured_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match=r"^out_m3 = 0\.0: must be more than 0"):
        tag.measured_factor(**BELOW, out_m3=0.0)
    with pytest.raises(ValueError, match=r"^resemblance = -0\.1: must be 0 or more"):
        tag.measured_factor(**BELOW, out_m3=1.0, resemblance=-0.1)
    with pytest.raises(ValueError, match=r"^out_m3 = -0\.1: must be 0 or more"):
        tag.factor_above_tag(**BELOW, **PLANNED, out_m3=-0.1)
