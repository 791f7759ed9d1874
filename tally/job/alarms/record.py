"""Rules about the record itself: its disk, its file and the clock under it."""

from __future__ import annotations

from tally.job.alarms.condition import Condition, Rule
from tally.job.state import Disturbance, State
from tally.job.view.quantity import Kind

SHOWN_S = 3.0
CLOCK_STEP_S = 2.0
"""A clock that is set right little by little never steps so far; common practice."""
SLOW_S = 2.0
"""From Enter to "saved": about as long as a person waits before pressing again; common practice."""


def clock_jumped(state: State) -> Condition | None:
    told = _lately(state, "clock jumped")
    if told is None or abs(told.seconds) <= CLOCK_STEP_S:
        return None
    return Condition("clock-jumped", abs(told.seconds), CLOCK_STEP_S, Kind.DURATION)


def disk_slow(state: State) -> Condition | None:
    told = _lately(state, "slow disk")
    if told is None or told.seconds <= SLOW_S:
        return None
    return Condition("disk-slow", told.seconds, SLOW_S, Kind.DURATION)


def record_interrupted(state: State) -> Condition | None:
    told = _lately(state, "not written")
    if told is None or told.seconds <= 0.0:
        return None
    return Condition("record-interrupted", told.seconds, 0.0, Kind.DURATION)


def session_moved(state: State) -> Condition | None:
    told = _lately(state, "file moved") or _lately(state, "file put back")
    return Condition("session-moved", float(told.times), 0.0, Kind.COUNT) if told is not None else None


def record_mended(state: State) -> Condition | None:
    told = _lately(state, "mended")
    if told is None or not told.times:
        return None
    return Condition("record-mended", float(told.times), 0.0, Kind.COUNT)


def _lately(state: State, what: str) -> Disturbance | None:
    for each in state.disturbances:
        if each.what == what and state.elapsed_s - each.elapsed_s <= SHOWN_S:
            return each
    return None


RULES: tuple[Rule, ...] = (clock_jumped, disk_slow, record_interrupted, session_moved, record_mended)
