"""One day out of a session: what was done since it began; lengths, depths and counts stand as they came to be."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, Protocol, TypeVar

from tally.job.state import State
from tally.job.view.alarms import AlarmRow
from tally.job.view.reported_grout import StageReport

if TYPE_CHECKING:
    from tally.job.view.report import ReportView


class _Timed(Protocol):
    @property
    def at(self) -> datetime: ...


Row = TypeVar("Row", bound=_Timed)


def elapsed_s(state: State, at: datetime) -> float:
    """Session seconds at a time of day: by the last entry before it."""
    before = [kept for kept in state.entries if kept.entry.at < at]
    return before[-1].elapsed_s + (at - before[-1].entry.at).total_seconds() if before else 0.0


def since(view: ReportView, begins: datetime) -> ReportView:
    """The view without the rows of earlier days. What was corrected or answered that day is of that day."""

    def kept(rows: Iterable[Row]) -> tuple[Row, ...]:
        return tuple(row for row in rows if row.at >= begins)

    casing = replace(
        view.casing,
        joints=kept(view.casing.joints),
        rejected=kept(view.casing.rejected),
        cut_offs=kept(view.casing.cut_offs),
        centralizers=kept(view.casing.centralizers),
        loads=kept(view.casing.loads),
    )
    return replace(
        view,
        since=begins,
        moments=kept(view.moments),
        casing=casing,
        stages=tuple(stage for stage in view.stages if _touched(stage, begins)),
        loose_batches=kept(view.loose_batches),
        alarms=tuple(row for row in view.alarms if _heard(row, begins)),
        corrections=kept(view.corrections),
        meter=kept(view.meter),
        measured=kept(view.measured),
        weather=kept(view.weather),
        notes=kept(view.notes),
        record=kept(view.record),
    )


def _touched(stage: StageReport, begins: datetime) -> bool:
    last = max((row.at for row in stage.tags), default=stage.started_at)
    return stage.ended_at is None or max(stage.ended_at, last) >= begins


def _heard(row: AlarmRow, begins: datetime) -> bool:
    times = (row.raised_at, row.cleared_at, row.acknowledged_at)
    return row.standing or any(at is not None and at >= begins for at in times)
