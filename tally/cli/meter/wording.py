"""Lines, readings and counts of a meter on the bench, as text."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tally.cli.meter import wiring
from tally.meters.bench import Bench, PacketBench

if TYPE_CHECKING:
    from tally.formats import Units
    from tally.meters.bench import Heard
    from tally.meters.reading import Reading

RAW_WIDTH = 40
HEX_BYTES = 13
PACKET_BYTES = 17


def heard_line(heard: Heard, since_s: float, units: Units) -> str:
    """The time, the line as it came (packets and garbage in hex), and what it was read as."""
    from tally.meters.dialect import shown

    if heard.is_text:
        raw = shown(heard.data.decode("utf-8", "replace"))
        raw = raw if len(raw) <= RAW_WIDTH else f"{raw[: RAW_WIDTH - 1]}…"
    else:
        most = PACKET_BYTES if heard.asked else HEX_BYTES
        raw = heard.data[:most].hex(" ") + (" …" if len(heard.data) > most else "")
    if heard.readings:
        told = "  ".join(read(reading, units) for reading in heard.readings)
        if heard.step is not None and heard.step.kind != "normal":
            told += f"  {heard.step.kind.upper()}"
    else:
        told = f"?? {heard.why}" if heard.why else " ".join(f"{word:04X}" for word in heard.words)
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
    """What all lines or packets come to."""
    told = _asked(bench, passed_s) if isinstance(bench, PacketBench) else _lines(bench, passed_s)
    told += [f"  garbage: {data[:HEX_BYTES].hex(' ')}" for data in bench.garbage_heard]
    if bench.last_total_m3 is not None:
        told.append(
            f"  moved {volume(bench.moved_m3, units)}; the total stands at {volume(bench.last_total_m3, units)}"
        )
    told += [f"  {kind}: {count}" for kind, count in sorted(bench.breaks.items())]
    if bench.doubtful_m3:
        told.append(f"  not counted, since nobody can tell whether it flowed: {volume(bench.doubtful_m3, units)}")
    return told


def _lines(bench: Bench, passed_s: float) -> list[str]:
    unread = bench.lines - bench.read
    pace = f", {bench.lines_a_second:.1f} a second" if bench.lines_a_second else ""
    return [
        f"{passed_s:.1f} s: {bench.bytes} bytes; {bench.lines + bench.garbage} lines{pace}: "
        f"{bench.read} read, {unread} not understood, {bench.garbage} garbage"
    ]


def _asked(bench: PacketBench, passed_s: float) -> list[str]:
    pace = f", {bench.questions_a_second:.1f} a second" if bench.questions_a_second else ""
    return [
        f"{passed_s:.1f} s: {bench.bytes} bytes; {bench.questions} questions{pace}: {bench.read} read, "
        f"{bench.refused} refused, {bench.lines - bench.read - bench.refused} not understood, "
        f"{bench.unanswered} not answered, {bench.garbage} garbage"
    ]


def for_the_plan(options: argparse.Namespace, pattern: str, units: dict[str, str]) -> str:
    """The lines to paste into the plan, and what is still to be said before it takes them."""
    from tally.meters.proposal import GALLONS, OPEN

    k = options.k_factor or (OPEN if "pulses" in units and not options.stroke_volume else "")
    told = ["# for the plan file", wiring.table_text(options, pattern, units, k=k)]
    for name, unit in units.items():
        if unit in GALLONS and not options.gallons:
            told.append(
                f"{name}: which gallon? US and imperial differ by 20 %. Look at the meter's sheet: --gallons US"
            )
        elif name == "pulses" and k == OPEN:
            told.append("pulses: what is one pulse? By a bucket test: tally meter calibrate; or --k-factor")
        elif name == "current" and not (options.at_4 and options.at_20):
            told.append(
                "current: what do 4 and 20 mA stand for? See the transmitter's sheet: "
                "--at-4 '0 L/min' --at-20 '120 L/min'"
            )
        elif unit == OPEN:
            told.append(f"{name}: in which unit? The line does not say; look at the meter's display: --units {name}=L")
    return "\n".join(told)
