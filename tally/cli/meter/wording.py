"""Lines, readings and counts of a meter on the bench, as text."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tally.formats import Units
    from tally.meters.bench import Bench, Heard
    from tally.meters.reading import Reading

RAW_WIDTH = 40
HEX_BYTES = 13


def heard_line(heard: Heard, since_s: float, units: Units) -> str:
    """The time, the line as it came (garbage in hex), and what it was read as."""
    from tally.meters.dialect import shown

    if heard.is_text:
        raw = shown(heard.data.decode("utf-8", "replace"))
        raw = raw if len(raw) <= RAW_WIDTH else f"{raw[: RAW_WIDTH - 1]}…"
    else:
        raw = heard.data[:HEX_BYTES].hex(" ") + (" …" if len(heard.data) > HEX_BYTES else "")
    if heard.readings:
        told = "  ".join(read(reading, units) for reading in heard.readings)
        if heard.step is not None and heard.step.kind != "normal":
            told += f"  {heard.step.kind.upper()}"
    else:
        told = f"?? {heard.why}" if heard.why else ""
    return f"{since_s:8.2f}  {raw:<{RAW_WIDTH}}  {told}".rstrip()


def read(reading: Reading, units: Units) -> str:
    """ "total 1,234.56 L": a reading in full, for comparing with the meter's display."""
    from tally import formats
    from tally.job.view.quantity import Kind, Quantity

    if reading.quantity == "total_m3":
        return f"total {volume(reading.value, units)}"
    name, kind = {
        "rate_m3_s": ("rate", Kind.RATE),
        "density_kg_m3": ("density", Kind.DENSITY),
        "force_n": ("force", Kind.LOAD),
        "pressure_pa": ("pressure", Kind.PRESSURE),
    }[reading.quantity]
    return f"{name} {formats.text(Quantity(reading.value, kind), units)}"


def volume(m3: float, units: Units) -> str:
    """A volume with the digits of a meter's display."""
    from tally.formats import GALLON_M3

    return f"{m3 / GALLON_M3:,.3f} US gal" if units == "us" else f"{m3 * 1000:,.2f} L"


def summary(bench: Bench, passed_s: float, units: Units) -> list[str]:
    """What all lines come to."""
    unread = bench.lines - bench.read
    pace = f", {bench.lines_a_second:.1f} a second" if bench.lines_a_second else ""
    told = [
        f"{passed_s:.1f} s: {bench.bytes} bytes; {bench.lines + bench.garbage} lines{pace}: "
        f"{bench.read} read, {unread} not understood, {bench.garbage} garbage"
    ]
    told += [f"  garbage: {data[:HEX_BYTES].hex(' ')}" for data in bench.garbage_heard]
    if bench.last_total_m3 is not None:
        told.append(
            f"  moved {volume(bench.moved_m3, units)}; the total stands at {volume(bench.last_total_m3, units)}"
        )
    told += [f"  {kind}: {count}" for kind, count in sorted(bench.breaks.items())]
    if bench.doubtful_m3:
        told.append(f"  not counted, since nobody can tell whether it flowed: {volume(bench.doubtful_m3, units)}")
    return told


def for_the_plan(options: argparse.Namespace, pattern: str, units: dict[str, str]) -> str:
    """The lines to paste into the plan, and what is still to be said before it takes them."""
    from tally.meters.proposal import GALLONS, OPEN
    from tally.planfile.snippet import meter_text

    if options.gallons:
        country = "US" if options.gallons == "US" else "imp"
        units = {name: f"{country} {unit}" if unit in GALLONS else unit for name, unit in units.items()}
    k = options.k_factor or (OPEN if "pulses" in units else "")
    told_units = {name: unit for name, unit in units.items() if name != "pulses" or not k}
    more = () if options.bits == "8N1" else (f'bits = "{options.bits}"',)
    table = meter_text(port=options.port, baud=options.baud, pattern=pattern, units=told_units, k=k, more=more)
    told = ["# for the plan file", table]
    for name, unit in units.items():
        if unit in GALLONS:
            told.append(
                f"{name}: which gallon? US and imperial differ by 20 %. Look at the meter's sheet: --gallons US"
            )
        elif name == "pulses" and k == OPEN:
            told.append("pulses: what is one pulse? By a bucket test: tally meter calibrate; or --k-factor")
        elif unit == OPEN:
            told.append(f"{name}: in which unit? The line does not say; look at the meter's display: --units {name}=L")
    return "\n".join(told)
