"""A Modbus device's registers against what its own display shows: which type and order of words read that.

Nothing is guessed. What reads the display within its last digit is a way of reading; several are all named, and a
second reading after some flow (`still`) tells them apart, or the device's manual does.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass

from tally.meters.register import ORDERS, TYPES, Order, Type, number, orders_that_read

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)", re.ASCII)
_WHOLE_SCALES = (1.0, 0.1, 0.01, 0.001, 0.0001, 10.0, 100.0, 1000.0)
_FLOAT_SCALES = (1.0, 0.001, 1000.0)
_TWINS: dict[Type, Type] = {"uint16": "int16", "uint32": "int32", "uint64": "int64"}
_SLACK = 1e-6
"""Of the last digit: what a float of a register and a decimal of a display differ by at the very edge."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What a display shows, in its own unit: the number, and one of its last digit."""

    value: float
    digit: float


@dataclass(frozen=True, slots=True)
class Way:
    """One way of reading: from which register, as what, and what one of it is in the display's unit.

    `twin` is the type with or without a sign that reads the same until the count reaches half of its range.
    """

    address: int
    type: Type
    order: Order
    scale: float
    twin: Type | None = None

    @property
    def count(self) -> int:
        """Registers that it takes."""
        return words_of(self.type)

    def value(self, words: Sequence[int], first: int) -> float:
        """What it reads of `words`, the first of which is register `first`, in the display's unit."""
        at = self.address - first
        return number(words[at : at + self.count], self.type, self.order) * self.scale


def shown(text: str) -> Shown:
    """The number of a display: "1234.5" has the last digit 0.1. Raises ValueError in words."""
    tidy = text.strip()
    if not _NUMBER.fullmatch(tidy) or len(tidy) > 24:
        raise ValueError(f"given {tidy or 'nothing'}; accepted: the digits of the display with a point, such as 1234.5")
    value = float(tidy)
    if value == 0.0:
        raise ValueError("a display at zero tells nothing of the order: let some flow, and read it then")
    return Shown(value, 10.0 ** -len(tidy.partition(".")[2]))


def words_of(type: Type) -> int:
    """Registers that a number of this type takes."""
    return {"H": 1, "h": 1, "I": 2, "i": 2, "f": 2}.get(TYPES[type][1], 4)


def ways(
    words: Sequence[int],
    first: int,
    known: Shown,
    *,
    signed: bool = False,
    counts: bool = False,
    types: Sequence[Type] = tuple(TYPES),
    orders: Sequence[Order] = ORDERS,
) -> list[Way]:
    """Every way in which `words`, from register `first` on, read `known` within its last digit.

    Of a whole number whose sign does not show, the type with a sign is taken where `signed`, else the one without.
    With `counts` (of pulses) one is one: no scale is tried.
    """
    within = known.digit * (1 + _SLACK)
    found: list[Way] = []
    for at in range(len(words)):
        for kind in types:
            count = words_of(kind)
            if at + count > len(words):
                continue
            for scale in _scales(kind, counts):
                reading = orders_that_read(words[at : at + count], kind, known.value, scale=scale, within=within)
                found += [Way(first + at, kind, order, scale) for order in reading if order in orders]
    return _distinct(found, signed)


def still(found: Sequence[Way], words: Sequence[int], first: int, known: Shown) -> list[Way]:
    """Those of `found` that read a later display as well."""
    within = known.digit * (1 + _SLACK)
    return [way for way in found if abs(way.value(words, first) - known.value) <= within]


def readings(words: Sequence[int]) -> list[tuple[Type, list[tuple[Order, float]]]]:
    """What `words` read from their first on, by type and order; what is no number is left out."""
    table: list[tuple[Type, list[tuple[Order, float]]]] = []
    for kind in TYPES:
        count = words_of(kind)
        if count <= len(words):
            each = [(order, number(words[:count], kind, order)) for order in _orders(kind)]
            table.append((kind, [(order, value) for order, value in each if math.isfinite(value)]))
    return table


def _orders(kind: Type) -> tuple[Order, ...]:
    """The orders that differ: a single word can only have its bytes swapped."""
    return ("ABCD", "BADC") if words_of(kind) == 1 else ORDERS


def _scales(kind: Type, counts: bool) -> tuple[float, ...]:
    if counts:
        return (1.0,)
    return _FLOAT_SCALES if kind.startswith("float") else _WHOLE_SCALES


def _distinct(found: list[Way], signed: bool) -> list[Way]:
    """Each way once: a number with and without a sign is one way, and so are orders that cannot differ."""
    kept = [way for way in found if way.order in _orders(way.type)]
    both = {(way.address, way.type, way.order, way.scale) for way in kept}
    told: list[Way] = []
    for way in kept:
        pair = next(((plain, other) for plain, other in _TWINS.items() if way.type in (plain, other)), None)
        if pair is None or not all((way.address, kind, way.order, way.scale) in both for kind in pair):
            told.append(way)
        elif way.type == pair[signed]:
            told.append(Way(way.address, way.type, way.order, way.scale, pair[not signed]))
    return told
