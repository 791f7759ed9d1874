"""The one reducer: state and entry in, next state out. The same for a live session and for a replay.

Total over every entry that the file accepts: an entry that makes no sense where it stands (a batch weighed before any
was mixed) is kept and changes nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime

from tally.job import calibration, grouting, metering, string, watching
from tally.job import events as ev
from tally.job.events import Entry
from tally.job.standing import OPERATORS, VOIDABLE, standing
from tally.job.state import Alarm, Disturbance, Grout, Kept, State, String

__all__ = ["VOIDABLE", "Folding", "NotAnOpening", "apply", "folded", "opened", "refolded", "step_s"]


class NotAnOpening(ValueError):
    """The first entry of a session does not open one."""


def opened(entry: Entry) -> State:
    """State after the first entry; raises `NotAnOpening` when it is of another kind."""
    event = entry.event
    if not isinstance(event, ev.SessionOpened):
        raise NotAnOpening(f"the first entry is a {event.kind}; a session begins with SessionOpened")
    return State(
        plan=event.plan,
        number=entry.number,
        at=entry.at,
        mono_s=entry.mono_s,
        who=entry.who,
        elapsed_s=0.0,
        boot=event.boot,
        helper=event.plan.crew.helper,
        entries=(Kept(entry, 0.0, 0.0),),
    )


def apply(state: State, entry: Entry) -> State:
    """The state after `entry`."""
    folding = Folding(state)
    folding.take(entry)
    return folding.state


def folded(entries: Iterable[Entry]) -> State:
    """State after all `entries`; raises `NotAnOpening`, also when there is none."""
    rest = iter(entries)
    first = next(rest, None)
    if first is None:
        raise NotAnOpening("the session holds no entry")
    folding = Folding(opened(first))
    for entry in rest:
        folding.take(entry)
    return folding.state


class Folding:
    """A state that takes entry after entry. Heartbeats between two looks at `state` cost no state each."""

    def __init__(self, state: State) -> None:
        self._begin(state)

    def _begin(self, state: State) -> None:
        self._state = state
        self._last: tuple[int, datetime, float, str] | None = None
        """Number, times and who of the last heartbeat that is not in `_state` yet."""
        self._mono_s, self._elapsed_s = state.mono_s, state.elapsed_s
        self._count = metering.Count(state.flow)
        self._watch = watching.Watch(state)
        under_way = state.grout.stage
        self._stage = len(state.grout.stages) - 1 if under_way else None
        self._stage_started_s = under_way.started_s if under_way else 0.0

    @property
    def state(self) -> State:
        """What all that was taken comes to."""
        if self._last is not None:
            (number, at, mono_s, who), self._last = self._last, None
            self._state = replace(
                self._state,
                number=number,
                at=at,
                mono_s=mono_s,
                who=who,
                elapsed_s=self._elapsed_s,
                flow=self._count.flow,
                watched=self._watch.watched,
                gauges=self._watch.gauges,
            )
        return self._state

    def take(self, entry: Entry) -> None:
        event = entry.event
        if isinstance(event, ev.Heartbeat):
            sampled = [(samples.channel, samples.quantity, samples.values) for samples in event.samples]
            self.beat(entry.number, entry.at, entry.mono_s, entry.who, sampled)
        else:
            self._begin(_after(self.state, entry))

    def beat(self, number: int, at: datetime, mono_s: float, who: str, sampled: Sequence[metering.Sampled]) -> None:
        """A heartbeat, for whoever has its parts and no entry."""
        if mono_s > self._mono_s:
            self._elapsed_s += mono_s - self._mono_s
        self._mono_s = mono_s
        self._last = (number, at, mono_s, who)
        if sampled:
            self._count.beat(sampled, self._elapsed_s, self._stage, self._stage_started_s)
            self._watch.beat(sampled, self._elapsed_s, at, self._count.metered_m3, self._stage, self._stage_started_s)


def _after(state: State, entry: Entry) -> State:
    event, before_s = entry.event, state.elapsed_s
    elapsed_s = before_s + step_s(state.at, state.mono_s, entry)
    away = state.away
    if isinstance(event, ev.SessionResumed | ev.SessionMended) and elapsed_s > before_s:
        away = (*away, (before_s, elapsed_s))
    kept = Kept(entry, elapsed_s, state.flow.metered_m3)
    casing, grout, operators = state.string, state.grout, isinstance(event, OPERATORS)
    if operators:
        casing = string.after(state.plan, casing, kept, grouting=bool(grout.stages))
        grout = grouting.after(state.plan, grout, kept)
    state = replace(
        state,
        string=casing,
        grout=grout,
        number=entry.number,
        at=entry.at,
        mono_s=entry.mono_s,
        who=entry.who,
        elapsed_s=elapsed_s,
        entries=(*state.entries, kept),
        away=away,
    )
    after = _entered(state, event) if operators else _other(state, entry, elapsed_s)
    return watching.after_event(after, event, elapsed_s)


def step_s(at: datetime, mono_s: float, entry: Entry) -> float:
    """How much later `entry` is than the moment of the entry before it [s]."""
    # Within a run the monotonic clock counts; over a restart only the wall clock is left. Neither may turn back.
    if isinstance(entry.event, ev.SessionResumed | ev.SessionMended):
        return max((entry.at - at).total_seconds(), 0.0)
    return max(entry.mono_s - mono_s, 0.0)


def refolded(state: State, *, before: int | None = None, through: int | None = None) -> State:
    """Plan, string and grout worked out again from the entries that stand, each by the plan that was in force then.

    With `before` (or `through`) the entry of that number, up to where it stands: as they were at that moment.
    """
    opening = state.entries[0].entry.event
    assert isinstance(opening, ev.SessionOpened)
    casing, grout, plan = String(), Grout(), opening.plan
    for kept in standing(state):
        event = kept.entry.event
        if before is not None and kept.entry.number == before:
            break
        if isinstance(event, ev.PlanAmended):
            plan = event.plan
        elif isinstance(event, OPERATORS):
            casing = string.after(plan, casing, kept, grouting=bool(grout.stages))
            grout = grouting.after(plan, grout, kept)
        if through is not None and kept.entry.number == through:
            break
    return replace(state, plan=plan, string=casing, grout=grout)


def _entered(state: State, event: ev.AnyEvent) -> State:
    """What an operator's entry changes besides string and grout."""
    if isinstance(event, ev.CrewChanged):
        return replace(state, who=event.driller, helper=event.helper)
    return state


def _crewed(state: State) -> State:
    """Who records from now on, by the changes of crew that stand; what was entered meanwhile keeps its name."""
    if not any(isinstance(_said(kept), ev.CrewChanged) for kept in state.entries):
        return state
    opening = state.entries[0].entry
    assert isinstance(opening.event, ev.SessionOpened)
    who, helper = opening.who, opening.event.plan.crew.helper
    for kept in standing(state):
        if isinstance(kept.entry.event, ev.CrewChanged):
            who, helper = kept.entry.event.driller, kept.entry.event.helper
    return replace(state, who=who, helper=helper)


def _said(kept: Kept) -> ev.AnyEvent:
    event = kept.entry.event
    return event.event if isinstance(event, ev.EntryCorrected | ev.EntryInserted) else event


def _other(state: State, entry: Entry, elapsed_s: float) -> State:
    event, flow = entry.event, state.flow
    match event:
        case ev.EntryVoided():
            return _crewed(refolded(replace(state, voided=_voided(state, event.entry))))
        case ev.EntryCorrected():
            return _crewed(refolded(replace(state, voided=state.voided | {event.entry})))
        case ev.EntryInserted():
            return _crewed(refolded(state))
        case ev.PlanAmended():
            # From now on: a batch mixed before keeps the yield of the mix that it was made by.
            flow = calibration.remeasured(flow, state.plan.meter, event.plan.meter)
            return replace(state, plan=event.plan, flow=flow)
        case ev.SessionResumed():
            flow = metering.after_restart(flow)
            return replace(state, boot=event.boot, runs=state.runs + 1, closed=False, flow=flow)
        case ev.RecordDisturbed():
            return _disturbed(state, event.what, event.seconds, 1)
        case ev.EntriesLost():
            return replace(state, number=max(state.number, event.through))
        case ev.SessionMended():
            return _disturbed(state, "mended", 0.0, event.lost)
        case ev.SessionClosed():
            return replace(state, closed=True)
        case ev.MeterChanged(channel="grout"):
            return replace(state, flow=metering.after_change(flow, event, elapsed_s))
        case ev.MeterRebased(channel="grout"):
            return replace(state, flow=metering.after_rebase(flow, event, elapsed_s))
        case ev.GapAnswered():
            return replace(state, flow=metering.after_answer(flow, event))
        case ev.AlarmRaised() | ev.AlarmCleared() | ev.AlarmAcknowledged():
            return replace(state, alarms=_alarms_after(state.alarms, entry, event, elapsed_s))
    return state


def _voided(state: State, number: int) -> frozenset[int]:
    """The voided with `number`; where that was a correction, what it corrected stands again."""
    event = next((kept.entry.event for kept in state.entries if kept.entry.number == number), None)
    if isinstance(event, ev.EntryCorrected) and number not in state.voided:
        return state.voided - {event.entry} | {number}
    return state.voided | {number}


def _disturbed(state: State, what: str, seconds: float, times: int) -> State:
    before = next((told.times for told in state.disturbances if told.what == what), 0)
    others = tuple(told for told in state.disturbances if told.what != what)
    latest = Disturbance(what, seconds, before + times, state.elapsed_s)
    return replace(state, disturbances=(*others, latest))


def _alarms_after(
    alarms: tuple[Alarm, ...],
    entry: Entry,
    event: ev.AlarmRaised | ev.AlarmCleared | ev.AlarmAcknowledged,
    elapsed_s: float,
) -> tuple[Alarm, ...]:
    if isinstance(event, ev.AlarmRaised):
        return (*alarms, _alarm(entry.number, entry.at, event, elapsed_s))
    changed: list[Alarm] = []
    for alarm in alarms:
        if alarm.alarm != event.alarm:
            changed.append(alarm)
        elif isinstance(event, ev.AlarmCleared):
            changed.append(replace(alarm, active=False, cleared_at=alarm.cleared_at or entry.at))
        elif alarm.acknowledged_at is None:
            changed.append(replace(alarm, acknowledged_at=entry.at, done=event.done, who=entry.who))
        else:
            changed.append(alarm)
    return tuple(changed)


def _alarm(number: int, at: datetime, event: ev.AlarmRaised, elapsed_s: float) -> Alarm:
    return Alarm(
        alarm=event.alarm,
        number=number,
        severity=event.severity,
        words=event.words,
        value=event.value,
        limit=event.limit,
        measure=event.measure,
        raised_s=elapsed_s,
        raised_at=at,
        entry=event.entry,
        other=event.other,
    )
