"""What the casing screen says of joints to come and of loads. The plan is that of `tests.scenario`: joints of 5.05 m of
28.26 kg/m, shoe planned at 60 m with 0.6 m standing above ground, 0.5 m at least."""

from tally.job import events as ev
from tally.job.view.casing import casing
from tests.scenario import JOINT_M, JOINTS, Day, plan


def test_only_the_joints_that_the_depth_takes_are_counted_to_the_end() -> None:
    """12 x 5.05 - 60 = 0.60 m; eleven end 4.45 m below ground; thirteen lie on the rack."""
    day = Day(plan(casing={"rack_m": [JOINT_M] * (JOINTS + 1)}))
    view = casing(day.state)
    assert (view.final_joints, view.joints_left, view.final_is_short) == (JOINTS, JOINTS + 1, False)
    assert view.final_stick_up.si is not None and abs(view.final_stick_up.si - 0.60) < 1e-9
    day.joints([JOINT_M] * 5)
    assert casing(day.state).final_joints == JOINTS - 5


def test_a_rack_that_falls_short_is_counted_whole() -> None:
    """11 x 5.05 = 55.55 m."""
    view = casing(Day(plan(casing={"rack_m": [JOINT_M] * 11})).state)
    assert (view.final_joints, view.final_is_short) == (11, True)


def test_a_reading_is_of_the_string_that_hung_then() -> None:
    """A joint in air weighs 5.05 x 28.26 kg, 1,400 N: more than the band of 500 N or 10 %."""
    day = Day()
    day.joints([JOINT_M] * 2)
    day.hook(2_800.0)
    assert not casing(day.state).load.as_it_stood
    day.joint()
    load = casing(day.state).load
    assert load.as_it_stood and load.verdict == "as expected"
    assert load.read_expected.si is not None and abs(load.read_expected.si - 2 * 5.05 * 28.26 * 9.80665) < 1.0


def test_a_failing_end_is_told_where_it_would_weigh_more() -> None:
    """Closed and dry in water from 20 m: filling makes it heavier. In a dry hole, full of water already, not so:
    1,713 kg in air x 1.25 are 2,141; with 60.6 m of water in 0.018639 m2, 1,128 kg, it weighs 2,841 as it is."""
    wet = Day(plan(casing={"shoe": "closed"}))
    wet.joints()
    assert casing(wet.state).load.float_failed.si is not None
    full = Day(plan(casing={"shoe": "closed"}, hole={"water_level_m": 60.0}))
    full.joints()
    full.record(ev.FluidLevelRead(where="inside casing", depth_m=0.0, typed="0"))
    assert casing(full.state).load.float_failed.si is None
