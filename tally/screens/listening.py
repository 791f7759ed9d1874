"""What a port sends, drawn: its state in words, and each line beside what it is read as. All of it as plain text."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content

from tally import formats
from tally.formats import GALLON_M3, Units
from tally.job.view.quantity import Kind, Quantity
from tally.live.picture import Picture, Row, Value
from tally.screens import words
from tally.screens.words import line

RAW = 38
"""Columns of a line as it came, where there is room."""
_HEADS = {"idle": "NOT LISTENING", "opening": "OPENING", "open": "LISTENING", "fault": "NO PORT"}
Table = Sequence[tuple[str, Sequence[tuple[str, float]]]]


def drawn(picture: Picture, width: int, room: int, units: Units, table: Table = ()) -> list[Content]:
    """At most `room` lines; `table` is what registers would read, by type and order, in place of the lines."""
    rows = [_head(picture, width)]
    if picture.trouble:
        told = words.folded(f"▲ {picture.trouble}", width - 2, " ")[:2]
        rows += [line((part, "bold")) for part in told]
    left = room - len(rows)
    if table:
        rows += [_would_read(kind, each, width) for kind, each in table][: max(left, 0)]
    elif left > 0:
        rows += [_row(row, width, units) for row in picture.rows[-left:]]
    return rows[:room]


def _head(picture: Picture, width: int) -> Content:
    setting = picture.setting
    if setting is None:
        return line((f" {_HEADS['idle']}", "bold"), "  no port is picked yet, or its registers are not known yet")
    at = "" if "://" in setting.port else f" at {setting.baud} {setting.bits}"
    counts = ""
    if picture.state == "open":
        rate = f", {picture.a_second:.1f} a second" if picture.a_second and picture.lines > 1 else ""
        what = "answer" if setting.modbus else "line"
        many = "" if picture.lines == 1 else "s"
        read = f"{picture.read} read, " if setting.wired or setting.pattern else ""
        none = "unanswered" if setting.modbus else "garbage"
        counts = f"  {picture.lines} {what}{many}{rate}: {read}{picture.garbage} {none}"
    head = f" {_HEADS[picture.state]}"
    port = words.cut(f" {setting.port}{at}", max(width - len(head) - words.cells(counts), 12))
    return line((head, "bold"), port, counts).truncate(width, ellipsis=True)


def _row(row: Row, width: int, units: Units) -> Content:
    column = min(RAW, width // 2 - 1)
    raw = words.cut(row.raw, column)
    read = "  ".join(value(one, units) for one in row.values)
    read = f"= {read}" if read else f"✗ {row.why}" if row.why else ""
    gap = " " * (column - words.cells(raw))
    return line(f" {raw}{gap} ", (words.cut(read, width - column - 3), "bold" if row.values else ""))


def value(one: Value, units: Units) -> str:
    """ "total 1,234.56 L", with the digits of a meter's display; a number alone where its unit is not known yet."""
    if one.kind is None:
        return f"{one.name} {one.number:,.10g}"
    if one.kind is Kind.VOLUME:
        if units == "us":
            return f"{one.name} {one.number / GALLON_M3:,.3f} US gal"
        return f"{one.name} {one.number * 1000:,.2f} L"
    return f"{one.name} {formats.text(Quantity(one.number, one.kind), units)}"


def _would_read(kind: str, each: Sequence[tuple[str, float]], width: int) -> Content:
    told = "".join(f"{order} {_digits(number):<12}" for order, number in each)
    return line((f" {kind:<8} ", "bold"), words.cut(told, width - 11))


def _digits(number: float) -> str:
    """Enough to be held against a display; what no display shows is short."""
    return f"{number:.8g}" if number == 0 or 1e-3 <= abs(number) < 1e8 else f"{number:.3e}"
