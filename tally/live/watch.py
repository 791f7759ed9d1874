"""What befalls the record itself, as events: a slow or full disk, a moved or deleted file, a clock that jumps."""

from __future__ import annotations

from pathlib import Path

from tally.job import events as ev
from tally.job.alarms.record import CLOCK_STEP_S, SLOW_S
from tally.live.clock import Clock
from tally.record.writer import Writer

TIGHT_S = 0.5
"""Two looks at clocks that are further apart say nothing of a jump."""
SLOW_TOLD_EVERY_S = 600.0
"""A disk that stays slow is not told with every entry."""


class Watch:
    """Looks on while a session is written; saves nothing itself."""

    def __init__(self, clock: Clock, writer: Writer) -> None:
        self._clock, self._writer = clock, writer
        self._ahead_s = self._wall_ahead_s()
        self._slowest_s = 0.0
        self._slow_told_s: float | None = None
        self._failing: tuple[float, str] | None = None
        """Since when nothing can be saved, and why."""
        self._moved = False
        self._rewritten = 0

    def saved(self, began_s: float) -> None:
        """An entry that was begun to be saved at `began_s` is on the disk."""
        self._slowest_s = max(self._slowest_s, (self._clock.monotonic() - began_s) / self._clock.speed)

    def failed(self, why: str) -> None:
        """Nothing could be saved just now."""
        if self._failing is None:
            self._failing = (self._clock.monotonic(), why)

    def recovered(self) -> list[ev.RecordDisturbed]:
        """What there is to tell once everything is saved again."""
        if self._failing is None:
            return []
        (since_s, why), self._failing = self._failing, None
        return [_told("not written", self._clock.monotonic() - since_s, why)]

    def look(self) -> list[ev.RecordDisturbed]:
        """What is new since the last look: one a heartbeat."""
        return [*self._clock_told(), *self._disk_told(), *self._file_told()]

    def _wall_ahead_s(self) -> float | None:
        """How far the wall clock is ahead of the running one; None where something came between the two looks."""
        before_s, wall_s = self._clock.monotonic(), self._clock.utc().timestamp()
        return wall_s - before_s if self._clock.monotonic() - before_s <= TIGHT_S else None

    def _clock_told(self) -> list[ev.RecordDisturbed]:
        now_s, before_s = self._wall_ahead_s(), self._ahead_s
        if now_s is None:
            return []
        self._ahead_s = now_s
        if before_s is None or abs(now_s - before_s) <= CLOCK_STEP_S:
            return []
        return [_told("clock jumped", now_s - before_s)]

    def _disk_told(self) -> list[ev.RecordDisturbed]:
        slowest_s, self._slowest_s, now_s = self._slowest_s, 0.0, self._clock.monotonic()
        if slowest_s <= SLOW_S:
            return []
        if self._slow_told_s is not None and now_s - self._slow_told_s < SLOW_TOLD_EVERY_S:
            return []
        self._slow_told_s = now_s
        return [_told("slow disk", slowest_s)]

    def _file_told(self) -> list[ev.RecordDisturbed]:
        if self._writer.rewritten != self._rewritten:
            self._rewritten, self._moved = self._writer.rewritten, False
            return [_told("file put back", 0.0, f"it was deleted and is written anew in {_name(self._writer.path)}")]
        was, self._moved = self._moved, self._writer.moved
        if was or not self._moved:
            return []
        return [_told("file moved", 0.0, f"no longer in {_name(self._writer.path)}")]


def _name(path: Path) -> str:
    return str(path)[-400:]


def _told(what: str, seconds: float, why: str = "") -> ev.RecordDisturbed:
    return ev.RecordDisturbed.model_validate({"what": what, "seconds": round(seconds, 3), "why": why[:500]})
