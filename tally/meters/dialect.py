"""What the frames of a meter mean: a frame in, readings in SI out.

The `plain` dialect is the default. One line a reading, such as

    T 001234.56 L R 62.10 L/min

where T is the running total in litres and R the rate in litres a minute; both are always there.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Protocol

from tally.meters.current import CurrentLoop
from tally.meters.framing import Framer, LineFramer
from tally.meters.pattern import longest_line, trouble
from tally.meters.reading import Reading

# group name -> quantity, and the values past which a number cannot be what the group says
_GROUPS: Mapping[str, tuple[str, float, float]] = MappingProxyType(
    {
        "total": ("total_m3", 0.0, 1e9),
        "pulses": ("total_m3", 0.0, 1e9),
        "rate": ("rate_m3_s", -10.0, 10.0),  # negative: the flow, or the wiring, is reversed
        "density": ("density_kg_m3", 0.0, 25_000.0),
        "force": ("force_n", -1e8, 1e8),  # negative: below the tare
        "pressure": ("pressure_pa", -1.1e5, 1e9),  # gauge: no lower than a vacuum
        "current": ("", -1.0, 1.0),  # a quantity only by the range of its loop
    }
)
GROUPS: frozenset[str] = frozenset(_GROUPS)
"""Names of the values that a pattern may read or a register hold."""
PLAIN_PATTERN = r"T\s+(?P<total>\S+)\s+L\s+R\s+(?P<rate>\S+)\s+L/min"
PLAIN_FACTORS: Mapping[str, float] = MappingProxyType({"total": 1e-3, "rate": 1e-3 / 60})
_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d{1,3})?", re.ASCII)
_SHOWN = 80


class DialectFault(Exception):
    """A dialect is described wrongly; the text says what was given and what is accepted."""


@dataclass(frozen=True, slots=True)
class Undecoded:
    """A frame that gave no reading: its text, fit to be shown, and why."""

    text: str
    why: str


class Dialect(Protocol):
    """The meaning of one kind of meter's frames; one with `integrates` gives a rate alone, to be added up."""

    def framer(self) -> Framer: ...

    def claims(self, frame: bytes) -> bool:
        """Whether the frame is meant for it, readable or not."""
        ...

    def decode(self, frame: bytes, mono_s: float, channel: str) -> list[Reading] | Undecoded: ...


class LineDialect:
    """Lines described by a pattern that must match the whole line, with a named group for each value.

    `factors` turns each group's number into SI: m3 per printed unit, m3 per pulse, m3/s per printed unit and so on.
    `counter_modulus` gives, in printed units, the number at which a counter starts again from zero. `loop` says what
    a current stands for; with `integrates` a rate that comes without a total is added up to one.
    """

    def __init__(
        self,
        pattern: str,
        factors: Mapping[str, float],
        counter_modulus: Mapping[str, float] | None = None,
        *,
        decimal: str = ".",
        loop: CurrentLoop | None = None,
        integrates: bool = False,
    ) -> None:
        self._regex = _compiled(pattern)
        self._longest = longest_line(pattern)
        groups = frozenset(self._regex.groupindex)
        _check_loop(groups, loop)
        self._loop = loop
        self.integrates = integrates and not groups & {"total", "pulses"}
        self._factors = _checked_factors(groups, factors)
        self._modulus = _checked_modulus(groups, counter_modulus or {})
        if decimal not in (".", ","):
            raise DialectFault(f"the decimal sign is {decimal!r}; accepted are '.' and ','")
        self._decimal = decimal
        # the tail of a line cannot pass for a whole one if every line must begin with the same letter
        self._has_marker = pattern[:1].isalpha() and "|" not in pattern

    @staticmethod
    def groups(pattern: str) -> frozenset[str]:
        """Names of the values that `pattern` reads; raises `DialectFault` where it cannot be used."""
        return frozenset(_compiled(pattern).groupindex)

    @property
    def modulus_m3(self) -> float | None:
        """The total at which the counter starts again from zero [m3], or None where it is not known."""
        for name in ("total", "pulses"):
            if name in self._modulus:
                return self._modulus[name] * self._factors[name]
        return None

    def framer(self) -> Framer:
        return LineFramer(self._longest, mid_line=not self._has_marker)

    def claims(self, frame: bytes) -> bool:
        return len(frame) <= self._longest and self._regex.fullmatch(_tidy(frame)) is not None

    def decode(self, frame: bytes, mono_s: float, channel: str) -> list[Reading] | Undecoded:
        text = _tidy(frame[: self._longest + 1])
        if len(frame) > self._longest:
            return Undecoded(shown(text), f"a line longer than {self._longest} bytes")
        match = self._regex.fullmatch(text)
        if match is None:
            return Undecoded(shown(text), "the line does not fit the pattern")
        readings = []
        for name, printed in match.groupdict().items():
            if printed is None:
                continue
            value = self._value(name, printed.strip())
            if isinstance(value, str):
                return Undecoded(shown(text), value)
            readings.append(Reading(mono_s, channel, quantity_of(name, self._loop), value))
        return readings or Undecoded(shown(text), "the line has no number in it")

    def _value(self, name: str, printed: str) -> float | str:
        """The group's value in SI, or why there is none."""
        if self._decimal == ",":
            printed = printed.replace(".", " ").replace(",", ".")
        if not _NUMBER.fullmatch(printed):
            return f"{name} is not a number"
        number = float(printed)
        if name == "pulses" and not number.is_integer():
            return "pulses is not a whole number"
        if name in self._modulus and number >= self._modulus[name]:
            return f"{name} is past the {self._modulus[name]:g} at which it should start again"
        return si_value(name, number, self._factors[name], self._loop, printed)


def quantity_of(name: str, loop: CurrentLoop | None) -> str:
    """The quantity of the readings that the value `name` gives."""
    return loop.quantity if name == "current" and loop is not None else _GROUPS[name][0]


def si_value(name: str, number: float, factor: float, loop: CurrentLoop | None, printed: str = "") -> float | str:
    """The value `name` in SI, or in words why it cannot be that."""
    value = number * factor
    _, low, high = _GROUPS[name]
    if not math.isfinite(value) or not low <= value <= high:
        return f"{name} is impossible: {shown(printed or f'{number:g}')}"
    return loop.value(value) if name == "current" and loop is not None else value


def plain() -> LineDialect:
    """The default dialect, described above."""
    return LineDialect(PLAIN_PATTERN, PLAIN_FACTORS)


def pulse_count(m3_per_pulse: float, modulus: float | None = None) -> LineDialect:
    """A pulse counter that prints `P 0001234`; `modulus` is the count at which it starts again from zero."""
    return LineDialect(
        r"P\s+(?P<pulses>\S+)", {"pulses": m3_per_pulse}, None if modulus is None else {"pulses": modulus}
    )


def shown(text: str) -> str:
    """At most 80 characters of `text`, without anything that could command a terminal."""
    return "".join(c if c.isprintable() else "·" for c in text[:_SHOWN])


def _tidy(frame: bytes) -> str:
    return _text(frame).strip(" \t\x02\x03")


def _text(frame: bytes) -> str:
    try:
        return frame.decode("utf-8")
    except UnicodeDecodeError:
        return frame.decode("latin-1")


def _compiled(pattern: str) -> re.Pattern[str]:
    accepted = ", ".join(_GROUPS)
    try:
        regex = re.compile(pattern)
    except (re.error, OverflowError, RecursionError) as error:
        raise DialectFault(f"the pattern {shown(pattern)!r} cannot be read: {error}") from error
    if words := trouble(pattern):
        raise DialectFault(f"the pattern {shown(pattern)!r} has {words}: it could hang on a bad line")
    names = frozenset(regex.groupindex)
    if not names:
        raise DialectFault(f"the pattern {shown(pattern)!r} names no value; write (?P<total>...), or {accepted}")
    if unknown := sorted(names - _GROUPS.keys()):
        raise DialectFault(f"the pattern names {', '.join(map(repr, unknown))}; accepted are {accepted}")
    if {"total", "pulses"} <= names:
        raise DialectFault("the pattern names both total and pulses; only one of them can count")
    return regex


def _check_loop(groups: frozenset[str], loop: CurrentLoop | None) -> None:
    if ("current" in groups) != (loop is not None):
        raise DialectFault("a current needs its range, the values at 4 and at 20 mA, and a range needs a current")


def _checked_factors(groups: frozenset[str], factors: Mapping[str, float]) -> Mapping[str, float]:
    if missing := sorted(groups - factors.keys()):
        raise DialectFault(f"no unit is given for {', '.join(missing)}")
    if extra := sorted(factors.keys() - groups):
        raise DialectFault(f"a unit is given for {', '.join(extra)}, which the pattern does not name")
    for name, factor in factors.items():
        if not math.isfinite(factor) or factor <= 0:
            raise DialectFault(f"the factor for {name} is {factor}; it must be a number above zero")
    return MappingProxyType(dict(factors))


def _checked_modulus(groups: frozenset[str], modulus: Mapping[str, float]) -> Mapping[str, float]:
    for name, count in modulus.items():
        if name not in groups or name not in ("total", "pulses"):
            raise DialectFault(f"{name!r} cannot start again from zero; only the pattern's total or pulses can")
        if not math.isfinite(count) or count <= 0:
            raise DialectFault(f"{name} starts again at {count}; it must be a number above zero")
    return MappingProxyType(dict(modulus))
