"""Alarms as they are read: loudest first, each with its number, its limit and what usually helps."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from tally.job.alarms.wording import WORDINGS, Wording
from tally.job.state import Alarm, State
from tally.job.view.quantity import Kind, Quantity, Sentence

LOUDNESS = {"stop-and-look": 0, "caution": 1, "note": 2}


@dataclass(frozen=True, slots=True)
class AlarmRow:
    alarm: str
    severity: str
    title: str
    sentence: Sentence
    helps: tuple[str, ...]
    raised_at: datetime
    standing: bool
    active: bool
    """Its cause is still there."""
    acknowledged: bool
    done: str
    who: str
    cleared_at: datetime | None
    acknowledged_at: datetime | None
    voided: bool
    """It rests on an entry that was voided since."""


def alarms(state: State) -> tuple[AlarmRow, ...]:
    """Every alarm of the session: those on the bar first, loudest first, then what still holds, then the latest."""
    rows = [_row(state, alarm) for alarm in state.alarms]
    rows.sort(key=lambda row: row.raised_at, reverse=True)
    rows.sort(key=lambda row: (not row.standing, row.acknowledged, LOUDNESS[row.severity], not row.active))
    return tuple(rows)


def standing(state: State) -> tuple[AlarmRow, ...]:
    """The alarms on the bar."""
    return tuple(row for row in alarms(state) if row.standing)


def sentence(alarm: str, value: float, limit: float, measure: str, other: float | None = None) -> Sentence:
    """What alarm `alarm` says with these numbers; alarms of a program that knew others say their numbers plainly."""
    kind = Kind(measure) if measure in set(Kind) else Kind.COUNT
    known = WORDINGS.get(alarm)
    text = known.sentence if known else "{value}, limit {limit}"
    return Sentence(
        text.replace("{value}", "{0}").replace("{limit}", "{1}").replace("{other}", "{2}"),
        (Quantity(value, kind), Quantity(limit, kind), Quantity(other, kind)),
    )


def _row(state: State, alarm: Alarm) -> AlarmRow:
    known: Wording | None = WORDINGS.get(alarm.alarm)
    return AlarmRow(
        alarm=alarm.alarm,
        severity=alarm.severity,
        title=alarm.words,
        sentence=sentence(alarm.alarm, alarm.value, alarm.limit, alarm.measure, alarm.other),
        helps=known.helps if known else (),
        raised_at=alarm.raised_at,
        standing=alarm.standing,
        active=alarm.active,
        acknowledged=alarm.acknowledged_at is not None,
        done=alarm.done,
        who=alarm.who,
        cleared_at=alarm.cleared_at,
        acknowledged_at=alarm.acknowledged_at,
        voided=alarm.entry is not None and alarm.entry in state.voided,
    )
