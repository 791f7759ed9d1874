"""What comes next on the casing run: joint, shoe, centralizer, pace. Lengths and times added up by hand."""

import pytest

from tally.job import events as ev
from tally.job import intents as want
from tally.job.view import coming
from tests.scenario import Day, plan


def joints(day: Day, gaps_s: list[float]) -> Day:
    day.record(ev.JointAdded(length_m=5.05, typed=""))
    for gap_s in gaps_s:
        day.tick(gap_s)
        day.record(ev.JointAdded(length_m=5.05, typed=""))
    return day


@pytest.mark.parametrize(
    ("gaps_s", "a_joint_s", "counted", "pauses"),
    [
        ([300.0], 300.0, 1, 0),
        ([240.0, 360.0], 300.0, 2, 0),
        ([300.0, 3_600.0, 300.0], 300.0, 2, 1),
        # a long pause of two gaps alone cannot be told from slow work
        ([500.0, 560.0], 530.0, 2, 0),
        # of eight the last five count
        ([60.0, 60.0, 60.0, 300.0, 300.0, 300.0, 300.0, 300.0], 300.0, 5, 0),
    ],
)
def test_the_pace_leaves_pauses_out_and_says_so(
    gaps_s: list[float], a_joint_s: float, counted: int, pauses: int
) -> None:
    found = coming.pace(joints(Day(), gaps_s).state)
    assert found is not None
    assert found.a_joint.si == pytest.approx(a_joint_s)
    assert found.an_hour == pytest.approx(3_600.0 / a_joint_s)
    assert (found.counted, found.pauses) == (counted, pauses)


@pytest.mark.parametrize("gaps_s", [[], [2.0], [2.0, 3.0, 2.0, 4.0], [119.0]])
def test_joints_written_down_at_once_make_no_pace(gaps_s: list[float]) -> None:
    assert coming.pace(joints(Day(), gaps_s).state) is None


def test_standby_and_time_away_are_pauses_however_short() -> None:
    day = joints(Day(), [300.0])
    day.do(want.BeginActivity("standby"))
    day.tick(200.0)
    day.record(ev.JointAdded(length_m=5.05, typed=""))
    day.restart(400.0)
    day.record(ev.JointAdded(length_m=5.05, typed=""))
    day.tick(300.0)
    day.record(ev.JointAdded(length_m=5.05, typed=""))
    found = coming.pace(day.state)
    assert found is not None and (found.a_joint.si, found.counted, found.pauses) == (300.0, 2, 2)


def test_the_next_joint_is_the_first_that_is_left_and_says_where_it_puts_the_shoe() -> None:
    """5.05 + 5.00 m less 0.60 m of stick-up."""
    day = Day(plan(casing={"rack_m": [5.05, 5.00, 4.90]}))
    day.joint(5.05)
    found = coming.next_joint(day.state)
    assert found is not None
    assert (found.length.si, found.on_rack, found.left, found.chosen) == (5.00, 1, 2, False)
    assert found.shoe.si == pytest.approx(9.45)


def test_the_landing_says_which_and_its_place_on_the_rack() -> None:
    day = Day(plan(casing={"rack_m": [5.05, 5.00, 4.90]}))
    day.record(ev.LandingChosen(order_m=(4.90, 5.05)))
    found = coming.next_joint(day.state)
    assert found is not None and (found.length.si, found.on_rack, found.chosen) == (4.90, 3, True)


def test_at_depth_landed_or_with_an_empty_rack_nothing_comes() -> None:
    day = Day()
    day.joints()
    assert coming.next_joint(day.state) is None
    short = Day(plan(casing={"rack_m": [5.05]}))
    short.joint(5.05)
    assert coming.next_joint(short.state) is None


def test_a_centralizer_is_told_ahead_and_called_when_its_joint_is_on() -> None:
    """Planned at 58 and 40 m with the shoe at 60 m: 2 and 20 m above it; joints of 5.05 m."""
    day = Day(plan(casing={"centralizer_depths_m": [40.0, 58.0]}))
    first = coming.centralizer_due(day.state)
    assert first is not None and not first.now and first.sentence.text.startswith("on the next joint")
    day.joint()
    called = coming.centralizer_due(day.state)
    assert called is not None and called.now
    day.do(want.FitCentralizer())
    ahead = coming.centralizer_due(day.state)
    assert ahead is not None and not ahead.now and ahead.sentence.text.startswith("next")
    day.joints([5.05] * 2)
    near = coming.centralizer_due(day.state)
    assert near is not None and near.sentence.values[0].si == pytest.approx(20.0 - 15.15)  # type: ignore[union-attr]
    day.landed()
    assert coming.centralizer_due(day.state) is None
    assert coming.centralizer_due(Day().state) is None
