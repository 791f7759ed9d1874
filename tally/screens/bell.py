"""When the bell rings: at once for an alarm that nobody answered, and again until somebody does."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tally.job.view.alarms import AlarmRow

EVERY_S = {"stop-and-look": 10.0, "caution": 30.0}
"""A note does not ring."""


class Bell:
    """Asked at every tick; remembers when it rang last and for what."""

    def __init__(self, *, muted: bool = False) -> None:
        self.muted = muted
        self._rang_s = -1e9
        self._for: frozenset[tuple[str, int]] = frozenset()

    def due(self, rows: Sequence[AlarmRow], now_s: float) -> bool:
        """Whether it rings now. `rows`: the alarms on the bar."""
        waiting = [row for row in rows if not row.acknowledged and row.severity in EVERY_S]
        these = frozenset((row.alarm, int(row.raised_at.timestamp())) for row in waiting)
        fresh, self._for = bool(these - self._for), these
        if not waiting or self.muted:
            return False
        every_s = min(EVERY_S[row.severity] for row in waiting)
        if not fresh and now_s - self._rang_s < every_s:
            return False
        self._rang_s = now_s
        return True
