"""The [meter] table of a plan file by itself: read in the same words as in a plan, and written for pasting."""

import json
import tomllib

from tally.job.wired import MeterPlan
from tally.planfile import instruments
from tally.planfile.locator import lines
from tally.planfile.mistake import Mistake
from tally.planfile.table import Desk, Table
from tally.units import Gallon


def read_meter(text: str, gallon: Gallon | None = None, name: str = "the meter") -> MeterPlan | list[Mistake]:
    """The meter that `text`, TOML with a [meter] table, describes, or everything that is wrong with it."""
    try:
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        return [Mistake("meter", None, f"text that is not TOML: {fault}", 'lines such as key = "value"', name)]
    desk = Desk(name, lines(text), gallon)
    table = Table(document, (), desk).table("meter", required=True)
    values = instruments.meter(table) if table is not None else {}
    if desk.mistakes:
        return desk.mistakes
    try:
        return MeterPlan.model_validate(values, strict=False)
    except ValueError as fault:  # the table checks what a person can get wrong; the model may refuse more
        return [Mistake("meter", None, str(fault), "a [meter] table as in `tally plan --example`", name)]


def meter_text(
    *,
    port: str,
    baud: int,
    pattern: str = "",
    units: dict[str, str] | None = None,
    k: str = "",
    tolerance: str = "2 %",
    more: tuple[str, ...] = (),
) -> str:
    """A [meter] table as TOML; without a pattern, of the plain dialect or, with K, of a counter that prints its count.

    `more` are further lines.
    """
    told = [f"port = {quoted(port)}", f"baud = {baud}"]
    told += ['source = "pulses"', f"k = {quoted(k)}"] if k else [] if pattern else ['dialect = "plain"']
    told += [f"pattern = {quoted(pattern)}"] if pattern else []
    if units:
        named = ", ".join(f"{name} = {quoted(unit)}" for name, unit in units.items())
        told.append(f"units = {{{named}}}")
    return "\n".join(["[meter]", *told, f"tolerance = {quoted(tolerance)}", *more, ""])


def quoted(text: str) -> str:
    """`text` as a TOML string, as it is where that can be."""
    plain = text.isprintable() and "'" not in text
    if plain and "\\" in text:
        return f"'{text}'"
    return json.dumps(text, ensure_ascii=not text.isprintable())
