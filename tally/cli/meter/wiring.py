"""The options that say which meter and how it is read, and the meter that they name."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from tally.cli.fault import CommandFault

if TYPE_CHECKING:
    from tally.job.wired import MeterPlan
    from tally.meters.dialect import Dialect
    from tally.units import Gallon

BAUD = 9600


def reading_options(parser: argparse.ArgumentParser) -> None:
    """How lines are read, where they are not to be looked at first."""
    parser.add_argument("--pattern", help="regular expression with named groups, such as '(?P<total>[0-9.]+) L'")
    parser.add_argument("--units", metavar="NAME=UNIT,…", default="", help="such as total=L,rate=L/min")
    parser.add_argument("--k-factor", metavar="K", help='of a pulse counter: "98.5 pulses/L" or "0.0102 L/pulse"')
    parser.add_argument("--gallons", choices=("US", "imperial"), help="which ones, where a meter only says gal")


def port_options(parser: argparse.ArgumentParser, *, required: bool = True) -> None:
    parser.add_argument("port", nargs=None if required else "?", metavar="PORT",
                        help="a device such as /dev/ttyUSB0 or COM3, or socket://address:number")  # fmt: skip
    parser.add_argument("--baud", type=_baud, default=BAUD, help=f"bits a second (default {BAUD})")
    parser.add_argument("--bits", type=_bits, default="8N1", help="data bits, parity, stop bits (default 8N1)")


def shown_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--shown", choices=("metric", "us"), default="metric", help="units of what is printed")


def _baud(text: str) -> int:
    if not text.isdecimal() or not 300 <= int(text) <= 4_000_000:
        raise argparse.ArgumentTypeError(f"given {text}; a whole number from 300 to 4000000 is accepted")
    return int(text)


def _bits(text: str) -> str:
    bits = text.upper()
    if not (len(bits) == 3 and bits[0] in "78" and bits[1] in "NEO" and bits[2] in "12"):
        raise argparse.ArgumentTypeError(f"given {text}; data bits, parity and stop bits such as 8N1, 8E1 or 7E1")
    return bits


def named_units(text: str) -> dict[str, str]:
    """ "total=L, rate=L/min" as a table."""
    found = {}
    for part in filter(None, (part.strip() for part in text.split(","))):
        name, sign, unit = part.partition("=")
        if not sign or not name.strip() or not unit.strip():
            raise CommandFault(f"--units: given {part!r}; accepted: NAME=UNIT, such as total=L,rate=L/min")
        found[name.strip()] = unit.strip()
    return found


def asked_meter(options: argparse.Namespace, port: str = "") -> MeterPlan | None:
    """The meter that the options describe, or None where they leave its lines to be looked at."""
    if options.pattern is None:
        if options.k_factor is None:
            return None
        return meter(options, "", {}, port)
    return meter(options, options.pattern, named_units(options.units), port)


def meter(options: argparse.Namespace, pattern: str, units: dict[str, str], port: str = "") -> MeterPlan:
    """A meter with that pattern, read as a plan file would be; without one, of the plain dialect or a pulse counter."""
    from tally.meters.proposal import GALLONS
    from tally.planfile.snippet import meter_text, read_meter

    k = options.k_factor or ""
    if k:
        pulse_m3(k, options.gallons)  # refused in its own words
    if not options.gallons and (named := [name for name, unit in units.items() if unit in GALLONS]):
        raise CommandFault(f"{named[0]}: gal says no country, and they differ by 20 %: add --gallons US or imperial")
    units = {name: unit for name, unit in units.items() if name != "pulses" or not k}
    text = meter_text(port=port or options.port or "none", baud=options.baud, pattern=pattern, units=units, k=k)
    found = read_meter(text, options.gallons, "what was given")
    if isinstance(found, list):
        raise CommandFault("\n  ".join(["the meter cannot be read like that:", *map(str, found)]))
    return found


def pulse_m3(text: str, gallons: Gallon | None, option: str = "--k-factor") -> float:
    """What one pulse stands for."""
    from tally.planfile.pulses import m3_per_pulse
    from tally.units import UnitFault

    try:
        return m3_per_pulse(text, gallons)
    except UnitFault as fault:
        raise CommandFault(f"{option}: {fault}") from fault


def dialect(meter: MeterPlan) -> Dialect:
    """How its lines are read; what the dialect refuses beyond the plan is told as well."""
    from tally.live.instruments import dialect as planned
    from tally.meters.dialect import DialectFault

    try:
        return planned(meter)
    except DialectFault as fault:
        raise CommandFault(str(fault)) from fault


def jump_limit_m3(passed_s: float) -> float:
    """The most that any grout pump moves in so many seconds, as a session takes it."""
    from tally.live.sampling import FASTEST_M3_S, LEAP_FLOOR_M3

    return LEAP_FLOOR_M3 + FASTEST_M3_S * passed_s
