"""Joint arithmetic by hand, and what it refuses."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.engineering import pipe

lengths = st.lists(st.floats(0.5, 14.0), max_size=60)


def test_a_threaded_string_by_hand() -> None:
    # shoe 0.30 + 6.10 + 6.05 + 5.98 = 18.43; three connections of 0.05 lost: 18.28; 0.20 cut off: 18.08
    made = pipe.string_length_m(
        shoe_length_m=0.30, joint_lengths_m=[6.10, 6.05, 5.98], make_up_loss_m=0.05, cut_off_m=0.20
    )
    assert made == pytest.approx(18.08)


def test_a_welded_string_by_hand() -> None:
    # no shoe: two welds with a root gap of 3 mm each
    made = pipe.string_length_m(
        shoe_length_m=0, joint_lengths_m=[6.10, 6.05, 5.98], make_up_loss_m=0, cut_off_m=0, weld_gap_m=0.003
    )
    assert made == pytest.approx(18.136)


@pytest.mark.parametrize(
    ("joints", "shoe", "count"), [(0, 0, 0), (0, 0.3, 0), (1, 0, 0), (1, 0.3, 1), (5, 0, 4), (5, 0.3, 5)]
)
def test_connections(joints: int, shoe: float, count: int) -> None:
    assert pipe.connections(joint_count=joints, shoe_length_m=shoe) == count


@given(lengths, st.floats(0, 1), st.floats(0, 0.2))
def test_one_joint_more_adds_its_length_less_one_connection(joints: list[float], shoe: float, loss: float) -> None:
    def made(lengths_m: list[float]) -> float:
        return pipe.string_length_m(shoe_length_m=shoe, joint_lengths_m=lengths_m, make_up_loss_m=loss, cut_off_m=0)

    first = not joints and shoe == 0
    assert made([*joints, 6.0]) - made(joints) == pytest.approx(6.0 - (0 if first else loss), abs=1e-9)
    assert made(joints) == pytest.approx(made(joints[::-1]), abs=1e-9)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"joint_lengths_m": [6.0, -6.0]}, r"joint_lengths_m\[1\] = -6\.0: must be more than 0"),
        ({"joint_lengths_m": [6.0, 0.0]}, r"joint_lengths_m\[1\] = 0\.0: must be more than 0"),
        (
            {"joint_lengths_m": [6.0], "make_up_loss_m": 6.0},
            r"make_up_loss_m = 6\.0: must be less than joint_lengths_m\[0\]",
        ),
        ({"cut_off_m": 20.0}, r"cut_off_m = 20\.0: must be at most the string's length 12\.0"),
        ({"shoe_length_m": -0.1}, r"shoe_length_m = -0\.1: must be 0 or more"),
        ({"joint_lengths_m": [float("nan")]}, r"joint_lengths_m\[0\] = nan: must be a finite number"),
    ],
)
def test_absurd_joints_are_refused(change: dict[str, object], words: str) -> None:
    arguments: dict[str, object] = {
        "shoe_length_m": 0.0,
        "joint_lengths_m": [6.0, 6.0],
        "make_up_loss_m": 0.0,
        "cut_off_m": 0.0,
    }
    with pytest.raises(ValueError, match=words):
        pipe.string_length_m(**(arguments | change))  # type: ignore[arg-type]


def test_depths_and_their_datum() -> None:
    assert pipe.shoe_depth_m(length_m=18.0, stick_up_m=0.6) == pytest.approx(17.4)
    assert pipe.shoe_depth_m(length_m=0.5, stick_up_m=0.6) == pytest.approx(-0.1)
    assert pipe.from_ground_m(measured_m=31.2, measuring_point_m=1.2) == pytest.approx(30.0)


def test_the_rack_reconciles_or_shows_by_how_many() -> None:
    assert pipe.rack_difference(delivered=12, on_rack=4, in_hole=7, rejected=1) == 0
    assert pipe.rack_difference(delivered=12, on_rack=4, in_hole=6, rejected=1) == 1
    assert pipe.rack_difference(delivered=12, on_rack=5, in_hole=7, rejected=1) == -1
    with pytest.raises(ValueError, match="on_rack = -1: must be 0 or more"):
        pipe.rack_difference(delivered=1, on_rack=-1, in_hole=1, rejected=1)


def test_a_solid_rod_and_a_ring_are_circles() -> None:
    assert pipe.ring_area_m2(outer_diameter_m=0.2, bore_m=0) == pytest.approx(pipe.circle_area_m2(0.2))
    ring = pipe.ring_area_m2(outer_diameter_m=0.2, bore_m=0.1)
    assert ring + pipe.circle_area_m2(0.1) == pytest.approx(pipe.circle_area_m2(0.2))
    with pytest.raises(ValueError, match=r"bore_m = 0\.2: must be less than outer_diameter_m = 0\.2"):
        pipe.ring_area_m2(outer_diameter_m=0.2, bore_m=0.2)


def test_a_wall_is_under_half_of_the_diameter() -> None:
    assert pipe.bore_m(outer_diameter_m=0.2, wall_m=0.0999) == pytest.approx(0.0002)
    with pytest.raises(ValueError, match=r"wall_m = 0\.1: must be less than half of outer_diameter_m = 0\.1"):
        pipe.bore_m(outer_diameter_m=0.2, wall_m=0.1)


def test_a_ratio_of_two_leaves_no_bore() -> None:
    assert pipe.sdr_wall_m(outer_diameter_m=0.2, sdr=2.01) == pytest.approx(0.2 / 2.01)
    with pytest.raises(ValueError, match=r"sdr = 2\.0: must be more than 2"):
        pipe.sdr_wall_m(outer_diameter_m=0.2, sdr=2.0)


def test_counts_may_be_nothing_but_never_less() -> None:
    with pytest.raises(ValueError, match="joint_count = -1: must be 0 or more"):
        pipe.connections(joint_count=-1, shoe_length_m=0.0)
    assert pipe.rack_difference(delivered=0, on_rack=0, in_hole=0, rejected=0) == 0


@pytest.mark.parametrize(
    ("outer_in", "clearance_in"),
    [(8.625, 1 / 8), (9.625, 5 / 32), (13.375, 5 / 32), (16.0, 3 / 16), (20.0, 3 / 16)],
)
def test_drift_by_size(outer_in: float, clearance_in: float) -> None:
    # API 5CT: bore less 1/8 in up to 8-5/8, 5/32 in from 9-5/8 to 13-3/8, 3/16 in from 16 in
    inch = 0.0254
    drift = pipe.api_drift_m(outer_diameter_m=outer_in * inch, bore_m=(outer_in - 1) * inch)
    assert drift / inch == pytest.approx(outer_in - 1 - clearance_in)


def test_a_bore_that_no_drift_can_pass_is_refused() -> None:
    with pytest.raises(ValueError, match=r"bore_m less its clearance = 0\.0: must be more than 0"):
        pipe.api_drift_m(outer_diameter_m=0.1, bore_m=0.0254 / 8)


@pytest.mark.parametrize("name", ["shoe_length_m", "make_up_loss_m", "cut_off_m", "weld_gap_m"])
def test_no_length_is_under_nothing(name: str) -> None:
    lengths = {"shoe_length_m": 0.0, "make_up_loss_m": 0.0, "cut_off_m": 0.0, "weld_gap_m": 0.0}
    assert pipe.string_length_m(joint_lengths_m=[6.0, 6.0], **lengths) == 12.0
    with pytest.raises(ValueError, match=rf"{name} = -1e-06: must be 0 or more"):
        pipe.string_length_m(joint_lengths_m=[6.0, 6.0], **(lengths | {name: -1e-6}))
    with pytest.raises(ValueError, match="shoe_length_m = -1e-06: must be 0 or more"):
        pipe.connections(joint_count=2, shoe_length_m=-1e-6)
