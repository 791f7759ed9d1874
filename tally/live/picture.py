"""What a port sends, as a picture: each line beside what it is read as, in full or as far as it is known by now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal

from tally.job.view.quantity import Kind
from tally.job.wired import PLAIN, Wiring
from tally.live.instruments import dialect
from tally.live.sampling import FASTEST_M3_S, LEAP_FLOOR_M3
from tally.meters.bench import Bench, Heard, PacketBench
from tally.meters.current import CurrentLoop
from tally.meters.dialect import DialectFault, LineDialect, plain, shown
from tally.meters.modbus_port import is_tcp

_SMALL = 1e-6
"""A factor by which no number is impossible, while its unit is not known."""
_MA = 1e-3
_ITSELF = CurrentLoop("current_a", 4e-3, 20e-3)
"""A current that stands for itself, while its range is not known: limits hold all the same."""
_KINDS: Mapping[str, tuple[str, Kind]] = MappingProxyType(
    {
        "total_m3": ("total", Kind.VOLUME),
        "rate_m3_s": ("rate", Kind.RATE),
        "density_kg_m3": ("density", Kind.DENSITY),
        "force_n": ("load", Kind.LOAD),
        "pressure_pa": ("pressure", Kind.PRESSURE),
    }
)


@dataclass(frozen=True, slots=True)
class Value:
    """In SI where its kind is known, else the number as it was printed."""

    name: str
    number: float
    kind: Kind | None


@dataclass(frozen=True, slots=True)
class Row:
    """One line, or the answer to one question, fit to be shown, and what it was read as, or why not."""

    raw: str
    values: tuple[Value, ...] = ()
    why: str = ""


State = Literal["idle", "opening", "open", "fault"]


@dataclass(frozen=True, slots=True)
class Picture:
    """`trouble` is in words, for the crew; counts are since the port was opened."""

    setting: Wiring | None = None
    state: State = "idle"
    trouble: str = ""
    lines: int = 0
    read: int = 0
    garbage: int = 0
    a_second: float | None = None
    rows: tuple[Row, ...] = ()
    """The newest last."""
    texts: tuple[str, ...] = ()
    registers: Mapping[int, tuple[int, ...]] = field(default_factory=dict)
    """Words by the first register."""


def bench_of(setting: Wiring) -> Bench:
    def most_m3(passed_s: float) -> float:
        return LEAP_FLOOR_M3 + FASTEST_M3_S * passed_s

    if setting.modbus:
        reads = dialect(setting.wired) if setting.wired is not None else None
        return PacketBench(reads, tcp=is_tcp(setting.port), jump_limit_m3=most_m3)
    return Bench(_line_dialect(setting), jump_limit_m3=most_m3)


def _line_dialect(setting: Wiring) -> LineDialect | None:
    if setting.wired is not None:
        found = dialect(setting.wired)
        return found if isinstance(found, LineDialect) else None
    if not setting.pattern:
        return None
    if setting.pattern == PLAIN:
        return plain()
    try:
        names = LineDialect.groups(setting.pattern)
        factors = {name: _MA if name == "current" else _SMALL for name in names}
        return LineDialect(setting.pattern, factors, loop=_ITSELF if "current" in names else None)
    except DialectFault:
        return None


def row_of(heard: Heard, setting: Wiring) -> Row:
    if heard.asked:
        raw = " ".join(f"{word:04X}" for word in heard.words) or "–"
    elif heard.is_text:
        raw = shown(heard.data.decode("utf-8", "replace"))
    else:
        raw = heard.data[:13].hex(" ")
    known = setting.wired is not None or setting.pattern == PLAIN
    counts = "(?P<pulses>" in setting.pattern
    return Row(raw, tuple(_value(one.quantity, one.value, known, counts) for one in heard.readings), heard.why)


def _value(quantity: str, number: float, known: bool, counts: bool) -> Value:
    if quantity == "current_a":
        return Value("mA", number / _MA, None)
    name, kind = _KINDS[quantity]
    if known:
        return Value(name, number, kind)
    return Value("count" if counts and quantity == "total_m3" else name, number / _SMALL, None)
