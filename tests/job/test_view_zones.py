"""Zones, chance and time in the plan worked out, on the grout screen's view and in the report: by hand.

60 m of 26.8477 L, certain rock and meter: 1,610.86 L, with the line 1,650.86 L, 49.43 bags of 33.4 L.
"""

from datetime import timedelta
from typing import Any

import pytest

from tally.job.view.grout import grout
from tally.job.view.hole import hole
from tally.job.view.planned import planned
from tally.job.view.report import report
from tests.job.test_alarms import ANNULUS_M2, EXACT, metered_day
from tests.scenario import Day, plan

ZONES = [
    {"top_m": 40.0, "bottom_m": 50.0, "kind": "fracture", "note": "lost flush"},
    {"top_m": 10.0, "bottom_m": 12.0, "kind": "washout", "spread_share": 0.25},
]


def exact_plan(**changes: Any) -> Any:
    return plan(**{**EXACT, **changes})


def test_the_plan_lists_its_zones_from_the_top_down_with_their_spreads() -> None:
    rows = planned(exact_plan(hole={"zones": ZONES})).zones
    assert [(row.top.si, row.bottom.si, row.kind, row.spread.si, row.note) for row in rows] == [
        (10.0, 12.0, "washout", 0.25, ""),
        (40.0, 50.0, "fracture", 0.5, "lost flush"),
    ]


def test_a_zone_raises_the_high_volume_and_its_bags() -> None:
    """The fracture's 10 m may take 6.18034 m more: 66.18034 x 26.8477 + 40 = 1,816.8 L, 54.4 bags."""
    (stage,) = planned(exact_plan(hole={"zones": ZONES[:1]})).stages
    assert stage.likely.si == pytest.approx(60 * ANNULUS_M2 + 0.040, rel=1e-5)
    assert stage.high.si == pytest.approx(66.18034 * ANNULUS_M2 + 0.040, rel=1e-5)
    assert (stage.bags, stage.bags_high) == (50, 55)


def test_the_chance_that_the_bags_aboard_suffice() -> None:
    assert planned(exact_plan(aboard={"bags": 49})).stock.chance.si == 0.0
    assert planned(exact_plan(aboard={"bags": 50})).stock.chance.si == 1.0
    # as in the fill: 254.2 L are left for the zone, which takes less 44.22 % of the time
    zoned = exact_plan(aboard={"bags": 49}, hole={"zones": ZONES[:1]})
    assert planned(zoned).stock.chance.si == pytest.approx(0.4422, abs=1e-3)


def test_two_stages_need_the_line_twice() -> None:
    """1,610.86 + 80 L are 50.62 bags."""
    stages = [
        {"name": "foot", "bottom_m": 60.0, "top_m": 20.0, "mix": "neat", "method": "tremie"},
        {"name": "rest", "bottom_m": 20.0, "top_m": 0.0, "mix": "neat", "method": "tremie"},
    ]
    exact = [{**stage, "allowance_share": 0.0, "spread_share": 0.0} for stage in stages]
    for bags, chance in ((50, 0.0), (51, 1.0)):
        assert planned(exact_plan(stages=exact, aboard={"bags": bags})).stock.chance.si == chance


@pytest.mark.parametrize(("rate_m3_s", "late"), [(0.000306, False), (0.000305, True)])
def test_go_or_no_go_by_the_planned_rate(rate_m3_s: float, late: bool) -> None:
    """1,650.86 L in 5,400 s: 0.30571 L/s at least."""
    view = planned(exact_plan(pump={"rate_m3_s": rate_m3_s}))
    (stage,) = view.stages
    assert stage.least_rate.si == pytest.approx(0.00030571, rel=1e-4)
    assert stage.pumping.si == pytest.approx(1.650862 / rate_m3_s, rel=1e-4)
    assert any("the mix's working time is" in warning.sentence.text for warning in view.warnings) is late


def test_before_a_stage_the_grout_view_tells_how_many_bags_it_takes() -> None:
    """1.15 x 1,610.86 L and 40 L of line are 1,892.5 L, 56.7 bags of 33.4 L. High: asinh(0.15/1.15) and asinh(0.02)
    combine to 0.13159, so 1.15 x 1,610.86 x e^0.13159 + 40 = 2,153.0 L, 64.5 bags."""
    day = Day(plan())
    day.joints()
    day.landed()
    start = grout(day.state).start
    assert start is not None
    assert start.planned.si == pytest.approx(1.8925, abs=1e-4) and start.high.si == pytest.approx(2.1530, abs=1e-4)
    assert (start.bags, start.bags_high) == (57, 65)


def test_the_grout_view_tells_what_comes_next_and_by_when() -> None:
    """440 L pumped: the top at 45.101 m, 5.101 m below a void that ends at 40 m. The batch of the first second keeps
    5,400 s."""
    day = metered_day(hole={"zones": [{"top_m": 38.0, "bottom_m": 40.0, "kind": "void"}]})
    day.batch(60)
    begun = day.at
    day.pump(0.440, seconds=200)
    stage = grout(day.state).stage
    assert stage is not None and stage.zone is not None and stage.inflow is not None
    assert (stage.zone.kind, stage.zone.bottom.si) == ("void", 40.0)
    assert stage.zone.above.si == pytest.approx(5.1011, abs=1e-3)
    assert stage.good_until == begun + timedelta(seconds=5_400)
    assert stage.inflow.difference.si == pytest.approx(14.8989 * 8_540.6, rel=1e-4)
    # the high need adds the void's 2 m once more (e^asinh(1) is 2.414214): 63.8284 x 26.8477 - 400 L at 440 L in 199 s
    needed_m3 = (60 + 2 * 1.414214) * ANNULUS_M2 - 0.400
    assert stage.high_in_at is not None
    takes_s = (stage.high_in_at - day.at).total_seconds()
    assert takes_s == pytest.approx(needed_m3 / (0.440 / 199), rel=1e-3)
    day.end("left to set")
    after = grout(day.state).stage
    assert after is not None and (after.zone, after.inflow, after.good_until, after.high_in_at) == (None,) * 4


def test_zones_found_on_the_day_are_drawn_and_reported_with_their_entry() -> None:
    day = metered_day(hole={"zones": ZONES})
    day.pump(0.440)
    lost = day.tag(45.0, lost=True)
    assert [(mark.top_m, mark.kind) for mark in hole(day.state).zones] == [
        (10.0, "washout"), (40.0, "fracture"), (45.0, "loss"),
    ]  # fmt: skip
    rows = report(day.state, digest="", program="", problems=[], disagreements=[]).hole.zones
    assert [row.number for row in rows] == [None, None, lost.number]
    assert rows[2].at == lost.at
