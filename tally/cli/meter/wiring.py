"""The meter that the options, or a plan, describe."""

from __future__ import annotations

import argparse
import re
from typing import TYPE_CHECKING, Any

from tally.cli.fault import CommandFault
from tally.cli.meter.options import BAUD, BITS

if TYPE_CHECKING:
    from tally.job.wired import Wired
    from tally.meters.dialect import Dialect
    from tally.meters.transport import Port
    from tally.units import Gallon

CHANNEL_OF = {"density": "density", "pressure": "pressure", "force": "hook load"}
"""What a value is measured for; a volume, a rate or a count is grout in."""


def named_units(text: str) -> dict[str, str]:
    """ "total=L, rate=L/min" as a table."""
    found = {}
    for part in filter(None, (part.strip() for part in text.split(","))):
        name, sign, unit = part.partition("=")
        if not sign or not name.strip() or not unit.strip():
            raise CommandFault(f"--units: given {part!r}; accepted: NAME=UNIT, such as total=L,rate=L/min")
        found[name.strip()] = unit.strip()
    return found


def resolved(options: argparse.Namespace) -> Wired | None:
    """The meter as the plan or the options describe it, or None where they leave its lines to be looked at.

    What was not said of the port is filled in.
    """
    wired = _planned(options) if options.plan is not None else None
    if options.port is None:
        raise CommandFault("name the meter's port, or a plan that does: --plan plan.toml")
    options.baud = options.baud or (wired.baud if wired else BAUD)
    options.bits = options.bits or (wired.bits if wired else BITS)
    if wired is not None:
        return wired.model_copy(update={"port": options.port, "baud": options.baud, "bits": options.bits})
    return asked_meter(options)


def _planned(options: argparse.Namespace) -> Wired:
    """The plan's meter or instrument; its port where no other was named."""
    from tally.cli.common import read_plan

    described = ("pattern", "k_factor", "stroke_volume", "at_4", "address", "source")
    if any(vars(options).get(name) is not None for name in described):
        raise CommandFault("--plan says how the meter is read: leave the other options out, or leave out --plan")
    plan = read_plan(options.plan)
    names = [one.name for one in plan.instruments]
    if options.instrument is None:
        if plan.meter is None:
            raise CommandFault(f"{options.plan} has no [meter]; " + _which(names))
        wired: Wired = plan.meter
    elif (found := next((one for one in plan.instruments if one.name == options.instrument), None)) is not None:
        wired = found
    else:
        raise CommandFault(f"{options.plan} has no instrument {options.instrument!r}; " + _which(names))
    options.port = options.port or wired.port
    options.planned = _table(options)
    options.correction = float(options.planned.get("correction", 1.0))
    return wired


def _table(options: argparse.Namespace) -> dict[str, Any]:
    """The plan's own table of that meter, in its own words."""
    import tomllib

    document = tomllib.loads(options.plan.read_text(encoding="utf-8"))
    others: list[dict[str, Any]] = document.get("instrument", [])
    if options.instrument is None:
        found = document.get("meter") or next((one for one in others if one.get("counts")), {})
    else:
        found = next((one for one in others if one.get("name") == options.instrument), {})
    return dict(found)


def _which(names: list[str]) -> str:
    return f"its instruments are: {', '.join(names)}" if names else "it names no [[instrument]] either"


def source_of(options: argparse.Namespace) -> str:
    """What is sent, as far as the options tell; empty for lines that are to be looked at."""
    said = vars(options)
    if said.get("source"):
        return str(said["source"])
    if said.get("address") is not None or str(said.get("port") or "").lower().startswith("tcp://"):
        return "modbus"
    if said.get("stroke_volume"):
        return "strokes"
    return "current" if said.get("at_4") and not said.get("pattern") else ""


def asked_meter(options: argparse.Namespace) -> Wired | None:
    """The meter that the options describe, or None where they leave open how it is read."""
    source = source_of(options)
    if source == "modbus":
        if options.address is None:
            raise CommandFault("Modbus: which register? --address N, counted from 0: a manual's 40001 is 0")
        sought = vars(options).get("shows") and not (options.units or options.k_factor)
        return None if options.type is None or sought else meter(options, "", named_units(options.units))
    if options.pattern is None and not options.k_factor and source in ("", "lines"):
        return None
    return meter(options, options.pattern or "", named_units(options.units) if options.pattern else {})


def meter(options: argparse.Namespace, pattern: str, units: dict[str, str], port: str = "") -> Wired:
    """A meter with that pattern, read as a plan file would be; without one, as its source usually prints it."""
    from tally.meters.proposal import GALLONS
    from tally.planfile.snippet import read_wired

    if options.k_factor:
        pulse_m3(options.k_factor, options.gallons)  # refused in its own words
    if not options.gallons and (named := [name for name, unit in units.items() if unit in GALLONS]):
        raise CommandFault(f"{named[0]}: gal says no country, and they differ by 20 %: add --gallons US or imperial")
    text = table_text(options, pattern, units, port=port)
    found = read_wired(text, options.gallons, "what was given")
    if isinstance(found, list):
        raise CommandFault("\n  ".join(["the meter cannot be read like that:", *map(str, found)]))
    return found


def table_text(
    options: argparse.Namespace,
    pattern: str,
    units: dict[str, str],
    *,
    port: str = "",
    k: str = "",
    tolerance: str = "2 %",
    efficiency: str = "",
    more: tuple[str, ...] = (),
) -> str:
    """The table of a plan file for the meter that the options describe, gallons with their country."""
    from tally.planfile.snippet import meter_text

    said = vars(options)
    source = source_of(options) or ("current" if "(?P<current>" in pattern else "")
    k = spelled(options, k or options.k_factor or "")
    keys: dict[str, str | int | float] = {}
    registers = []
    if source == "strokes":
        asked = (("stroke_volume", said.get("stroke_volume")), ("efficiency", efficiency or said.get("efficiency")))
        keys, k = {name: spelled(options, value) for name, value in asked if value}, ""
    elif source == "modbus":
        registers = [_register(options, units, k)]
        keys = {"every": f"{said.get('every') or 1:g} s"}
    if source == "current" or "current" in units:
        ends = (("at_4_mA", said.get("at_4")), ("at_20_mA", said.get("at_20")))
        keys |= {name: spelled(options, value) for name, value in ends if value}
    channel = said.get("channel") or next((CHANNEL_OF[name] for name in units if name in CHANNEL_OF), "grout in")
    bits = said.get("bits") or BITS
    return meter_text(
        port=port or options.port or "none",
        baud=options.baud or BAUD,
        pattern=pattern,
        units=None if registers else _printed(options, units, k),
        k="" if source in ("modbus", "current") else k,
        source="" if source == "lines" else source,
        channel=channel if source in ("current", "modbus") else "grout in",
        keys=keys,
        registers=registers,
        tolerance=tolerance,
        more=(*(() if bits == BITS else (f'bits = "{bits}"',)), *more),
    )


def _printed(options: argparse.Namespace, units: dict[str, str], k: str) -> dict[str, str]:
    """The units that a plan asks for beside a pattern: neither of a current, nor of pulses whose K is said."""
    return {
        name: spelled(options, unit)
        for name, unit in units.items()
        if name != "current" and not (name == "pulses" and (k or source_of(options) == "strokes"))
    }


def _register(options: argparse.Namespace, units: dict[str, str], k: str) -> dict[str, Any]:
    units = {name: unit for name, unit in units.items() if name != "pulses" or not k}
    if len(units) + bool(k) != 1:
        raise CommandFault(
            "Modbus: what is it, and in which unit? One value, such as --units total=L, or --k-factor for pulses; "
            "for several, write them into a plan and give --plan"
        )
    name, unit = next(iter(units.items()), ("pulses", ""))
    row: dict[str, Any] = {"reads": name, "address": options.address, "unit": options.unit_id, "bank": options.bank}
    row |= {"type": options.type, "order": options.order or "ABCD"}
    row |= {"k": k} if name == "pulses" else {} if name == "current" else {"units": spelled(options, unit)}
    return row | ({"scale": options.scale} if options.scale not in (None, 1.0) else {})


def spelled(options: argparse.Namespace, text: str) -> str:
    """A gallon with the country that was given for it."""
    if not options.gallons:
        return text
    country = "US" if options.gallons == "US" else "imp"
    return re.sub(r"(?<!US )(?<!imp )\bgal\b", f"{country} gal", text)


def pulse_m3(text: str, gallons: Gallon | None, option: str = "--k-factor") -> float:
    """What one pulse stands for."""
    from tally.planfile.pulses import m3_per_pulse
    from tally.units import UnitFault

    try:
        return m3_per_pulse(text, gallons)
    except UnitFault as fault:
        raise CommandFault(f"{option}: {fault}") from fault


def factors(meter: Wired) -> dict[str, float]:
    """SI value of one of each value that it gives, of lines and of registers."""
    return {one.reads: one.factor for one in meter.registers} | meter.factors


def dialect(meter: Wired) -> Dialect:
    """How it is read; what the dialect refuses beyond the plan is told as well."""
    from tally.live.instruments import dialect as planned
    from tally.meters.dialect import DialectFault

    try:
        return planned(meter)
    except DialectFault as fault:
        raise CommandFault(str(fault)) from fault


def words_port(options: argparse.Namespace) -> Port:
    """A port on which the registers are asked for of which nobody has said what they hold: as many as the longest
    number takes, or as the device gives."""
    from tally.meters.modbus_port import modbus_opener
    from tally.meters.probe import Probe, asking

    with Probe(options.port, options.baud, bits=options.bits, unit=options.unit_id, bank=options.bank) as probe:
        count = len(probe.ask(options.address).words) or 2
    register = asking(options.address, count, options.unit_id, options.bank)
    return modbus_opener((register,), options.every or 1.0, options.bits)(options.port, options.baud)


def jump_limit_m3(passed_s: float) -> float:
    """The most that any grout pump moves in so many seconds, as a session takes it."""
    from tally.live.sampling import FASTEST_M3_S, LEAP_FLOOR_M3

    return LEAP_FLOOR_M3 + FASTEST_M3_S * passed_s
