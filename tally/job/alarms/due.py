"""What to record now: alarms whose cause has come, and alarms whose cause has gone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tally.job import events as ev
from tally.job import fill as filling
from tally.job.alarms import casing, grout, instrument, meter, record
from tally.job.alarms.condition import Condition, Rule
from tally.job.alarms.wording import WORDINGS
from tally.job.fill import Fill
from tally.job.plan import Plan
from tally.job.state import Gauges, Grout, State, String

CLEAR_AFTER_S = 3.0
"""An alarm stands at least this long, so that a value that hovers at its limit does not fill the record."""

LOOKED_AT_EACH_TIME: tuple[Rule, ...] = (*grout.RULES, *meter.RULES, *instrument.RULES, *record.RULES)
RULES: tuple[Rule, ...] = (*casing.RULES, *LOOKED_AT_EACH_TIME)


def conditions(state: State) -> Iterator[Condition]:
    """Everything that is wrong in `state`."""
    yield from _of_casing.conditions(state)
    stage = state.grout.stage
    fill = filling.fill(state, stage) if stage is not None else None
    yield from _wrong(LOOKED_AT_EACH_TIME, state, fill)


def _wrong(rules: Iterable[Rule], state: State, fill: Fill | None) -> Iterator[Condition]:
    return (condition for rule in rules if (condition := rule(state, fill)) is not None)


class _OfCasing:
    """The rules of the casing look at plan, entries and gauges: their answer stands from heartbeat to heartbeat."""

    def __init__(self) -> None:
        self._last: tuple[Plan, String, Grout, Gauges, tuple[Condition, ...]] | None = None

    def conditions(self, state: State) -> tuple[Condition, ...]:
        last, now = self._last, (state.plan, state.string, state.grout, state.gauges)
        if last is not None and all(old is new for old, new in zip(last, now, strict=False)):
            return last[4]
        found = tuple(_wrong(casing.RULES, state, None))
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
