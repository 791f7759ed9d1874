"""What a stage lost, by hand: pumped, less the line, less what the annulus below the top holds with its allowance."""

import math

import pytest

from tally.job import events as ev
from tally.job import intents as want
from tally.job.view.ledger import job_row, joint_rows, lost_m3
from tally.job.view.lost import Account, account
from tests.scenario import Day, grouting_day, plan

ANNULUS_M2 = math.pi / 4 * (0.250**2 - 0.168275**2)  # 0.0268475 m2
FLOAT = {"casing": {"shoe": "float"}}


def accounted(day: Day) -> Account:
    found = account(day.state, day.state.grout.stages[0])
    assert found is not None
    return found


def test_what_left_the_line_and_is_not_in_the_annulus_below_the_tag_is_lost() -> None:
    day = grouting_day(plan(**FLOAT))
    day.pump(1.0)
    day.tag(40.0, lost=True)
    day.end("left to set")
    # 1,000 L less 40 L in the line, less 1.15 x 20 m x 26.8475 L/m = 617.5 L: 342.5 L.
    assert accounted(day).out_m3 == pytest.approx(0.960)
    assert accounted(day).held_m3 == pytest.approx(1.15 * 20 * ANNULUS_M2)
    assert accounted(day).lost_m3 == pytest.approx(0.3425, abs=5e-5)
    assert lost_m3(day.state) == pytest.approx(0.3425, abs=5e-5)


def test_the_last_tag_of_the_stage_counts_with_what_was_pumped_by_then() -> None:
    day = grouting_day(plan(**FLOAT))
    day.pump(0.5)
    day.tag(58.0)
    day.pump(0.5)
    day.tag(30.0)
    day.pump(0.2)
    day.tick(10)
    day.end("left to set")
    day.tick(3_600)
    day.tag(33.0)  # it has settled: that is no loss
    # 960 L; 30 m hold 926.2 L: 33.8 L.
    assert accounted(day).top_m == 30.0
    assert accounted(day).out_m3 == pytest.approx(0.960)
    assert accounted(day).lost_m3 == pytest.approx(0.0338, abs=5e-5)


def test_after_grout_came_to_surface_nothing_more_is_lost() -> None:
    day = grouting_day(plan(**FLOAT))
    day.pump(1.95, seconds=20)
    day.returns("weak", "grout")
    day.pump(0.05)
    day.returns("full", "grout", 1_860.0)
    day.pump(0.30)
    day.tag(0.5)
    # 1,960 L when it came; 60 m hold 1,852.5 L.
    assert accounted(day).lost_m3 == pytest.approx(0.1075, abs=5e-5)


def test_a_top_found_only_afterwards_counts_and_one_never_found_is_not_known() -> None:
    day = grouting_day(plan(**FLOAT))
    day.pump(1.0)
    day.tick(10)
    day.end("left to set")
    assert account(day.state, day.state.grout.stages[0]) is None
    assert lost_m3(day.state) is None
    day.tick(600)
    day.tag(45.0)
    assert accounted(day).lost_m3 == pytest.approx(0.960 - 1.15 * 15 * ANNULUS_M2)


def test_less_than_the_annulus_holds_is_no_negative_loss() -> None:
    day = grouting_day(plan(**FLOAT))
    day.pump(0.5)
    day.tag(40.0)
    assert accounted(day).lost_m3 == 0.0


def test_a_job_without_grout_has_rows_all_the_same() -> None:
    day = Day()
    row = job_row(day.state, "day.jsonl", "digest", 0)
    assert (row.state, row.shoe_m, row.lost_m3, row.pumped_m3, row.stages) == ("open", None, None, 0.0, 0)
    assert row.session == "20260511T120000Z-boot-1"
    assert list(joint_rows(day.state)) == []


def test_depths_of_joints_follow_a_corrected_one_and_the_cut_stays_where_it_was_made() -> None:
    day = Day(plan(casing={"stick_up_m": 0.0}))
    first = day.joint(6.00)
    day.tick(30)
    day.joint(6.00)
    day.tick(30)
    day.record(ev.CutOffMade(length_m=1.00, typed="1 m"))
    day.joint(6.00)
    day.do(want.CorrectEntry(first.number, want.AddJoint(5.50, "5.50 m"), "misread"))
    day.do(want.CorrectEntry(day.entries[2].number, want.AddJoint(6.10, "6.10 m"), "misread"))
    # 5.50; 5.50 + 6.10 - 1.00, which came off the second; and 6.00 more.
    assert [row.shoe_m for row in joint_rows(day.state)] == pytest.approx([5.50, 10.60, 16.60])
