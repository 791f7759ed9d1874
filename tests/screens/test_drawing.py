"""The hole as characters: to scale in depth, labels in the order of their depths, at any size."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.job.view.hole import GroutMark, HoleView, SectionMark, hole
from tally.screens.drawing import IN_PLACE, LABEL_WIDTH, PIPE, POSSIBLE, PROBABLE, ROCK, WATER, drawing
from tests.screens.days import DAYS

# A hole of 100 m drawn on 100 rows: row n shows the metre from n - 1 to n.
VIEW = HoleView(
    bottom_m=100.0,
    sections=(SectionMark(0.0, 20.0, 0.300, True), SectionMark(20.0, 100.0, 0.250, False)),
    water_m=30.0,
    rock_m=10.0,
    casing_m=0.168,
    shoe_m=80.0,
    target_m=95.0,
    stick_up_m=0.5,
    centralizers_m=(50.5,),
    tremie_tip_m=70.0,
    grout=(GroutMark(80.0, 60.0, 50.0, 40.0, under_way=True),),
)


def rows(view: HoleView = VIEW, width: int = 41) -> list[str]:
    return drawing(view, width, 101, "metric")[1:]


def test_each_thing_stands_at_its_depth() -> None:
    drawn = rows()
    assert [PIPE in row for row in drawn] == [depth < 80 for depth in range(100)]
    assert [ROCK in row for row in drawn] == [depth >= 10 for depth in range(100)]
    assert [WATER in row for row in drawn] == [30 <= depth < 40 or depth >= 80 for depth in range(100)]
    assert [POSSIBLE in row for row in drawn] == [40 <= depth < 50 for depth in range(100)]
    assert [PROBABLE in row for row in drawn] == [50 <= depth < 60 for depth in range(100)]
    assert [IN_PLACE in row for row in drawn] == [60 <= depth < 80 for depth in range(100)]
    assert ["╎" in row for row in drawn] == [depth < 70 for depth in range(100)]
    assert [row for row, text in enumerate(drawn) if "<" in text] == [50]


def test_the_wider_section_is_drawn_wider_and_its_casing_heavier() -> None:
    upper, lower = rows()[0][LABEL_WIDTH:], rows()[25][LABEL_WIDTH:]
    assert upper.rindex("┃") - upper.index("┃") > lower.rindex("│") - lower.index("│")


def test_labels_say_their_depths_in_order() -> None:
    labels = [row[:LABEL_WIDTH].split() for row in rows() if row[:LABEL_WIDTH].strip()]
    assert labels == [
        ["rock", "10.0"], ["water", "30.0"], ["top", "50.0"], ["tremie", "70.0"], ["shoe", "80.0"],
        ["plan", "95.0"], ["bottom", "100.0"],
    ]  # fmt: skip


def test_depths_are_rounded_and_not_cut() -> None:
    """35.89 m is 35.9 m, and 35.89 / 0.3048 = 117.749 ft."""
    view = replace(VIEW, shoe_m=35.89)
    assert any("shoe 35.9 " in row for row in rows(view))
    assert any("shoe 117.7 " in row for row in drawing(view, 41, 101, "us"))


def test_labels_that_fall_together_keep_their_order() -> None:
    view = replace(VIEW, shoe_m=99.6, target_m=99.8, tremie_tip_m=99.0, grout=(), water_m=99.5)
    labels = [row[:LABEL_WIDTH].split()[0] for row in drawing(view, 29, 16, "metric")[1:] if row[:LABEL_WIDTH].strip()]
    assert labels == ["rock", "tremie", "water", "shoe", "plan", "bottom"]


@given(
    width=st.integers(1, 200),
    height=st.integers(1, 100),
    shoe_m=st.floats(-1.0, 110.0),
    water_m=st.floats(0.0, 150.0),
    tip_m=st.none() | st.floats(0.0, 120.0),
    day=st.sampled_from(sorted(DAYS)),
)
def test_any_size_is_filled_exactly(
    width: int, height: int, shoe_m: float, water_m: float, tip_m: float | None, day: str
) -> None:
    view = replace(_HOLES[day], shoe_m=shoe_m, water_m=water_m, tremie_tip_m=tip_m)
    drawn = drawing(view, width, height, "us")
    assert len(drawn) == max(height, 2)
    assert {len(row) for row in drawn} == {width}


_HOLES = {name: hole(make().state) for name, make in DAYS.items()}


@pytest.mark.parametrize("units", ["metric", "us"])
def test_an_empty_hole_can_be_drawn(units: str) -> None:
    view = replace(VIEW, shoe_m=0.0, grout=(), tremie_tip_m=None, centralizers_m=(), rock_m=None)
    drawn = drawing(view, 29, 16, units)  # type: ignore[arg-type]
    assert not any(PIPE in row for row in drawn)
