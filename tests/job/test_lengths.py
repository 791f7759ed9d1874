"""Lengths of the string and the rack, worked by hand beside each check."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.job import events as ev
from tally.job import lengths
from tests.scenario import Day, plan


def length_m(day: Day) -> float:
    return lengths.length_m(day.state.plan, day.state.string)


def shoe_m(day: Day) -> float:
    return lengths.shoe_depth_m(day.state.plan, day.state.string)


def test_twelve_welded_joints() -> None:
    """12 x 5.05 m = 60.60 m, of which 0.60 m stand above ground: the shoe is at 60.00 m."""
    day = Day()
    day.joints()
    assert length_m(day) == pytest.approx(60.60)
    assert shoe_m(day) == pytest.approx(60.00)


def test_a_shoe_adds_its_length_and_its_own_connection() -> None:
    """0.35 + 3 x 6.00 = 18.35 m; three connections (shoe, and two between joints) each give 2 mm of root gap."""
    day = Day(plan(casing={"shoe_length_m": 0.35, "weld_gap_m": 0.002}))
    day.joints([6.0, 6.0, 6.0])
    assert length_m(day) == pytest.approx(18.356)


def test_make_up_loss_is_taken_off_between_joints() -> None:
    """4 x 6.10 m less 3 connections of 80 mm = 24.40 - 0.24 = 24.16 m."""
    day = Day(plan(casing={"connection": "threaded", "make_up_loss_m": 0.080}))
    day.joints([6.10] * 4)
    assert length_m(day) == pytest.approx(24.16)


def test_what_is_cut_off_comes_off() -> None:
    day = Day()
    day.joints([6.10, 6.08])
    day.record(ev.CutOffMade(length_m=0.43, typed=""))
    assert length_m(day) == pytest.approx(11.75)


def test_the_stick_up_read_last_counts() -> None:
    day = Day()
    day.joints([6.0, 6.0])
    assert shoe_m(day) == pytest.approx(11.40)  # 0.60 m as planned until one was read
    day.record(ev.StickUpRead(stick_up_m=0.85, typed=""))
    assert shoe_m(day) == pytest.approx(11.15)


def test_nothing_hangs_before_the_first_joint_and_no_more_stands_up_than_there_is() -> None:
    day = Day()
    assert length_m(day) == 0.0 and shoe_m(day) == 0.0
    day.joint(0.4)
    assert shoe_m(day) == 0.0


def test_the_rack_comes_down_by_what_went_in_and_what_was_rejected() -> None:
    day = Day(plan(casing={"rack_m": [6.10, 6.08, 6.12, 6.08, 6.05]}))
    day.joints([6.08, 6.12])
    day.record(ev.JointRejected(length_m=6.05, typed="", reason="bent"))
    rack = lengths.rack(day.state.plan, day.state.string)
    assert rack.lengths_m == (6.10, 6.08) and rack.reconciles
    # Delivered 5 = in the hole 2 + rejected 1 + on the rack 2.
    assert len(rack.lengths_m) + len(day.state.string.joints) + len(day.state.string.rejected_m) == 5


def test_a_length_that_no_listed_joint_matches_does_not_reconcile() -> None:
    day = Day(plan(casing={"rack_m": [6.10, 6.08]}))
    day.joint(6.05)
    rack = lengths.rack(day.state.plan, day.state.string)
    assert rack.unlisted_m == (6.05,) and rack.lengths_m == (6.10, 6.08) and not rack.reconciles


def test_the_same_joint_written_down_twice_does_not_reconcile() -> None:
    day = Day(plan(casing={"rack_m": [6.10, 6.05]}))
    day.joints([6.10, 6.10])
    assert lengths.rack(day.state.plan, day.state.string).unlisted_m == (6.10,)


def test_tape_readings_find_their_own_joint_whatever_the_order() -> None:
    """5.0045 lies nearer to 5.008, but then 5.010 would find nothing, though both pairs lie within 6 mm."""
    day = Day(plan(casing={"rack_m": [5.000, 5.008]}))
    day.joints([5.0045, 5.010])
    assert lengths.rack(day.state.plan, day.state.string).reconciles


@given(st.lists(st.floats(5.0, 6.0), min_size=1, max_size=12), st.data())
def test_every_joint_off_the_list_reconciles_in_any_order(rack_m: list[float], data: st.DataObject) -> None:
    order = data.draw(st.permutations(rack_m))
    used = order[: data.draw(st.integers(0, len(order)))]
    day = Day(plan(casing={"rack_m": rack_m}))
    day.joints(used)
    rack = lengths.rack(day.state.plan, day.state.string)
    assert rack.reconciles and len(rack.lengths_m) == len(rack_m) - len(used)
    for left in rack.lengths_m:
        assert left in rack_m


def test_lengths_a_hundredth_of_a_foot_apart_each_come_off_as_their_own() -> None:
    """Two of eight joints on: by hand, the six others are left, in the rack's order; 0.01 ft is 3 mm."""
    rack_ft = [20.02, 20.00, 19.98, 20.04, 20.01, 19.99, 20.03, 20.00]
    day = Day(plan(casing={"rack_m": [each * 0.3048 for each in rack_ft]}))
    day.joints([20.02 * 0.3048, 20.00 * 0.3048])
    rack = lengths.rack(day.state.plan, day.state.string)
    assert [round(each_m / 0.3048, 2) for each_m in rack.lengths_m] in (
        [19.98, 20.04, 20.01, 19.99, 20.03, 20.00],
        [20.00, 19.98, 20.04, 20.01, 19.99, 20.03],
    )
    assert rack.reconciles
