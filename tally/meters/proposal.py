"""A pattern proposed from the lines that a port sends: numbers with a name or a unit beside them.

Nothing is guessed that could count wrong: a unit that the lines do not print, or a gallon of no country, is left open.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from tally.meters.current import CurrentLoop
from tally.meters.dialect import DialectFault, LineDialect, Undecoded, plain

OPEN = "?"
"""The unit of a number whose line does not say it."""
GALLONS = ("gal", "gal/min")
"""Units that need their country."""
FEWEST = 3
"""Lines before a pattern is worth proposing."""

# what a meter may print, in lower case -> group and unit as the plan file spells it
_UNITS: dict[str, tuple[str, str]] = {
    word: (group, unit)
    for group, spellings in {
        "total": {
            "L": "l ltr ltrs litre litres liter liters", "mL": "ml", "m3": "m3 m³ cbm",
            "gal": "gal gals gallon gallons", "US gal": "usg usgal", "imp gal": "igal impgal", "ft3": "ft3 cuft",
        },
        "rate": {
            "L/min": "l/min lpm ltr/min", "L/s": "l/s lps", "L/h": "l/h lph", "m3/h": "m3/h m³/h cmh",
            "m3/min": "m3/min m³/min", "gal/min": "gal/min gpm", "US gal/min": "usgpm", "imp gal/min": "igpm",
        },
        "density": {
            "kg/L": "kg/l", "g/cm3": "g/cm3 g/cc", "kg/m3": "kg/m3 kg/m³", "lb/US gal": "lb/gal ppg", "SG": "sg",
        },
        "pressure": {"bar": "bar", "kPa": "kpa", "MPa": "mpa", "psi": "psi"},
        "force": {"kN": "kn", "daN": "dan", "kg": "kg", "t": "t", "lb": "lb lbs", "lbf": "lbf"},
        "current": {"mA": "ma"},
    }.items()
    for unit, words in spellings.items()
    for word in words.split()
}  # fmt: skip
_NAMES: dict[str, str] = {
    word: group
    for group, words in {
        "total": "t tot total totl sum vol volume v",
        "pulses": "p pulse pulses count cnt imp n",
        "rate": "r rate flow f q",
        "density": "d dens density rho",
        "pressure": "press pressure",
        "force": "w load hook force weight",
    }.items()
    for word in words.split()
}
_CHECKSUM = re.compile(r"\*[0-9A-Fa-f]{2}")
_PIECE = re.compile(r"\*[0-9A-Fa-f]{2}$|\s*[,;=:|()][\s,;=:|()]*|\s+|[^\s,;=:|()*]+|\*")
_COMMA = re.compile(r"(?<![\d,])\d+,\d+(?![\d,])")
_VALUE = re.compile(r"(?P<before>[A-Za-z#$]*)(?P<number>[+-]?(?:\d+\.?\d*|\.\d+))(?P<after>[A-Za-z%³][A-Za-z/%³3]*)?")
_NUMBER = r"[+-]?[0-9.]+"
_MOST_LINES = 500
_SMALL = 1e-6
"""A factor by which no number is impossible: whether a line can be read does not hang on the unit."""
_MA = 1e-3
_ANY_RANGE = CurrentLoop("rate_m3_s", 0.0, 1.0)
"""Stands in for a range that nobody has said yet."""


@dataclass(frozen=True, slots=True)
class Proposal:
    """A pattern with the unit of each value, and how many of the lines heard it takes."""

    pattern: str
    units: dict[str, str]
    takes: int
    of: int

    @property
    def complete(self) -> bool:
        """True where every unit is known."""
        return not self.open

    @property
    def open(self) -> tuple[str, ...]:
        """The values whose unit, whose gallon or, of a current, whose range a person must say."""
        return tuple(name for name, unit in self.units.items() if unit == OPEN or unit in GALLONS or name == "current")


@dataclass(slots=True)
class _Piece:
    """Part of a line: text that stays, or a number with what it stands for."""

    text: str
    value: re.Match[str] | None = None
    group: str = ""
    unit: str = ""


def proposals(lines: Sequence[str]) -> list[Proposal]:
    """What could be read from `lines`, the one that takes the most of them first; empty where nothing is a number."""
    tidy = [line.strip(" \t\x02\x03") for line in lines[-_MOST_LINES:]]
    kept = [line for line in tidy if line]
    if decimal_comma(kept):
        return []
    shapes = Counter(filter(None, map(_shape, kept)))
    found: dict[str, Proposal] = {}
    for shape, count in shapes.most_common(3):
        if count < FEWEST:
            break
        proposed = _proposed([line for line in kept if _shape(line) == shape], kept)
        if proposed is not None:
            found.setdefault(proposed.pattern, proposed)
    return sorted(found.values(), key=lambda proposal: (-proposal.takes, len(proposal.open)))


def decimal_comma(lines: Iterable[str]) -> bool:
    """Whether the numbers seem to be written with a comma, which a list of whole numbers could be as well."""
    text = "\n".join(lines)
    return "." not in text and bool(_COMMA.search(text))


def is_plain(lines: Iterable[str]) -> bool:
    """Whether every one of `lines` is of the default dialect."""
    return takes(plain(), lines := list(lines)) == len(lines) > 0


def takes(dialect: LineDialect, lines: Iterable[str]) -> int:
    """How many of the lines the dialect can read."""
    return sum(not isinstance(dialect.decode(line.encode(), 0.0, ""), Undecoded) for line in lines)


def _shape(line: str) -> str:
    """The line without what changes in it; empty where it has no number."""
    pieces = _pieces(line)
    if not any(piece.value for piece in pieces):
        return ""
    return "".join(_skeleton(piece) for piece in pieces)


def _skeleton(piece: _Piece) -> str:
    if piece.value is not None:
        return f"{piece.value['before']}\0{piece.value['after'] or ''}"
    return "*\0" if _CHECKSUM.fullmatch(piece.text) else " ".join(piece.text.split()) or " "


def _pieces(line: str) -> list[_Piece]:
    pieces = []
    for text in _PIECE.findall(line):
        is_unit = text.casefold() in _UNITS
        pieces.append(_Piece(text, None if is_unit else _VALUE.fullmatch(text)))
    return pieces


def _proposed(alike: Sequence[str], heard: Sequence[str]) -> Proposal | None:
    pieces = _pieces(alike[-1])
    _name(pieces, _moving(alike))
    units = {piece.group: piece.unit for piece in pieces if piece.group}
    if not units:
        return None
    pattern = "".join(map(_written, pieces))
    try:
        factors = {name: _MA if name == "current" else _SMALL for name in units}
        dialect = LineDialect(pattern, factors, loop=_ANY_RANGE if "current" in units else None)
    except DialectFault:
        return None
    return Proposal(pattern, units, takes(dialect, heard), len(heard))


def _moving(alike: Sequence[str]) -> set[int]:
    """Places of the numbers that only grow, which is what a total does."""
    rows = [[float(piece.value["number"]) for piece in _pieces(line) if piece.value] for line in alike]
    columns = list(zip(*rows, strict=True))
    return {
        place
        for place, values in enumerate(columns)
        if values[0] < values[-1] and all(a <= b for a, b in pairwise(values))
    }


def _name(pieces: list[_Piece], moving: set[int]) -> None:
    """Gives each number its group and unit, as far as the words beside it tell."""
    numbers = [place for place, piece in enumerate(pieces) if piece.value]
    for place in numbers:
        pieces[place].group, pieces[place].unit = _meaning(pieces, place)
    if not any(pieces[place].group in ("total", "pulses") for place in numbers):
        # a number that only grows and that no word explains is the count
        nameless = [place for index, place in enumerate(numbers) if index in moving and not pieces[place].group]
        if len(nameless) == 1:
            pieces[nameless[0]].group, pieces[nameless[0]].unit = "total", OPEN
    _leave_one(pieces, numbers, ("total", "pulses"), moving)
    for group in {pieces[place].group for place in numbers} - {"", "total", "pulses"}:
        _leave_one(pieces, numbers, (group,), set())


def _leave_one(pieces: list[_Piece], numbers: list[int], groups: tuple[str, ...], moving: set[int]) -> None:
    """Of several numbers that mean the same, the one with a known unit that moves, else the first."""
    same = [(index, place) for index, place in enumerate(numbers) if pieces[place].group in groups]
    same.sort(key=lambda found: (pieces[found[1]].unit == OPEN, found[0] not in moving))
    for _, place in same[1:]:
        pieces[place].group = pieces[place].unit = ""


def _meaning(pieces: list[_Piece], place: int) -> tuple[str, str]:
    value = pieces[place].value
    assert value is not None
    name = (value["before"] or _word(pieces, place, -1)).casefold().strip("#$")
    if unit := _unit_after(pieces, place, value["after"]):
        group, spelled = _UNITS[unit]
        return group, spelled
    if value["after"]:
        return "", ""
    group = _NAMES.get(name, "")
    if group == "pulses" and "." in value["number"]:
        group = ""
    return group, OPEN if group else ""


def _unit_after(pieces: list[_Piece], place: int, attached: str | None) -> str:
    """The unit behind a number, as in the table; empty where none stands there."""
    if attached:
        return attached.casefold() if attached.casefold() in _UNITS else ""
    first, second = _word(pieces, place, 1).casefold(), _word(pieces, place, 3).casefold()
    country = {"us": "us", "imp": "i", "imp.": "i", "uk": "i"}.get(first)
    if country and second in ("gal", "gal/min"):
        return {"gal": {"us": "usg", "i": "igal"}, "gal/min": {"us": "usgpm", "i": "igpm"}}[second][country]
    names_the_next = first in _NAMES and place + 4 < len(pieces) and pieces[place + 4].value is not None
    return first if first in _UNITS and not names_the_next else ""


def _word(pieces: list[_Piece], place: int, step: int) -> str:
    """The text `step` places away, past one separator; empty where a number or nothing stands there."""
    at = place + step + (1 if step > 0 else -1)
    if not 0 <= at < len(pieces):
        return ""
    between = pieces[place + (1 if step > 0 else -1)].text
    if step > 0 and between.strip(" \t,"):
        return ""  # what stands behind a colon or a bracket belongs to the next value
    return "" if pieces[at].value else pieces[at].text


def _written(piece: _Piece) -> str:
    """The piece as part of the pattern."""
    if piece.value is None:
        if _CHECKSUM.fullmatch(piece.text):
            return r"\*[0-9A-Fa-f]{2}"
        return re.sub(r"\s+", r"\\s+" if piece.text.isspace() else r"\\s*", _escaped(piece.text))
    number = f"(?P<{piece.group}>{_NUMBER})" if piece.group else _NUMBER
    return f"{_escaped(piece.value['before'])}{number}{_escaped(piece.value['after'] or '')}"


def _escaped(text: str) -> str:
    """Only what a pattern would take for something else, so that a person can still read it."""
    return re.sub(r"([\\.^$*+?{}\[\]|()])", r"\\\1", text)
