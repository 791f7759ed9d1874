"""[meter] and [[instrument]]: where an instrument is, what it sends, and what one of what it sends stands for."""

from __future__ import annotations

import re
from collections.abc import Mapping

from tally import units
from tally.job.view.quantity import Kind
from tally.meters.dialect import PLAIN_FACTORS, PLAIN_PATTERN, DialectFault, LineDialect
from tally.meters.register import Register, RegisterFault
from tally.planfile.parts import Values, given
from tally.planfile.pulses import ACCEPTED, m3_per_pulse
from tally.planfile.table import Table, shown

SOURCES = ("lines", "pulses", "strokes", "current", "modbus")
CHANNELS: dict[str, tuple[str, ...]] = {
    "grout in": ("total", "pulses", "rate", "current"),
    "returns out": ("total", "pulses", "rate", "current"),
    "hook load": ("force", "current"),
    "pressure": ("pressure", "current"),
    "density": ("density", "current"),
}
"""What may be measured, and the values by one of which it is."""
_KINDS: dict[str, Kind] = {
    "total": Kind.VOLUME,
    "rate": Kind.RATE,
    "pulses": Kind.VOLUME,  # what one pulse stands for
    "density": Kind.DENSITY,
    "force": Kind.LOAD,
    "pressure": Kind.PRESSURE,
}
_RANGES: dict[str, tuple[str, Kind]] = {
    "grout in": ("rate_m3_s", Kind.RATE),
    "returns out": ("rate_m3_s", Kind.RATE),
    "hook load": ("force_n", Kind.LOAD),
    "pressure": ("pressure_pa", Kind.PRESSURE),
    "density": ("density_kg_m3", Kind.DENSITY),
}
"""What a current stands for on each channel."""
_COUNTER = r"P\s+(?P<pulses>\S+)"
_CURRENT = r"I\s+(?P<current>\S+)\s+mA"
_MA = 1e-3
_PATTERN = "a regular expression with named groups out of {names}, such as '(?P<total>[0-9.]+) L'"
_PORT = (
    'a port, such as "/dev/ttyUSB0", "COM3", "socket://192.0.2.5:4001" or, for Modbus over TCP, "tcp://192.0.2.5:502"'
)
_BITS = 'data bits, parity and stop bits, such as "8N1", "8E1" or "7E1"'


def meter(table: Table) -> Values:
    """The meter that counts the grout."""
    values = _wired(table, "grout in") | given(
        tolerance_share=_share(table, "tolerance"),
        step_m3=table.quantity("step", Kind.VOLUME, above_zero=True),
    )
    correction = table.number("correction", 0.5, 2.0)
    if correction is not None:
        values |= _corrected(values, correction)
    table.close()
    return values


def _corrected(values: Values, correction: float) -> Values:
    """What it shows times true over shown, as a bucket test gives it; a K is put right by itself."""
    shown_volumes = ("total", "rate")
    factors = {name: one * (correction if name in shown_volumes else 1.0)
               for name, one in values.get("factors", {}).items()}  # fmt: skip
    registers = [
        one | {"factor": one["factor"] * correction} if one.get("reads") in shown_volumes and "factor" in one else one
        for one in values.get("registers", ())
    ]
    loop = values.get("loop")
    if loop is not None and loop["quantity"] == "rate_m3_s":
        loop = loop | {"at_4": loop["at_4"] * correction, "at_20": loop["at_20"] * correction}
    return given(factors=factors or None, registers=registers or None, loop=loop)


def instrument(table: Table, ports: Mapping[str, Values] | None = None) -> tuple[Values, bool]:
    """Any other instrument, and whether it is the one that counts the grout. `ports` are those named before it: on one
    of them, what it does not say itself is as there."""
    name = table.text("name", required=True, example='a name of its own, such as "returns meter"')
    if name is not None and (len(name) > 40 or name != name.strip() or name == "grout"):
        table.note("name", shown(name), 'a name of at most 40 characters, other than "grout", without spaces around it')
    channel = table.choice("channel", tuple(CHANNELS))
    counts = bool(table.flag("counts"))
    if counts and channel not in (None, "grout in"):
        table.note("counts", f"true for {channel}", 'true for "grout in" alone: it is the volume that counts')
    values = _wired(table, channel or "grout in", (ports or {}).get(str(table.peek("port")))) | given(name=name)
    if counts:
        values |= given(tolerance_share=_share(table, "tolerance"))
        values |= given(step_m3=table.quantity("step", Kind.VOLUME, above_zero=True))
    else:
        values |= given(measures=channel)
    table.close()
    return values, counts


def _wired(table: Table, channel: str, first: Values | None = None) -> Values:
    """How it is reached and read; `first` is the one that has its port already."""
    source = table.choice("source", SOURCES, required=False) or "lines"
    bits = table.text("bits")
    if bits is not None and not (len(bits) == 3 and bits[0] in "78" and bits[1] in "NEO" and bits[2] in "12"):
        table.note("bits", shown(bits), _BITS)
        bits = None
    values = {key: one for key, one in (first or {}).items() if key in ("baud", "bits")} | given(
        port=table.text("port", required=True, example=_PORT),
        baud=table.count("baud", 300, 4_000_000, required=False),
        bits=bits,
    )
    port = values.get("port", "")
    if source != "modbus" and port.lower().startswith("tcp://"):
        table.note("port", shown(port), 'socket://host:port; tcp:// is for source = "modbus"')
    lines_of = first if first and first.get("pattern") else {}
    values |= _modbus(table, channel) if source == "modbus" else _lines(table, source, channel, lines_of)
    if table.has("rolls_over_at") and table.has("rolls_over_at_count"):
        table.note("rolls_over_at_count", "both", "rolls_over_at, a volume, or rolls_over_at_count, a number of pulses")
    modulus = table.quantity("rolls_over_at", Kind.VOLUME, above_zero=True)
    if source in ("pulses", "strokes", "modbus"):
        count = table.count("rolls_over_at_count", 2, 2**53, required=False)
        pulse = _pulse_m3(values)
        if count is not None and pulse is None:
            table.note("rolls_over_at_count", str(count), "it only for pulses; a total rolls over at a volume")
        modulus = count * pulse if count is not None and pulse is not None else modulus
    return values | given(modulus_m3=modulus)


def _pulse_m3(values: Values) -> float | None:
    """What one pulse stands for [m3]."""
    registers = [one["factor"] for one in values.get("registers", ()) if one.get("reads") == "pulses"]
    found: float | None = registers[0] if registers else values.get("factors", {}).get("pulses")
    return found


# --- lines -----------------------------------------------------------------------------------------------------------


def _lines(table: Table, source: str, channel: str, first: Values) -> Values:
    pattern = table.text("pattern")
    if source == "lines" and first and pattern is None and not table.has("dialect"):
        return _of_the_same_lines(table, channel, first)
    if source == "lines":
        return _described(table, pattern, channel)
    if table.has("dialect"):
        table.note("dialect", f"a dialect for {source}", "a pattern, where its lines are not as usual")
        table.choice("dialect", ("plain",), required=False)
    pattern = pattern or (_CURRENT if source == "current" else _COUNTER)
    named = _groups(table, pattern, channel)
    value = "current" if source == "current" else "pulses"
    if named is not None and value not in named:
        table.note("pattern", shown(pattern), f'a pattern with (?P<{value}>...) for source = "{source}"')
    extra = (named or frozenset()) - {value}
    factors = _factors(table, extra) if table.has("units") or extra else {}
    if source == "current":
        factors |= {"current": _MA}
        return given(pattern=pattern, factors=factors, loop=_loop(table, channel))
    volume = _k(table, "k", table) if source == "pulses" else _stroke_m3(table)
    return given(pattern=pattern, factors=factors | given(pulses=volume))


def _of_the_same_lines(table: Table, channel: str, first: Values) -> Values:
    """Its own values out of the lines that the first on its port reads: the same pattern, with only these named."""
    wanted = set(CHANNELS[channel]) & set(first["factors"])
    if not wanted:
        there = ", ".join(first["factors"])
        table.note("pattern", f"nothing, and the lines of its port name {there}",
                   f"{' or '.join(CHANNELS[channel])} named in that pattern, or a pattern of its own")  # fmt: skip
    if table.has("units"):
        table.note("units", "units without a pattern", "no units: they are said with the pattern that names the value")
        table.table("units")
    pattern = re.sub(r"\(\?P<(\w+)>", lambda named: named[0] if named[1] in wanted else "(?:", first["pattern"])
    loop = _loop(table, channel) if "current" in wanted else None
    return given(pattern=pattern, factors={name: first["factors"][name] for name in wanted}, loop=loop)


def _described(table: Table, pattern: str | None, channel: str) -> Values:
    table.choice("dialect", ("plain",), required=False)
    if table.has("dialect") == table.has("pattern"):
        table.note(
            "pattern",
            "both dialect and pattern" if table.has("pattern") else "nothing",
            'dialect = "plain", or a pattern with its units',
        )
    if table.has("dialect"):
        if table.has("units"):
            table.note("units", "units beside a dialect", 'no units: the dialect "plain" says L and L/min itself')
        if channel not in ("grout in", "returns out"):
            table.note("dialect", f'"plain" for {channel}', "a pattern: plain lines give a total and a rate")
        table.table("units")
        return {"pattern": PLAIN_PATTERN, "factors": dict(PLAIN_FACTORS)}
    named = _groups(table, pattern, channel) if pattern is not None else None
    factors = _factors(table, named, required=pattern is not None)
    if named is not None and "current" in named:
        return given(pattern=pattern, factors=factors | {"current": _MA}, loop=_loop(table, channel))
    return given(pattern=pattern, factors=factors)


def _groups(table: Table, pattern: str, channel: str) -> frozenset[str] | None:
    """The values that a pattern reads; None where it cannot be used, which has then been noted."""
    accepted = _PATTERN.format(names=", ".join([*_KINDS, "current"]))
    try:
        named = LineDialect.groups(pattern)
    except DialectFault as fault:
        table.note("pattern", f"{shown(pattern)} ({fault})", accepted)
        return None
    wanted = CHANNELS[channel]
    if not named & set(wanted):
        table.note("pattern", shown(pattern), f"a pattern that reads {' or '.join(wanted)}, for {channel}")
    return named


def _factors(table: Table, named: frozenset[str] | None, *, required: bool = True) -> dict[str, float]:
    """SI value of one printed unit for each value that the pattern reads."""
    factors: dict[str, float] = {}
    with_units = None if named is None else named - {"current"}
    part = table.table("units", required=required and with_units != frozenset())
    if part is None:
        return factors
    for name, kind in _KINDS.items():
        wanted = with_units is not None and name in with_units
        if not (wanted or part.has(name)):
            continue
        if not wanted and with_units is not None:
            part.note(name, "a unit for a value that the pattern does not read", f"a pattern with (?P<{name}>...)")
        factor = part.unit(name, kind, required=wanted)
        if factor is not None:
            factors[name] = factor
    part.close()
    return factors


def _k(table: Table, key: str, where: Table) -> float | None:
    """What one pulse stands for [m3]; K is asked for with both of its units, since makers mean either by it."""
    text = where.text(key, required=True, example=ACCEPTED)
    if text is None:
        return None
    try:
        return m3_per_pulse(text, table.desk.gallon)
    except units.UnitFault as fault:
        where.note(key, f"{shown(text)} ({fault.why})" if fault.why else shown(text), fault.accepted)
        return None


def _stroke_m3(table: Table) -> float | None:
    """What one stroke of the pump delivers [m3]."""
    volume = table.quantity("stroke_volume", Kind.VOLUME, required=True, above_zero=True)
    efficiency = table.quantity("efficiency", Kind.SHARE, required=True)
    if efficiency is not None and not 0.1 <= efficiency <= 1.0:
        table.note("efficiency", f"{efficiency * 100:g} %", "a share from 10 % to 100 %: what a stroke truly delivers")
        return None
    return volume * efficiency if volume is not None and efficiency is not None else None


def _loop(table: Table, channel: str) -> Values | None:
    """What 4 and 20 mA stand for."""
    quantity, kind = _RANGES[channel]
    low, high = table.signed("at_4_mA", kind), table.signed("at_20_mA", kind)
    for key in ("at_4_mA", "at_20_mA"):
        if not table.has(key):
            table.note(key, "nothing", units.accepted(kind))
    if low is None or high is None:
        return None
    if low == high:
        table.note("at_20_mA", "the same as at_4_mA", "the value at the other end of the range")
        return None
    return {"quantity": quantity, "at_4": low, "at_20": high}


# --- Modbus ----------------------------------------------------------------------------------------------------------


def _modbus(table: Table, channel: str) -> Values:
    registers = [_register(part) for part in table.tables("register") or []]
    names = [one["reads"] for one in registers if "reads" in one]
    wanted = CHANNELS[channel]
    if names and not set(names) & set(wanted):
        table.note("register", " and ".join(names), f"one that reads {' or '.join(wanted)}, for {channel}")
    if len(set(names)) < len(names) or {"total", "pulses"} <= set(names):
        table.note("register", " and ".join(names), "one register for each value, and total or pulses")
    loop = _loop(table, channel) if "current" in names else None
    every = table.quantity("every", Kind.DURATION, above_zero=True)
    if every is not None and not 0.05 <= every <= 60:
        table.note("every", f"{every:g} s", "a duration from 0.05 s to 60 s")
    return given(pattern="", factors={}, registers=registers, every_s=every, loop=loop)


def _register(part: Table) -> Values:
    reads = part.choice("reads", (*_KINDS, "current"))
    scale = part.number("scale", 1e-9, 1e9)
    factor: float | None
    if reads == "current":
        factor = _MA
    elif reads == "pulses":
        factor = _k(part, "k", part)
    else:
        factor = part.unit("units", _KINDS[reads], required=True) if reads else None
    values = given(
        reads=reads,
        address=part.count("address", 0, 65_535),
        unit=part.count("unit", 1, 247, required=False),
        bank=part.choice("bank", ("holding", "input"), required=False),
        type=part.choice(
            "type", ("uint16", "int16", "uint32", "int32", "uint64", "int64", "float32", "float64"), required=False
        ),
        order=part.choice("order", ("ABCD", "CDAB", "BADC", "DCBA"), required=False),
        factor=factor * (scale or 1.0) if factor is not None else None,
    )
    part.close()
    try:
        if "address" in values and "factor" in values:
            Register(values.get("reads", "total"), **{key: one for key, one in values.items() if key != "reads"})
    except RegisterFault as fault:
        part.note("address", str(values["address"]), str(fault))
    return values


def _share(table: Table, key: str) -> float | None:
    share = table.quantity(key, Kind.SHARE)
    if share is not None and not 0 <= share <= 0.99:
        table.note(key, f"{share * 100:g} %", "a share from 0 % to 99 %")
        return None
    return share
