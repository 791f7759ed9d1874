"""What to record now: alarms whose cause has come, and alarms whose cause has gone."""

from __future__ import annotations

from collections.abc import Iterator

from tally.job import events as ev
from tally.job import fill as filling
from tally.job.alarms import casing, grout, instrument, meter, record
from tally.job.alarms.condition import Condition, Rule
from tally.job.alarms.wording import WORDINGS
from tally.job.state import State

CLEAR_AFTER_S = 3.0
"""An alarm stands at least this long, so that a value that hovers at its limit does not fill the record."""

RULES: tuple[Rule, ...] = (*casing.RULES, *grout.RULES, *meter.RULES, *instrument.RULES, *record.RULES)


def conditions(state: State) -> Iterator[Condition]:
    """Everything that is wrong in `state`."""
    stage = state.grout.stage
    fill = filling.fill(state, stage) if stage is not None else None
    for rule in RULES:
        condition = rule(state, fill)
        if condition is not None:
            yield condition


def due(state: State) -> list[ev.AlarmRaised | ev.AlarmCleared]:
    """What to record now: alarms whose cause has come, and alarms whose cause has gone."""
    holds = {condition.alarm: condition for condition in conditions(state)}
    active = {alarm.alarm: alarm for alarm in state.alarms if alarm.active}
    changes: list[ev.AlarmRaised | ev.AlarmCleared] = [
        ev.AlarmCleared(alarm=name)
        for name, alarm in active.items()
        if name not in holds and state.elapsed_s - alarm.raised_s >= CLEAR_AFTER_S
    ]
    for name, condition in holds.items():
        if name not in active:
            changes.append(raised(condition))
    return changes


def raised(condition: Condition) -> ev.AlarmRaised:
    wording = WORDINGS[condition.alarm]
    return ev.AlarmRaised(
        alarm=condition.alarm,
        severity=wording.severity,
        words=wording.title,
        value=condition.value,
        limit=condition.limit,
        measure=condition.measure.value,
        entry=condition.entry,
        other=condition.other,
    )
