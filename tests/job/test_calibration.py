"""What a bucket test changes: factors of volume alone, and no leap of the count when they change."""

import pytest

from tally.job import events as ev
from tally.job.calibration import corrected, remeasured
from tally.job.state import Flow
from tally.job.wired import Loop, MeterPlan, Register
from tests.scenario import grouting_day


def test_a_correction_is_of_volumes_and_rates_alone() -> None:
    meter = MeterPlan(
        port="x",
        pattern="x",
        factors={"total": 0.001, "rate": 0.002, "density": 1000.0},
        registers=(Register(reads="pulses", address=0, factor=0.01), Register(reads="force", address=2, factor=1.0)),
        loop=Loop(quantity="rate_m3_s", at_4=0.0, at_20=0.5),
    )
    found = corrected(meter, 0.9)
    assert found.factors == pytest.approx({"total": 0.0009, "rate": 0.0018, "density": 1000.0})
    assert [one.factor for one in found.registers] == pytest.approx([0.009, 1.0])
    assert found.loop is not None
    assert (found.loop.at_4, found.loop.at_20) == (0.0, pytest.approx(0.45))  # type: ignore[comparison-overlap]


def test_a_new_factor_is_no_leap_and_counts_from_then_on() -> None:
    # The meter shows 5000 L, then 5010 L. By a bucket test each of its litres is 0.99: 9.9 L more, and no 50 L less.
    day = grouting_day()
    day.beat(5.000)
    before_m3 = day.state.flow.metered_m3
    meter = day.state.plan.meter
    assert meter is not None
    plan = day.state.plan.model_copy(update={"meter": corrected(meter, 0.99)})
    day.record(ev.PlanAmended(plan=plan, reason="bucket test"))
    assert day.state.flow.last_total_m3 == pytest.approx(4.950)
    day.beat(5.010 * 0.99)
    assert day.state.flow.metered_m3 - before_m3 == pytest.approx(0.0099)
    assert day.state.flow.offered_m3 == 0.0


def test_another_meter_s_total_has_nothing_to_do_with_it() -> None:
    one = MeterPlan(port="a", pattern="x", factors={"total": 0.001})
    flow = Flow(last_total_m3=5.0)
    other = one.model_copy(update={"port": "b", "factors": {"total": 1.0}})
    assert remeasured(flow, one, other) is flow
    assert remeasured(flow, one, None) is flow
    assert remeasured(Flow(), one, corrected(one, 0.9)) == Flow()
