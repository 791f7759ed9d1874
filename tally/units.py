"""Text with units, as a person writes it, to SI floats. The only module that imports pint, and it does so late.

A short list of spellings is accepted for each kind of value; anything else is refused with words. pint knows many more
names, some of which mean different things on different sites (ton, bbl, gallon): it only supplies the factors.
"""

from __future__ import annotations

import re
import threading
from fractions import Fraction
from functools import cache
from math import isfinite
from typing import TYPE_CHECKING, Literal

from tally.job.view.quantity import Kind

if TYPE_CHECKING:
    import pint

Gallon = Literal["US", "imperial"]

LARGEST: dict[Kind, float] = {
    Kind.DEPTH: 2e4,
    Kind.LENGTH: 2e4,
    Kind.DIAMETER: 20.0,
    Kind.VOLUME: 1e5,
    Kind.RATE: 100.0,
    Kind.LOAD: 1e8,
    Kind.MASS: 1e7,
    Kind.LINE_MASS: 1e5,
    Kind.CAPACITY: 100.0,
    Kind.DENSITY: 3e4,
    Kind.PRESSURE: 1e9,
    Kind.VISCOSITY: 1e3,
    Kind.YIELD_STRESS: 1e5,
    Kind.DURATION: 1e8,
    Kind.SHARE: 100.0,
    Kind.COUNT: 1e6,
}
"""In SI, well beyond any rig: a larger value is a slip of the keyboard."""
LONGEST_TEXT = 80

_LENGTH = {
    "millimeter": ("mm",),
    "centimeter": ("cm",),
    "meter": ("m", "metre", "metres", "meter", "meters"),
    "inch": ("in", '"', "inch", "inches", "in."),
    "foot": ("ft", "'", "foot", "feet", "ft."),
}
_MASS = {
    "gram": ("g",),
    "kilogram": ("kg",),
    "metric_ton": ("t", "tonne", "tonnes"),
    "pound": ("lb", "lbs"),
}
_SPELLINGS: dict[Kind, dict[str, tuple[str, ...]]] = {
    Kind.DEPTH: _LENGTH,
    Kind.LENGTH: _LENGTH,
    Kind.DIAMETER: _LENGTH,
    Kind.VOLUME: {
        "milliliter": ("mL",),
        "liter": ("L", "litre", "litres", "liter", "liters"),
        "meter**3": ("m3",),
        "US_liquid_gallon": ("US gal",),
        "imperial_gallon": ("imp gal",),
        "foot**3": ("ft3", "cu ft"),
        "yard**3": ("yd3", "cu yd"),
    },
    Kind.RATE: {
        "liter/second": ("L/s",),
        "liter/minute": ("L/min",),
        "liter/hour": ("L/h",),
        "meter**3/second": ("m3/s",),
        "meter**3/minute": ("m3/min",),
        "meter**3/hour": ("m3/h",),
        "US_liquid_gallon/minute": ("US gal/min",),
        "imperial_gallon/minute": ("imp gal/min",),
        "foot**3/minute": ("ft3/min",),
    },
    Kind.LOAD: {
        "newton": ("N",),
        "decanewton": ("daN",),
        "kilonewton": ("kN",),
        "pound_force": ("lbf",),
    }
    | {f"{mass}*standard_gravity": words for mass, words in _MASS.items() if mass != "gram"},
    Kind.MASS: _MASS,
    Kind.LINE_MASS: {"kilogram/meter": ("kg/m",), "pound/foot": ("lb/ft", "lbs/ft")},
    Kind.CAPACITY: {
        "liter/meter": ("L/m",),
        "meter**3/meter": ("m3/m",),
        "US_liquid_gallon/foot": ("US gal/ft",),
        "imperial_gallon/foot": ("imp gal/ft",),
        "foot**3/foot": ("ft3/ft",),
    },
    Kind.DENSITY: {
        "kilogram/liter": ("kg/L", "SG"),  # specific gravity against water of 1 kg/L, as a mud balance prints it
        "gram/centimeter**3": ("g/cm3", "g/mL"),
        "kilogram/meter**3": ("kg/m3",),
        "metric_ton/meter**3": ("t/m3",),
        "pound/US_liquid_gallon": ("lb/US gal",),
        "pound/imperial_gallon": ("lb/imp gal",),
        "pound/foot**3": ("lb/ft3",),
    },
    Kind.PRESSURE: {
        "pascal": ("Pa",),
        "kilopascal": ("kPa",),
        "megapascal": ("MPa",),
        "bar": ("bar",),
        "pound_force/inch**2": ("psi",),
    },
    Kind.VISCOSITY: {"centipoise": ("cP",), "millipascal*second": ("mPa s",), "pascal*second": ("Pa s",)},
    Kind.YIELD_STRESS: {
        "pascal": ("Pa",),
        "pound_force/hectofoot/foot": ("lb/100 ft2", "lbf/100 ft2"),  # a hundred square feet
    },
    Kind.DURATION: {
        "second": ("s", "sec", "second", "seconds"),
        "minute": ("min", "minute", "minutes"),
        "hour": ("h", "hour", "hours", "hr"),
        "day": ("d", "day", "days"),
    },
    Kind.SHARE: {"percent": ("%", "percent", "per cent")},
}

_EXAMPLES: dict[Kind, str] = {
    Kind.DEPTH: 'a depth with its unit, such as "47.3 m", "155 ft" or "12\' 6 1/2\\""',
    Kind.LENGTH: 'a length with its unit, such as "6.10 m", "20.1 ft" or "12\' 6 1/2\\""',
    Kind.DIAMETER: 'a length with its unit, such as "219.1 mm" or "8 5/8 in"',
    Kind.VOLUME: 'a volume with its unit, such as "150 L", "1.2 m3", "40 US gal" or "33 imp gal"',
    Kind.RATE: 'a flow with its unit, such as "60 L/min", "16 US gal/min" or "13 imp gal/min"',
    Kind.LOAD: 'a load with its unit, such as "8 t", "40 kN" or "18000 lb"',
    Kind.MASS: 'a mass with its unit, such as "42.5 kg" or "94 lb"',
    Kind.LINE_MASS: 'a mass per length, such as "28.26 kg/m" or "19 lb/ft"',
    Kind.CAPACITY: 'a volume per length, such as "27.2 L/m" or "2.19 US gal/ft"',
    Kind.DENSITY: 'a density with its unit, such as "1.88 kg/L", "15.6 lb/gal" or "1.88 SG"',
    Kind.PRESSURE: 'a pressure with its unit, such as "7 bar", "700 kPa" or "100 psi"',
    Kind.VISCOSITY: 'a plastic viscosity with its unit, such as "40 cP" or "0.04 Pa s"',
    Kind.YIELD_STRESS: 'a yield point with its unit, such as "15 Pa" or "30 lb/100 ft2"',
    Kind.DURATION: 'a duration with its unit, such as "45 min", "24 h" or "1 h 30 min"',
    Kind.SHARE: 'a share in per cent, such as "15 %"',
    Kind.COUNT: 'a whole number, such as "12"',
}

_BY_GALLONS = (Kind.VOLUME, Kind.RATE, Kind.CAPACITY, Kind.DENSITY)
_MEANS_SEVERAL_THINGS = {
    "ton": "a ton may be short, long or metric: write t (1000 kg) or lb",
    "tons": "a ton may be short, long or metric: write t (1000 kg) or lb",
    "bbl": "barrels differ from trade to trade: write L, m3 or US gal",
    "mpa": "mPa is a thousandth of a pascal: write MPa or bar",
    "ml": "ML is a million litres: write mL or L",
}


class UnitFault(ValueError):
    """Text that is not a value of the kind asked for; says what was given and what is accepted."""

    def __init__(self, given: str, accepted: str, why: str = "") -> None:
        self.given, self.accepted, self.why = given, accepted, why
        super().__init__(f"given {given}{f' ({why})' if why else ''}; accepted: {accepted}")


def accepted(kind: Kind) -> str:
    """What a value of this kind looks like, with examples."""
    return _EXAMPLES[kind]


def spellings(kind: Kind) -> tuple[str, ...]:
    """Every unit that is accepted for this kind, without the gallon whose country is not said."""
    return tuple(word for words in _SPELLINGS.get(kind, {}).values() for word in words)


_BUILDING = threading.Lock()
_NUMBER = r"(?:[0-9]+[ -]+[0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]*[.,]?[0-9]+|[0-9]+\.)"
_VALUE = re.compile(rf"(?P<sign>[+-]?)\s*(?P<number>{_NUMBER})\s*(?P<unit>.*)")
_FEET = r"(?:feet|foot|ft\.?|')"
_INCHES = r'(?:inches|inch|in\.?|")'
_FEET_AND_INCHES = re.compile(rf"(?P<foot>[0-9]+)\s*{_FEET}[\s-]*(?P<inch>{_NUMBER})\s*{_INCHES}", re.IGNORECASE)
_INCHES_UNMARKED = re.compile(rf"(?P<foot>[0-9]+)'[ -]*(?P<inch>{_NUMBER})")
"""`20'3` and `20' 3 1/2`: after the foot's mark nothing but inches can follow, and a hurried hand leaves theirs out."""
_TIMES = re.compile(
    r"(?:(?P<day>[0-9]+)\s*(?:days|day|d)(?![a-z])\s*)?(?:(?P<hour>[0-9]+)\s*(?:hours|hour|hr|h)(?![a-z])\s*)?"
    r"(?:(?P<minute>[0-9]+)\s*(?:minutes|minute|min)(?![a-z])\s*)?(?:(?P<second>[0-9]+)\s*(?:seconds|second|sec|s))?",
    re.IGNORECASE,
)
_CHARACTERS = str.maketrans(
    {"′": "'", "’": "'", "‘": "'", "″": '"', "”": '"', "“": '"', "−": "-", "‐": "-", "‑": "-", "–": "-", "⁄": "/"}
    | {"\u00a0": " ", "\u202f": " ", "\u2009": " ", "\t": " ", "²": "2", "³": "3"}
    | {"¼": " 1/4", "½": " 1/2", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8"}
)


def quantity(text: str, kind: Kind, *, gallon: Gallon | None = None, bare_unit: str | None = None) -> float:
    """SI value of `text`. A number without a unit takes `bare_unit`; where that is None it is refused."""
    tidy = re.sub(r"\s+", " ", text.translate(_CHARACTERS)).replace("''", '"').strip()
    if not tidy:
        raise UnitFault("nothing", accepted(kind))
    if len(tidy) > LONGEST_TEXT:
        raise UnitFault(f"{len(tidy)} characters", accepted(kind))
    value = _compound(tidy, kind)
    if value is None:
        value = _single(tidy, kind, gallon, bare_unit)
    if not isfinite(value) or abs(value) > LARGEST[kind]:
        raise UnitFault(tidy, accepted(kind), "far beyond anything on a rig")
    if value < 0 and kind is not Kind.SHARE:
        raise UnitFault(tidy, accepted(kind), "it cannot be negative")
    return value


def warm() -> None:
    """Builds the registry ahead of the first entry, in a thread of its own. Never fails: `quantity` says it again."""
    try:
        _si_factor("meter")
    except Exception:
        return


def _single(tidy: str, kind: Kind, gallon: Gallon | None, bare_unit: str | None) -> float:
    match = _VALUE.fullmatch(tidy)
    if match is None:
        raise UnitFault(tidy, accepted(kind), "not a number with a unit")
    unit = match["unit"].strip()
    if re.match(r"[0-9.,/]", unit):
        raise UnitFault(tidy, accepted(kind), "write the number without spaces or thousands separators")
    number = _number(match["number"], tidy, kind) * (-1 if match["sign"] == "-" else 1)
    if kind is Kind.COUNT:
        if unit or not number.is_integer():
            raise UnitFault(tidy, accepted(kind))
        return number
    if not unit and bare_unit is None:
        raise UnitFault(tidy, accepted(kind), "no unit")
    return number * _si_factor(_expression(unit or bare_unit or "", tidy, kind, gallon))


def _compound(tidy: str, kind: Kind) -> float | None:
    """Feet and inches, or hours and minutes; None where the text is not such a pair."""
    if kind in (Kind.DEPTH, Kind.LENGTH, Kind.DIAMETER) and (
        match := _FEET_AND_INCHES.fullmatch(tidy) or _INCHES_UNMARKED.fullmatch(tidy)
    ):
        inches = _number(match["inch"], tidy, kind)
        if inches >= 12:
            raise UnitFault(tidy, accepted(kind), "the inches after feet must be less than 12")
        return int(match["foot"]) * _si_factor("foot") + inches * _si_factor("inch")
    if kind is Kind.DURATION and (match := _TIMES.fullmatch(tidy)):
        parts = [(name, int(digits)) for name, digits in match.groupdict().items() if digits is not None]
        for name, count in parts[1:]:
            if count >= {"hour": 24, "minute": 60, "second": 60}[name]:
                raise UnitFault(tidy, accepted(kind), f"{count} is too many {name}s after a larger unit")
        return sum(count * _si_factor(name) for name, count in parts)
    return None


def _number(digits: str, tidy: str, kind: Kind) -> float:
    if "/" in digits:
        whole, _, fraction = digits.replace("-", " ").rpartition(" ")
        above, below = (int(part) for part in fraction.split("/"))
        if below == 0 or (whole.strip() and above >= below):
            raise UnitFault(tidy, accepted(kind), f"{fraction} is not a proper fraction")
        return float(int(whole or 0) + Fraction(above, below))
    if re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", digits):
        one, other = digits.replace(",", ""), digits.replace(",", ".")
        raise UnitFault(tidy, accepted(kind), f"{digits} may mean {one} or {other}: write one of them")
    return float(digits.replace(",", "."))


_REWRITTEN = tuple(
    (re.compile(pattern, re.IGNORECASE), word)
    for pattern, word in (
        (r"\s*/\s*", "/"),
        (r"\^|\*\*", ""),
        (r"\bgpm\b", "gal/min"),
        (r"\bppg\b", "lb/gal"),
        (r"\bgal(lons?|s)?\b\.?", "gal"),
        (r"\b(?:imperial|imp)\b\.?", "imp"),
        (r"\bu\.?s\.? (?=gal)", "US "),
    )
)


def _expression(unit: str, tidy: str, kind: Kind, gallon: Gallon | None) -> str:
    """pint's name for an accepted spelling."""
    spelled = unit
    for pattern, word in _REWRITTEN:
        spelled = pattern.sub(word, spelled)
    if kind in _BY_GALLONS and re.search(r"(?<!US )(?<!imp )\bgal\b", spelled):
        spelled = re.sub(r"\bgal\b", f"{_country(spelled, tidy, kind, gallon)} gal", spelled)
    table = _table(kind)
    folded = spelled.casefold()
    if spelled in ("mPa", "ML") or folded not in table:
        why = _MEANS_SEVERAL_THINGS.get(folded, f"unit {unit!r} is not known here")
        raise UnitFault(tidy, f"{accepted(kind)} (units: {', '.join(_shown(kind))})", why)
    return table[folded]


def _country(spelled: str, tidy: str, kind: Kind, gallon: Gallon | None) -> str:
    if kind is Kind.DENSITY:
        # lb/gal is the trade's unit of density and means US gallons, unless the job itself counts in imperial ones
        if gallon == "imperial":
            raise UnitFault(tidy, '"lb/US gal" or "lb/imp gal"', "which gallon is not said")
        return "US"
    if gallon is None:
        us, imperial = (spelled.replace("gal", f"{word} gal") for word in ("US", "imp"))
        raise UnitFault(tidy, f'"{us}" or "{imperial}"', "which gallon is not said")
    return "US" if gallon == "US" else "imp"


@cache
def _table(kind: Kind) -> dict[str, str]:
    """Spelling in lower case, which is never ambiguous within one kind, to pint's name."""
    return {word.casefold(): name for name, words in _SPELLINGS.get(kind, {}).items() for word in words}


def _shown(kind: Kind) -> list[str]:
    return [words[0] for words in _SPELLINGS.get(kind, {}).values()]


@cache
def _registry() -> pint.UnitRegistry[float]:
    import pint

    return pint.UnitRegistry()


@cache
def _si_factor(expression: str) -> float:
    with _BUILDING:
        return float(_registry().Quantity(1, expression).to_base_units().magnitude)
