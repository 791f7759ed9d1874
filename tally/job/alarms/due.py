"""What to record now: alarms whose cause has come, and alarms whose cause has gone."""

from __future__ import annotations

from collections.abc import Iterator

from tally.job import events as ev
from tally.job import fill as filling
from tally.job.alarms import casing, grout, grouted, instrument, meter, record
from tally.job.alarms.condition import Condition, Rule, StageRule
from tally.job.alarms.wording import WORDINGS
from tally.job.plan import Plan
from tally.job.state import Gauges, Grout, State, String

CLEAR_AFTER_S = 3.0
"""An alarm stands at least this long, so that a value that hovers at its limit does not fill the record."""

STAGE_RULES: tuple[StageRule, ...] = (
    *grout.STAGE_RULES,
    *grouted.STAGE_RULES,
    *meter.STAGE_RULES,
    *instrument.STAGE_RULES,
)
EACH_TIME: tuple[Rule, ...] = (*meter.RULES, *instrument.RULES, *record.RULES)
RULES: tuple[Rule | StageRule, ...] = (*casing.RULES, *STAGE_RULES, *EACH_TIME)


def conditions(state: State) -> Iterator[Condition]:
    """Everything that is wrong in `state`."""
    yield from _of_casing.conditions(state)
    stage = state.grout.stage
    if stage is not None:
        fill = filling.fill(state, stage)
        for stage_rule in STAGE_RULES:
            if condition := stage_rule(state, stage, fill):
                yield condition
    for rule in EACH_TIME:
        if condition := rule(state):
            yield condition


class _OfCasing:
    """The rules of the casing look at plan, entries and gauges: their answer stands from heartbeat to heartbeat."""

    def __init__(self) -> None:
        self._last: tuple[Plan, String, Grout, Gauges, tuple[Condition, ...]] | None = None

    def conditions(self, state: State) -> tuple[Condition, ...]:
        last, now = self._last, (state.plan, state.string, state.grout, state.gauges)
        if last is not None and all(old is new for old, new in zip(last, now, strict=False)):
            return last[4]
        found = tuple(condition for rule in casing.RULES if (condition := rule(state)))
        self._last = (*now, found)
        return found


_of_casing = _OfCasing()


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
