"""A number on its way to a reader: an SI value and what kind of thing it is, not yet text."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """What a value measures; decides its unit and its digits on screen and report."""

    DEPTH = "depth"  # m; along the hole from ground level
    LENGTH = "length"  # m; joints, stick-up
    DIAMETER = "diameter"  # m; pipe and hole
    VOLUME = "volume"  # m3
    RATE = "rate"  # m3/s
    LOAD = "load"  # N; shown as the mass that weighs it
    MASS = "mass"  # kg
    LINE_MASS = "line mass"  # kg/m
    CAPACITY = "capacity"  # m3/m
    DENSITY = "density"  # kg/m3
    PRESSURE = "pressure"  # Pa
    VISCOSITY = "viscosity"  # Pa s
    YIELD_STRESS = "yield stress"  # Pa
    DURATION = "duration"  # s
    SHARE = "share"  # 1; shown as per cent
    COUNT = "count"  # 1


@dataclass(frozen=True, slots=True)
class Quantity:
    """`si` is None where the value is not known; it is then shown as a dash, never as a zero."""

    si: float | None
    kind: Kind


@dataclass(frozen=True, slots=True)
class Sentence:
    """Words with places for values: {0}, {1} … in `text`, which never holds what a person or a port sent."""

    text: str
    values: tuple[Quantity | str, ...] = ()

    def written(self, write: Callable[[Quantity], str]) -> str:
        """The words, each quantity put as `write` does and each text as it is."""
        return self.text.format(*(value if isinstance(value, str) else write(value) for value in self.values))
