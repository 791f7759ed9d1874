"""Rules about the casing beside which grout stands."""

from __future__ import annotations

from tally.job import grouted
from tally.job.alarms.condition import Condition, StageRule
from tally.job.fill import Fill
from tally.job.grouted import Grouted
from tally.job.plan import Plan
from tally.job.state import Stage, State
from tally.job.strength import allowed_in_grout_pa
from tally.job.view.quantity import Kind

LEAST_N = 500.0
"""Less than the weight of half a person is held by any clamp: common practice."""


class _Worked:
    """Both rules ask in turn for the same stage at the same moment, and for limits that stand as long as the plan."""

    def __init__(self) -> None:
        self._last: tuple[Fill, Grouted | None] | None = None
        self._limits: tuple[Plan, int, float, float] | None = None

    def of(self, state: State, stage: Stage, fill: Fill) -> Grouted | None:
        if self._last is None or self._last[0] is not fill:
            self._last = fill, grouted.grouted(state, stage, fill)
        return self._last[1]

    def limits(self, plan: Plan, index: int) -> tuple[float, float]:
        """Hold-down that the list asks for [N], and what the wall may bear [Pa]."""
        if self._limits is None or self._limits[0] is not plan or self._limits[1] != index:
            planned = grouted.planned_hold_down_n(plan, min(index, len(plan.stages) - 1))
            self._limits = plan, index, planned, allowed_in_grout_pa(plan)
        return self._limits[2], self._limits[3]


_worked = _Worked()


def casing_lifts(state: State, stage: Stage, fill: Fill) -> Condition | None:
    """More hold-down is needed than was looked at before the first batch: none where nobody confirmed that."""
    found = _worked.of(state, stage, fill)
    needed_n = 0.0 if found is None else found.hold_down_n
    if needed_n <= LEAST_N:
        return None
    looked_at = any(check.check == "casing" and check.confirmed for check in state.grout.checks)
    limit_n = _worked.limits(state.plan, stage.index)[0] if looked_at else 0.0
    return Condition("casing-lifts", needed_n, limit_n, Kind.LOAD) if needed_n > limit_n else None


def collapse_margin(state: State, stage: Stage, fill: Fill) -> Condition | None:
    found = _worked.of(state, stage, fill)
    allowed_pa = _worked.limits(state.plan, stage.index)[1]
    if found is None or found.most_pa <= allowed_pa:
        return None
    pressed_pa = found.pressed_pa
    return Condition("collapse-margin", pressed_pa, allowed_pa, Kind.PRESSURE) if pressed_pa > allowed_pa else None


STAGE_RULES: tuple[StageRule, ...] = (casing_lifts, collapse_margin)
