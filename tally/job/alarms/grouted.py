"""Rules about the casing beside which grout stands."""

from __future__ import annotations

from tally.job import grouted
from tally.job.alarms.condition import Condition, StageRule
from tally.job.fill import Fill
from tally.job.grouted import Grouted
from tally.job.state import Stage, State
from tally.job.view.quantity import Kind

LEAST_N = 500.0
"""Less than the weight of half a person is held by any clamp: common practice."""


class _Worked:
    """Both rules ask in turn for the same stage at the same moment."""

    def __init__(self) -> None:
        self._last: tuple[Fill, Grouted | None] | None = None

    def of(self, state: State, stage: Stage, fill: Fill) -> Grouted | None:
        if self._last is None or self._last[0] is not fill:
            self._last = fill, grouted.grouted(state, stage, fill)
        return self._last[1]


_worked = _Worked()


def casing_lifts(state: State, stage: Stage, fill: Fill) -> Condition | None:
    """More hold-down is needed than was looked at before the first batch: none where nobody confirmed that."""
    found = _worked.of(state, stage, fill)
    if found is None or found.hold_down_n <= LEAST_N:
        return None
    looked_at = any(check.check == "casing" and check.confirmed for check in state.grout.checks)
    planned = min(stage.index, len(state.plan.stages) - 1)
    limit_n = grouted.planned_hold_down_n(state.plan, planned) if looked_at else 0.0
    if found.hold_down_n <= limit_n:
        return None
    return Condition("casing-lifts", found.hold_down_n, limit_n, Kind.LOAD)


def collapse_margin(state: State, stage: Stage, fill: Fill) -> Condition | None:
    found = _worked.of(state, stage, fill)
    if found is None or found.pressed_pa <= found.allowed_pa:
        return None
    return Condition("collapse-margin", found.pressed_pa, found.allowed_pa, Kind.PRESSURE)


STAGE_RULES: tuple[StageRule, ...] = (casing_lifts, collapse_margin)
