"""The line of a stage: hose and bore by hand, and where to stop the water that pushes grout down the casing."""

from typing import Any

import pytest

from tally.engineering.grout import whole_bags
from tally.job import fill as filling
from tally.job import line
from tally.job.plan import Plan
from tally.job.view.grout import grout
from tests.scenario import Day, grouting_day, plan

# By hand: the bore of 154.051 mm is 0.01863884 m2, over 60 m and 0.6 m of stick-up 1.129514 m3; 32 mm of hose are
# 0.000804248 m2, and of 80 m of line 20 m are hose: 0.0160850 m3.
BORE_M2, LINE_M3 = 0.01863884, 1.145599


def through_casing(**changes: Any) -> Plan:
    stage = {**plan().stages[0].model_dump(), "method": "through casing", "plug_m": 3.0} | changes.pop("stage", {})
    measured = {"volume_m3": 0.0643, "length_m": 80.0, "bore_m": 0.032, "starts": "water"}
    return plan(casing={"shoe": "float"}, stages=[stage], line=measured, **changes)


def test_down_the_casing_the_bore_is_part_of_the_line() -> None:
    made = through_casing()
    assert line.volume_m3(made, made.stages[0]) == pytest.approx(LINE_M3, abs=2e-6)
    # the same line to a tremie is as given
    assert line.volume_m3(made, plan().stages[0]) == 0.0643


def test_a_line_given_by_its_volume_holds_that() -> None:
    stage = {**plan().stages[0].model_dump(), "method": "through casing", "plug_m": 3.0}
    made = plan(stages=[stage], line={"volume_m3": 1.2})
    assert line.volume_m3(made, made.stages[0]) == 1.2


def test_a_pipe_that_stabs_into_the_shoe_is_the_line() -> None:
    made = through_casing(stage={"plug_m": None})
    assert line.volume_m3(made, made.stages[0]) == 0.0643
    assert line.displacing_m3(made, made.stages[0]) == 0.0
    assert line.left_m3(made, made.stages[0]) == 0.0643


def test_water_stops_short_of_the_shoe_by_the_plug_and_the_meter() -> None:
    # 1.145599 x 0.98 less 3 m of bore, 0.055917: 1.066770; without a meter 5 % are left for the marks
    made = through_casing()
    assert line.displacing_m3(made, made.stages[0]) == pytest.approx(1.066770, abs=3e-6)
    assert line.left_m3(made, made.stages[0]) == pytest.approx(LINE_M3 - 1.066770, abs=3e-6)
    typed = through_casing(meter=None)
    assert line.displacing_m3(typed, typed.stages[0]) == pytest.approx(LINE_M3 * 0.95 - 3 * BORE_M2, abs=3e-6)
    none = through_casing(stage={"plug_m": 0.0})
    assert line.displacing_m3(none, none.stages[0]) == pytest.approx(LINE_M3 * 0.98, abs=3e-6)
    short = through_casing(stage={"plug_m": 80.0})
    assert line.displacing_m3(short, short.stages[0]) == 0.0
    assert line.left_m3(short, short.stages[0]) == pytest.approx(LINE_M3, abs=2e-6)


def test_by_tremie_nothing_is_displaced_and_the_line_stays_full() -> None:
    made = plan()
    assert line.displacing_m3(made, made.stages[0]) == 0.0
    assert line.left_m3(made, made.stages[0]) == 0.040


def pumped_through() -> Day:
    return grouting_day(through_casing(aboard={"bags": 200, "water_m3": 8.0}), alarms=True)


def test_nothing_is_out_of_the_shoe_before_the_casing_is_full() -> None:
    day = pumped_through()
    day.batch(60)
    day.pump(1.1)
    stage = day.state.grout.stages[-1]
    assert filling.fill(day.state, stage).out_m3 == 0.0
    day.pump(0.1)
    assert filling.fill(day.state, stage).out_m3 == pytest.approx(1.2 - LINE_M3, abs=3e-6)


def test_water_that_displaces_takes_no_bags() -> None:
    """Bags make the annulus with its allowance and what is left inside; the rest of what is pumped is water."""
    day = pumped_through()
    stage = day.state.grout.stages[-1]
    fill = filling.fill(day.state, stage)
    annulus_m3 = fill.planned_m3 - LINE_M3
    view = grout(day.state).stage
    assert view is not None
    assert view.displacing.si == pytest.approx(1.066770, abs=3e-6)
    left_m3 = LINE_M3 - 1.066770
    assert view.bags_needed == whole_bags(annulus_m3 + left_m3, 0.0334)
    assert not {"stock-short", "stock-thin"} & set(day.standing())
    enough = view.bags_needed * 0.0334
    short = grouting_day(through_casing(aboard={"bags": int(enough / 0.0334 * 0.6), "water_m3": 8.0}), alarms=True)
    assert "stock-short" in short.standing()
