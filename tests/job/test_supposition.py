"""What if: the day under another allowance, tolerance or scale of the meter, by numbers worked by hand."""

import pytest

from tally.job import events as ev
from tally.job import fill, fold
from tally.job.supposition import Supposition, against_recorded, supposed
from tests.eventful import eventful_day
from tests.scenario import Day, grouting_day, plan

# By hand: the annulus of the test hole is pi/4 (0.250^2 - 0.168275^2) = 0.0268475 m2.
ANNULUS_M2 = 0.0268475
CERTAIN = {"spread_share": 0.0, "tolerance_share": 0.0}


@pytest.fixture
def day() -> Day:
    """The float shoe keeps the bore dry; the water stands at 20 m; 10 L a second are pumped for 90 s."""
    day = grouting_day(plan(casing={"shoe": "float"}), alarms=True)
    day.batch(40)
    day.pump(0.9, seconds=90)
    return day


def raised(entries: list[ev.Entry], alarm: str) -> ev.AlarmRaised:
    return next(e.event for e in entries if isinstance(e.event, ev.AlarmRaised) and e.event.alarm == alarm)


def test_nothing_supposed_is_the_day_as_it_was(day: Day) -> None:
    again = list(supposed(day.entries, Supposition()))
    assert [(e.at, e.event) for e in again] == [(e.at, e.event) for e in day.entries]
    pairs = against_recorded(day.entries, again)
    assert pairs and not any(pair.differs or pair.moved for pair in pairs)


def test_another_allowance_moves_the_alarm_and_the_plan(day: Day) -> None:
    certain = list(supposed(day.entries, Supposition(allowance_share=0.25, **CERTAIN)))
    overdue = raised(certain, "returns-overdue")
    # 20 m of annulus above the water, a quarter more: 1.25 x 20 x 0.0268475 = 0.67119 m3; the 68th second is past it.
    assert overdue.limit == pytest.approx(1.25 * 20 * ANNULUS_M2, rel=1e-5)
    assert overdue.value == pytest.approx(0.680)
    state = fold.folded(certain)
    found = fill.fill(state, state.grout.stages[0])
    # 60 m of annulus, a quarter more, and 40 L that stay in the line.
    assert found.planned_m3 == pytest.approx(1.25 * 60 * ANNULUS_M2 + 0.040, rel=1e-5)
    assert found.planned_high_m3 == pytest.approx(found.planned_m3)


def test_another_k_factor_scales_what_the_meter_counted_and_nothing_typed(day: Day) -> None:
    day.volume(0.100)
    scaled = list(supposed(day.entries, Supposition(allowance_share=0.25, meter_factor=50 / 48, **CERTAIN)))
    state = fold.folded(scaled)
    # Set to 50 pulses a litre where there are 48: 900 L by the meter are 937.5 L. The typed 100 L are as they were.
    assert state.flow.metered_m3 == pytest.approx(0.9375)
    assert state.flow.rate_m3_s == pytest.approx(0.010 * 50 / 48)
    assert fill.fill(state, state.grout.stages[0]).pumped_m3 == pytest.approx(1.0375)
    # 0.67119 m3 at 10.4167 L a second: past it in the 65th.
    assert raised(scaled, "returns-overdue").value == pytest.approx(65 * 0.010 * 50 / 48)


def test_unseen_volume_and_a_meter_that_leapt_are_scaled_alike() -> None:
    day = eventful_day()
    was, would = fold.folded(day.entries), fold.folded(list(supposed(day.entries, Supposition(meter_factor=2.0))))
    assert was.flow.answered_m3 == pytest.approx(0.020)
    assert would.flow.answered_m3 == pytest.approx(0.040)
    assert would.flow.metered_m3 == pytest.approx(2 * was.flow.metered_m3)
    assert would.flow.offered_m3 == pytest.approx(2 * was.flow.offered_m3)


def test_an_amended_plan_is_altered_too() -> None:
    day = eventful_day()
    state = fold.folded(list(supposed(day.entries, Supposition(allowance_share=0.40, tolerance_share=0.03))))
    assert state.plan.hole.bottom_m == 66.0
    assert {stage.allowance_share for stage in state.plan.stages} == {0.40}
    assert state.plan.meter is not None and state.plan.meter.tolerance_share == 0.03


def test_every_alarm_stands_beside_the_recorded_one(day: Day) -> None:
    altered = list(supposed(day.entries, Supposition(allowance_share=1.0)))
    [pair] = [pair for pair in against_recorded(day.entries, altered) if pair.alarm == "returns-overdue"]
    # Twice the annulus above the water is 1,074 L at least, of which 900 were pumped.
    assert pair.recorded is not None and pair.supposed is None and pair.moved
    assert altered[pair.place - 1].number == pair.recorded.number - 1  # the heartbeat that called for it
    back = against_recorded(altered, day.entries)
    [pair] = [pair for pair in back if pair.alarm == "returns-overdue"]
    assert pair.recorded is None and pair.supposed is not None
    assert day.entries[pair.place - 1] is pair.supposed


def test_numbers_of_entries_stay_and_alarms_follow_the_last(day: Day) -> None:
    altered = list(supposed(day.entries, Supposition(allowance_share=0.30)))
    kept = {e.number for e in day.entries if not isinstance(e.event, ev.AlarmRaised | ev.AlarmCleared)}
    alarms = [e.number for e in altered if isinstance(e.event, ev.AlarmRaised | ev.AlarmCleared)]
    assert {e.number for e in altered} - set(alarms) == kept
    assert alarms and min(alarms) == day.entries[-1].number + 1
    assert len(set(alarms)) == len(alarms)
