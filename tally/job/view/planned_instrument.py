"""The plan's instruments: what counts the grout, what checks it, where each is and how read, and what is not there."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from tally.job.plan import Plan
from tally.job.view.quantity import Kind, Quantity
from tally.job.wired import GROUT, Instrument, MeterPlan, Wired

_GAUGES = {"force_n": Kind.LOAD, "pressure_pa": Kind.PRESSURE, "density_kg_m3": Kind.DENSITY, "rate_m3_s": Kind.RATE}
_TYPED = {
    "grout in": "a second meter for grout in: nothing checks the count",
    "returns out": "a meter in the returns: they are entered as they are seen (r)",
    "hook load": "a hook load: it is typed (h)",
    "pressure": "a pressure gauge",
    "density": "a density of the returns: it is typed (y)",
}
"""What does not stand in the plan, and what that means on the day."""


@dataclass(frozen=True, slots=True)
class RegisterPlan:
    reads: str
    unit: int
    bank: str
    address: int
    type: str
    order: str


@dataclass(frozen=True, slots=True)
class InstrumentPlan:
    name: str
    measures: str
    counts: bool
    """True for the one whose volume counts; any other of grout in checks it."""
    port: str
    baud: int
    bits: str
    shares_with: tuple[str, ...]
    """Names of the others on its port."""
    source: Literal["lines", "pulses", "current", "modbus"]
    pattern: str
    """Of its lines; empty for Modbus."""
    reads: tuple[str, ...]
    registers: tuple[RegisterPlan, ...]
    every: Quantity
    """How often registers are asked for; unknown for what speaks by itself."""
    pulse: Quantity
    """What one pulse or stroke stands for: K the one way."""
    pulses_per_m3: float | None
    """K the other way."""
    at_4_ma: Quantity
    at_20_ma: Quantity
    rolls_over: Quantity
    tolerance: Quantity
    """Of the one that counts."""
    keeps_count: bool
    """Whether its total tells afterwards what went by while nobody listened."""


@dataclass(frozen=True, slots=True)
class MeteringPlan:
    """`counts` says by what the grout is counted; `missing` what is not there, and what that means."""

    counts: str
    instruments: tuple[InstrumentPlan, ...]
    tank: bool
    stroke: Quantity
    """What a stroke counted by hand delivers."""
    missing: tuple[str, ...]


def metering_plan(plan: Plan) -> MeteringPlan:
    wired: tuple[Wired, ...] = (*((plan.meter,) if plan.meter else ()), *plan.instruments)
    pump = plan.pump
    stroke_m3 = pump.stroke_m3 * pump.efficiency_share if pump and pump.stroke_m3 and pump.efficiency_share else None
    return MeteringPlan(
        counts=_counts(plan, stroke_m3),
        instruments=tuple(_instrument(one, wired) for one in wired),
        tank=plan.tank is not None,
        stroke=Quantity(stroke_m3, Kind.VOLUME),
        missing=tuple(_missing(plan)),
    )


def _counts(plan: Plan, stroke_m3: float | None) -> str:
    if plan.meter is not None:
        return _name(plan.meter)
    by_hand = ["dips of the tank (x)"] * (plan.tank is not None)
    return " and ".join([*by_hand, "strokes or volumes typed (v)" if stroke_m3 else "volumes typed (v)"])


def _missing(plan: Plan) -> Iterator[str]:
    if plan.meter is None:
        yield "a meter that counts the grout"
    there = {one.measures for one in plan.instruments}
    for measures, words in _TYPED.items():
        if measures == "grout in" and (plan.tank is not None or plan.meter is None):
            continue  # its dips are the check, or there is nothing to check
        if measures not in there:
            yield words


def _name(wired: Wired) -> str:
    return wired.name or "the meter"


def _instrument(wired: Wired, every: tuple[Wired, ...]) -> InstrumentPlan:
    factors = {one.reads: one.factor for one in wired.registers} | wired.factors
    pulse_m3, loop = factors.get("pulses"), wired.loop
    kind = Kind.VOLUME if loop is None else _GAUGES[loop.quantity]
    measures = wired.measures if isinstance(wired, Instrument) else "grout in"
    return InstrumentPlan(
        name=_name(wired),
        measures=measures,
        counts=isinstance(wired, MeterPlan) and wired.channel == GROUT,
        port=wired.port,
        baud=wired.baud,
        bits=wired.bits,
        shares_with=tuple(_name(one) for one in every if one is not wired and one.port == wired.port),
        source=_source(wired, factors),
        pattern=wired.pattern,
        reads=tuple(factors),
        registers=tuple(
            RegisterPlan(one.reads, one.unit, one.bank, one.address, one.type, one.order) for one in wired.registers
        ),
        every=Quantity(wired.every_s if wired.registers else None, Kind.DURATION),
        pulse=Quantity(pulse_m3, Kind.VOLUME),
        pulses_per_m3=None if pulse_m3 is None else 1.0 / pulse_m3,
        at_4_ma=Quantity(loop.at_4 if loop else None, kind),
        at_20_ma=Quantity(loop.at_20 if loop else None, kind),
        rolls_over=Quantity(wired.modulus_m3, Kind.VOLUME),
        tolerance=Quantity(wired.tolerance_share if isinstance(wired, MeterPlan) else None, Kind.SHARE),
        keeps_count=wired.keeps_count,
    )


def _source(wired: Wired, factors: dict[str, float]) -> Literal["lines", "pulses", "current", "modbus"]:
    if wired.registers:
        return "modbus"
    if "pulses" in factors:
        return "pulses"
    return "current" if wired.loop is not None else "lines"
