"""The plan's instruments as lines: what counts, what checks it, how each is read, and what is not there."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from tally.formats import GALLON_M3, Units, plain
from tally.formats import text as written
from tally.job.view.planned import PlanView
from tally.job.view.planned_instrument import InstrumentPlan
from tally.report.row import WIDTH

_L_M3 = 1e-3
_SENT = {"lines": "lines", "pulses": "pulses", "current": "4 to 20 mA", "modbus": "Modbus"}


def instrument_lines(view: PlanView, units: Units) -> Iterator[str]:
    metering = view.metering
    yield f"INSTRUMENTS, the grout is counted by {plain(metering.counts)}"
    for one in metering.instruments:
        role = "counts" if one.counts else "checks it" if one.measures == "grout in" else one.measures
        yield from _folded(f"{one.name} ({role}): {_where(one)}", "  ")
        yield from _folded("; ".join(_how(one, units)), "    ")
    if metering.tank:
        yield "  dips of the tank (x)" + (" check it" if metering.instruments else "")
    if metering.stroke.si is not None:
        yield f"  a stroke counted by hand (v) delivers {_volume(metering.stroke.si, units)}"
    if metering.missing:
        yield "  not there:"
    for words in metering.missing:
        yield from _folded(words, "    ")


def _where(one: InstrumentPlan) -> str:
    wire = "" if one.port.lower().startswith("tcp://") else f", {one.baud} baud {one.bits}"
    shared = f", shared with {' and '.join(one.shares_with)}" if one.shares_with else ""
    return f"{one.port}{wire}{shared}"


def _how(one: InstrumentPlan, units: Units) -> Iterator[str]:
    yield _SENT[one.source] + (f" of {' and '.join(one.reads)}" if one.source == "lines" else "")
    if one.every.si is not None:
        yield f"asked every {one.every.si:g} s"
    for each in one.registers:
        yield f"{each.reads} from {each.bank} {each.address} of unit {each.unit}, {each.type} {each.order}"
    if one.pulse.si is not None and one.pulses_per_m3 is not None:
        unit_m3, unit = (GALLON_M3, "US gal") if units == "us" else (_L_M3, "L")
        yield f"K {one.pulses_per_m3 * unit_m3:.6g} pulses/{unit}, that is {one.pulse.si / unit_m3:.6g} {unit}/pulse"
    if one.at_4_ma.si is not None:
        yield f"{written(one.at_4_ma, units)} at 4 mA, {written(one.at_20_ma, units)} at 20 mA"
    if one.rolls_over.si is not None:
        yield f"rolls over at {_volume(one.rolls_over.si, units)}"
    if one.tolerance.si is not None:
        yield f"± {written(one.tolerance, units)}"
    if one.measures in ("grout in", "returns out") and not one.keeps_count:
        yield "keeps no count: what goes by unheard is lost"


def _volume(m3: float, units: Units) -> str:
    return f"{m3 / GALLON_M3:,.6g} US gal" if units == "us" else f"{m3 / _L_M3:,.6g} L"


def _folded(text: str, indent: str) -> list[str]:
    return wrap(plain(text), WIDTH, initial_indent=indent, subsequent_indent=indent + "  ")
