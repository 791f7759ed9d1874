"""The [meter] table of a plan file by itself: read in the same words as in a plan, and written for pasting."""

import json
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

from tally.job.wired import Instrument, MeterPlan, Wired
from tally.planfile import instruments
from tally.planfile.locator import lines
from tally.planfile.mistake import Mistake
from tally.planfile.table import Desk, Table
from tally.units import Gallon

Value = str | int | float
"""What stands behind a key."""


def read_meter(text: str, gallon: Gallon | None = None, name: str = "the meter") -> MeterPlan | list[Mistake]:
    """The meter that `text`, TOML with a [meter] table, describes, or everything that is wrong with it."""
    document = _document(text, name)
    if isinstance(document, list):
        return document
    desk = Desk(name, lines(text), gallon)
    table = Table(document, (), desk).table("meter", required=True)
    values = instruments.meter(table) if table is not None else {}
    if desk.mistakes:
        return desk.mistakes
    try:
        return MeterPlan.model_validate(values, strict=False)
    except ValueError as fault:  # the table checks what a person can get wrong; the model may refuse more
        return [Mistake("meter", None, str(fault), "a [meter] table as in `tally plan --example`", name)]


def read_wired(text: str, gallon: Gallon | None = None, name: str = "the meter") -> Wired | list[Mistake]:
    """The same, where `text` may have one [[instrument]] in place of the [meter]."""
    document = _document(text, name)
    if isinstance(document, list):
        return document
    if "instrument" not in document:
        return read_meter(text, gallon, name)
    desk = Desk(name, lines(text), gallon)
    tables = Table(document, (), desk).tables("instrument")
    values = instruments.instrument(tables[0])[0] if tables else {}
    if desk.mistakes:
        return desk.mistakes
    try:
        return Instrument.model_validate(values, strict=False)
    except ValueError as fault:
        return [Mistake("instrument", None, str(fault), "an [[instrument]] as in `tally plan --example`", name)]


def _document(text: str, name: str) -> dict[str, Any] | list[Mistake]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        return [Mistake("meter", None, f"text that is not TOML: {fault}", 'lines such as key = "value"', name)]


def meter_text(
    *,
    port: str,
    baud: int,
    pattern: str = "",
    units: Mapping[str, str] | None = None,
    k: str = "",
    source: str = "",
    channel: str = "grout in",
    keys: Mapping[str, Value] | None = None,
    registers: Sequence[Mapping[str, Value]] = (),
    tolerance: str = "2 %",
    more: tuple[str, ...] = (),
) -> str:
    """A [meter] table as TOML, or an [[instrument]] for another `channel`; without a pattern, of the plain dialect or,
    with K, of a counter that prints its count.

    `source` with its `keys` (and `registers`) is any other than lines; `more` are further lines.
    """
    counts = channel == "grout in"
    head = ["[meter]"] if counts else ["[[instrument]]", f'name = "{channel} meter"', f"channel = {quoted(channel)}"]
    told = [f"port = {quoted(port)}"] + ([] if port.startswith("tcp://") else [f"baud = {baud}"])
    source = source or ("pulses" if k and not registers else "")
    told += [f"source = {quoted(source)}"] if source else [] if pattern else ['dialect = "plain"']
    told += [f"k = {quoted(k)}"] if k else []
    told += [f"pattern = {quoted(pattern)}"] if pattern else []
    told += [f"{key} = {_value(value)}" for key, value in (keys or {}).items()]
    if units:
        named = ", ".join(f"{name} = {quoted(unit)}" for name, unit in units.items())
        told.append(f"units = {{{named}}}")
    if registers:
        rows = ["  {" + ", ".join(f"{key} = {_value(value)}" for key, value in one.items()) + "}," for one in registers]
        told += ["register = [", *rows, "]"]
    return "\n".join([*head, *told, *([f"tolerance = {quoted(tolerance)}"] if counts else []), *more, ""])


def _value(value: Value) -> str:
    return quoted(value) if isinstance(value, str) else f"{value:.10g}"


def quoted(text: str) -> str:
    """`text` as a TOML string, as it is where that can be."""
    plain = text.isprintable() and "'" not in text
    if plain and "\\" in text:
        return f"'{text}'"
    return json.dumps(text, ensure_ascii=not text.isprintable())
