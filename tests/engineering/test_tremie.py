"""The tremie: its edges by hand."""

import pytest

from tally.engineering.hole import PipeSpan, Profile, Segment
from tally.engineering.tremie import sections_that_may_be_pulled, top_after_pulling_m, tremie_cover_m

STRAIGHT = Profile.compile([Segment(0, 100, 0.25, 0.25)], pipes=[PipeSpan(0, 100, 0.168)])


def test_cover_is_tip_below_the_lowest_top() -> None:
    assert tremie_cover_m(tip_depth_m=50.0, lowest_top_m=45.5) == 4.5
    assert tremie_cover_m(tip_depth_m=45.0, lowest_top_m=45.5) == -0.5


@pytest.mark.parametrize(
    ("lowest_top_m", "sections_m", "count"),
    [
        (45.5, [3.0], 1),  # 4.5 m of cover, of which 1.5 m stay unless said otherwise
        (45.51, [3.0], 0),
        (45.5 + 5e-10, [3.0], 1),  # less than a billionth of a metre is rounding
        (45.5, [1.0, 3.0], 1),
        (45.5, [], 0),
    ],
)
def test_a_section_comes_off_while_the_least_cover_stays(
    lowest_top_m: float, sections_m: list[float], count: int
) -> None:
    found = sections_that_may_be_pulled(section_lengths_m=sections_m, tip_depth_m=50.0, lowest_top_m=lowest_top_m)
    assert found == count


def test_a_section_has_a_length() -> None:
    with pytest.raises(ValueError, match=r"section_lengths_m\[1\] = 0\.0: must be more than 0"):
        sections_that_may_be_pulled(section_lengths_m=[3.0, 0.0], tip_depth_m=50.0, lowest_top_m=30.0)


def test_metal_may_be_all_that_the_hole_holds() -> None:
    below_m3 = STRAIGHT.volume_m3(40, 100)
    assert top_after_pulling_m(profile_without=STRAIGHT, top_m=40, metal_m3=below_m3) == 100.0
    # 10 L more than nothing: 0.371 m of 0.0269203 m2
    nearly = top_after_pulling_m(profile_without=STRAIGHT, top_m=40, metal_m3=below_m3 - 0.010)
    assert 100.0 - nearly == pytest.approx(0.3715, abs=5e-5)
