"""The plan's meter as a meter: the one place where what is planned meets what is plugged in."""

from __future__ import annotations

from collections.abc import Callable

from tally.job.plan import MeterPlan, Plan
from tally.live.clock import Clock
from tally.meters.dialect import LineDialect
from tally.meters.meter import Meter
from tally.meters.source import Source


def grout_meter(plan: Plan, clock: Clock, on_raw: Callable[[str, float, bytes], None]) -> Source | None:
    """The grout meter that the plan names, not yet started; None where it names none."""
    if plan.meter is None:
        return None
    return Meter("grout", plan.meter.port, plan.meter.baud, dialect(plan.meter), clock=clock, on_raw=on_raw)


def dialect(meter: MeterPlan) -> LineDialect:
    """How the meter's lines are read. The plan file has tried the pattern already."""
    return LineDialect(meter.pattern, meter.factors)
