"""SI values to text for screens and reports. No units library: a handful of exact factors, and one row a kind."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, tzinfo
from functools import cache
from typing import Literal
from zoneinfo import ZoneInfo

from tally.job.view.quantity import Kind, Quantity

Units = Literal["metric", "us"]

UNKNOWN = "–"

# Exact by definition: NIST Special Publication 811 (2008), appendix B.8; the US gallon is 231 cubic inches.
FOOT_M = 0.3048
INCH_M = 0.0254
POUND_KG = 0.45359237
GALLON_M3 = 231 * INCH_M**3
GRAVITY_M_S2 = 9.80665
BAR_PA = 1e5
PSI_PA = POUND_KG * GRAVITY_M_S2 / INCH_M**2


@dataclass(frozen=True, slots=True)
class _Row:
    unit: str
    si: float
    """SI value of one unit."""
    decimals: int
    step: float = 0.0
    """Rounded to a multiple of this, where the last digits would claim too much."""
    small: int | None = None
    """Decimals below `fine_below` units."""
    fine_below: float = 10.0


_METRIC: dict[Kind, _Row] = {
    Kind.DEPTH: _Row("m", 1.0, 2),
    Kind.LENGTH: _Row("m", 1.0, 2),
    Kind.DIAMETER: _Row("mm", 1e-3, 1),
    Kind.VOLUME: _Row("L", 1e-3, 0, small=1, fine_below=100.0),
    Kind.RATE: _Row("L/min", 1e-3 / 60, 0, small=1),
    Kind.LOAD: _Row("t", 1000 * GRAVITY_M_S2, 2),
    Kind.MASS: _Row("kg", 1.0, 1),
    Kind.LINE_MASS: _Row("kg/m", 1.0, 2),
    Kind.CAPACITY: _Row("L/m", 1e-3, 2),
    Kind.DENSITY: _Row("kg/L", 1000.0, 2),
    Kind.PRESSURE: _Row("bar", BAR_PA, 1),
    Kind.VISCOSITY: _Row("cP", 1e-3, 0),
    Kind.YIELD_STRESS: _Row("Pa", 1.0, 1),
    Kind.DURATION: _Row("min", 60.0, 1),
    Kind.SHARE: _Row("%", 0.01, 0, small=1),
    Kind.COUNT: _Row("", 1.0, 0),
}
_US: dict[Kind, _Row] = _METRIC | {
    Kind.DEPTH: _Row("ft", FOOT_M, 2),
    Kind.LENGTH: _Row("ft", FOOT_M, 2),
    Kind.DIAMETER: _Row("in", INCH_M, 3),
    Kind.VOLUME: _Row("US gal", GALLON_M3, 1),
    Kind.RATE: _Row("US gal/min", GALLON_M3 / 60, 1),
    Kind.LOAD: _Row("lb", POUND_KG * GRAVITY_M_S2, 0, step=10.0),
    Kind.MASS: _Row("lb", POUND_KG, 1),
    Kind.LINE_MASS: _Row("lb/ft", POUND_KG / FOOT_M, 2),
    Kind.CAPACITY: _Row("US gal/ft", GALLON_M3 / FOOT_M, 3),
    Kind.DENSITY: _Row("lb/gal", POUND_KG / GALLON_M3, 1),
    Kind.PRESSURE: _Row("psi", PSI_PA, 0, small=1),
    Kind.YIELD_STRESS: _Row("lb/100 ft2", POUND_KG * GRAVITY_M_S2 / (100 * FOOT_M**2), 1),
}


def text(quantity: Quantity, units: Units) -> str:
    """Number and unit: "47.32 m", "9,280 lb", "1 h 05 min"; a dash where the value is not known."""
    if quantity.si is None:
        return UNKNOWN
    if quantity.kind is Kind.DURATION:
        return _duration(quantity.si)
    return f"{number(quantity, units)} {unit(quantity.kind, units)}".rstrip()


def number(quantity: Quantity, units: Units) -> str:
    """The number alone, in the unit that `unit` names."""
    if quantity.si is None:
        return UNKNOWN
    row = _row(quantity.kind, units)
    value = quantity.si / row.si
    if row.step:
        value = round(value / row.step) * row.step
    decimals = row.decimals
    if row.small is not None and 0 < abs(value) < row.fine_below and round(value, row.small) != round(value):
        decimals = row.small
    shown = f"{value:,.{decimals}f}"
    return shown.removeprefix("-") if not shown.strip("-0.,") else shown


def chance(share: Quantity) -> str:
    """How likely something is, in whole percent; nothing is quite certain."""
    if share.si is None:
        return UNKNOWN
    return ">99 %" if share.si > 0.99 else "<1 %" if share.si < 0.01 else f"{share.si * 100:.0f} %"


def in_unit(si: float, kind: Kind, units: Units) -> float:
    """A value as a number of the unit that `unit` names, not rounded."""
    return si / _row(kind, units).si


def unit(kind: Kind, units: Units) -> str:
    """The label of an entry field; also a spelling that `tally.units` reads."""
    return _row(kind, units).unit


def _row(kind: Kind, units: Units) -> _Row:
    return (_US if units == "us" else _METRIC)[kind]


def _duration(seconds: float) -> str:
    sign, whole = ("-" if round(seconds) < 0 else ""), abs(round(seconds))
    if whole < 60:
        return f"{sign}{whole} s"
    if whole < 3600:
        return f"{sign}{whole // 60} min {whole % 60:02d} s"
    minutes = round(abs(seconds) / 60)
    return f"{sign}{minutes // 60} h {minutes % 60:02d} min"


def clock(at: datetime, zone_name: str) -> str:
    """Time of day where the job is: "14:03"."""
    return _local(at, zone_name, "%H:%M")


def clock_s(at: datetime, zone_name: str) -> str:
    """Time of day with seconds: "14:03:27"."""
    return _local(at, zone_name, "%H:%M:%S")


def day(at: datetime, zone_name: str) -> str:
    """The date where the job is: "2024-05-17"."""
    return _local(at, zone_name, "%Y-%m-%d")


def day_span(day: date, zone_name: str) -> tuple[datetime, datetime]:
    """When a day begins where the job is, and when the next one does."""
    zone = _zone(zone_name) or UTC
    begins, ends = (datetime(each.year, each.month, each.day, tzinfo=zone) for each in (day, day + timedelta(days=1)))
    return begins.astimezone(UTC), ends.astimezone(UTC)


def _local(at: datetime, zone_name: str, pattern: str) -> str:
    shown = at.astimezone(zone(zone_name)).strftime(pattern)
    return shown if zone_is_known(zone_name) else f"{shown} UTC"


def zone(name: str) -> tzinfo:
    """The time zone of that name, UTC where it is not known here."""
    return _zone(name) or UTC


@cache
def _zone(name: str) -> tzinfo | None:
    # A session from elsewhere may name anything: a path, a folder, an empty string. Each is "not known here".
    try:
        return ZoneInfo(name)
    except (OSError, ValueError, LookupError):
        return None


def zone_is_known(name: str) -> bool:
    """True where times of this zone can be shown."""
    return _zone(name) is not None


_BREAKS = frozenset("\n\r\t\v\f\x1c\x1d\x1e\x85\u2028\u2029")


def plain(outside: str) -> str:
    """Text from outside as one line that cannot steer a terminal: no control characters, no overrides of direction."""
    return "".join(_kept(character) for character in outside.replace("\r\n", "\n"))


def _kept(character: str) -> str:
    if character in _BREAKS:
        return " "
    return "" if unicodedata.category(character) in ("Cc", "Cf", "Cs", "Co") else character


def cells(text: str) -> int:
    """Columns of a terminal that `text` takes; a wide letter takes two, a combining mark none."""
    return sum(_columns(character) for character in text)


def _columns(character: str) -> int:
    if unicodedata.category(character) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(character) in ("W", "F") else 1
