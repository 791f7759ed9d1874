"""A joint measured again, the rack that it came from, and depths measured from above ground, worked by hand."""

import pytest

from tally.job import events as ev
from tally.job import intents as want
from tally.job import lengths
from tally.job.decide.refusal import Refusal
from tests.scenario import Day, grouting_day, plan


def length_m(day: Day) -> float:
    return lengths.length_m(day.state.plan, day.state.string)


def test_the_string_is_as_long_as_it_was_measured_last() -> None:
    """5.05 + 5.05 + 5.05 = 15.15 m; the second at 5.01 m: 15.11 m; voided: 15.15 m again."""
    day = Day()
    day.joints([5.05] * 3)
    again = day.do(want.RemeasureJoint(2, 5.01, "5.01 m"))[0]
    assert length_m(day) == pytest.approx(15.11)
    assert [joint.length_m for joint in day.state.string.joints] == [5.05, 5.01, 5.05]
    day.do(want.RemeasureJoint(2, 5.03, "5.03 m"))
    assert length_m(day) == pytest.approx(15.13)
    assert day.state.string.joints[1].first_m == 5.05
    day.void(day.entries[-1])
    day.void(again)
    assert length_m(day) == pytest.approx(15.15)
    assert day.state.string.joints[1].first_m is None


def test_a_joint_that_was_voided_cannot_come_back_by_being_measured() -> None:
    day = Day()
    day.joints([5.05] * 2)
    gone = day.joint(5.50)
    day.do(want.RemeasureJoint(3, 5.40, ""))
    day.void(gone)
    assert length_m(day) == pytest.approx(10.10)


def test_the_rack_knows_a_joint_by_either_length() -> None:
    """The list holds twelve of 5.05 m: a joint of 5.01 m was one of them, and a 5.50 m that is 5.05 m is one too."""
    day = Day()
    day.joints([5.05, 5.50])
    assert lengths.rack(day.state.plan, day.state.string).unlisted_m == (5.50,)
    day.do(want.RemeasureJoint(2, 5.05, ""))
    day.do(want.RemeasureJoint(1, 5.01, ""))
    rack = lengths.rack(day.state.plan, day.state.string)
    assert rack.reconciles and len(rack.lengths_m) == 10


def test_a_listed_length_off_by_more_than_a_tape_reading_is_no_match() -> None:
    day = Day(plan(casing={"rack_m": [5.05, 5.05, 5.20]}))
    day.joints([5.05])
    day.do(want.RemeasureJoint(1, 5.19, ""))  # 10 mm off the third: it stays the joint of 5.05 m
    assert lengths.rack(day.state.plan, day.state.string).lengths_m == (5.05, 5.20)


def test_the_count_of_what_was_delivered() -> None:
    for delivered, missing in ((None, 0), (12, 0), (14, 2), (11, -1)):
        day = Day(plan(casing={"delivered": delivered}))
        day.joints([5.05] * 3)
        day.record(ev.JointRejected(length_m=5.05, typed="", reason="bent"))
        # 12 listed: 3 in, 1 rejected, 8 left
        assert lengths.missing(day.state.plan, day.state.string) == missing


def test_depths_are_counted_from_the_table_and_kept_from_ground_level() -> None:
    """A table 0.80 m above ground: what the tape says, less 0.80 m."""
    day = grouting_day(plan(casing={"measured_from_m": 0.80}))
    day.do(want.SetTremie(57.80, "57.80 m"))
    assert day.state.grout.tremie_tip_m == pytest.approx(57.0)
    day.do(want.TagTop(41.0, "41 m"))
    tag = day.state.grout.stages[0].tags[0]
    assert tag.depth_m == pytest.approx(40.2)
    day.do(want.ReadFluidLevel("hole", 20.8, "20.8 m"))
    assert day.state.string.hole_fluid_m == pytest.approx(20.0)
    assert day.entries[-1].event.typed == "20.8 m"  # type: ignore[union-attr]


def test_what_is_measured_above_ground_is_refused() -> None:
    day = grouting_day(plan(casing={"measured_from_m": 0.80}))
    for intent in (want.SetTremie(0.5, ""), want.TagTop(0.5, ""), want.ReadFluidLevel("hole", 0.5, "")):
        assert isinstance(day.ask(intent), Refusal)
    assert not isinstance(day.ask(want.TagTop(60.8, "")), Refusal)
    assert isinstance(day.ask(want.TagTop(60.9, "")), Refusal)
