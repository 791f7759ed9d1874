"""Cells of tables that a spreadsheet opens: text from outside stays text there."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from tally import formats

_STARTS_A_FORMULA = ("=", "+", "-", "@", "\t", "\r")
Cell = str | float | int | bool | None


def neutral(text: str) -> str:
    """Text that no spreadsheet takes for a formula: where it begins like one, an apostrophe stands before it."""
    line = formats.plain(text)
    return f"'{line}" if line.lstrip().startswith(_STARTS_A_FORMULA) else line


def cell(value: Cell) -> str:
    """One value: a number as it is, nothing where it is not known."""
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case int() | float():
            return f"{value:.10g}"
    return neutral(value)


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """A table by RFC 4180, with plain line ends: a line of names, then one a row."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([cell(value) for value in row] for row in rows)
    return out.getvalue()
