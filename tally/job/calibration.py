"""What a bucket test changes: the meter's factors, and the total that was heard last in their measure."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, TypeVar

from tally.job.state import Flow
from tally.job.wired import MeterPlan, Wired

WiredT = TypeVar("WiredT", bound=Wired)
COUNTS = ("total", "pulses")
VOLUMES = (*COUNTS, "rate")


def corrected(meter: WiredT, correction: float) -> WiredT:
    """The meter with each volume and rate times `correction`, true over shown."""
    factors = {name: factor * (correction if name in VOLUMES else 1.0) for name, factor in meter.factors.items()}
    registers = tuple(
        one.model_copy(update={"factor": one.factor * correction}) if one.reads in VOLUMES else one
        for one in meter.registers
    )
    changed: dict[str, Any] = {"factors": factors, "registers": registers}
    if meter.loop is not None and meter.loop.quantity == "rate_m3_s":
        ends = {"at_4": meter.loop.at_4 * correction, "at_20": meter.loop.at_20 * correction}
        changed["loop"] = meter.loop.model_copy(update=ends)
    return meter.model_copy(update=changed)


def remeasured(flow: Flow, before: MeterPlan | None, after: MeterPlan | None) -> Flow:
    """The last total as the changed meter would have given it, so that a new factor is no leap of the count."""
    old, new = (_count_factor(meter) for meter in (before, after))
    if flow.last_total_m3 is None or old is None or new is None or before is None or after is None or old == new:
        return flow
    if (before.port, before.pattern) != (after.port, after.pattern):
        return flow  # another meter: its total has nothing to do with that of the one before
    return replace(flow, last_total_m3=round(flow.last_total_m3 * new / old, 9))


def _count_factor(meter: MeterPlan | None) -> float | None:
    """SI value of one of what the meter counts; None where it counts nothing."""
    if meter is None:
        return None
    factors = {one.reads: one.factor for one in meter.registers} | meter.factors
    return next((factors[name] for name in COUNTS if name in factors), None)
