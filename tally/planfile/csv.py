"""A caliper log as a table of text: a line that names the columns, then a line for each depth."""

import csv
import io
import re

from tally.formats import plain
from tally.planfile.curve import Curves, Heading, LogFault, place, si_of

NULLS = frozenset(
    {"", "-", "--", "na", "n/a", "nan", "null", "-999", "-999.25", "-999.0", "-9999", "-9999.0", "-9999.25"}
)
"""What tools write for a reading that is missing: the first are plain English, the numbers common practice."""
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_BRACKETED = re.compile(r"(?P<name>.*?)\s*(?:\[(?P<square>[^\]]*)\]|\((?P<round>[^)]*)\))")
_ACCEPTED = "a line with the columns' names and units, such as depth_m,diameter_mm, then numbers under them"


def curves(text: str, depth: str | None, diameter: str | None) -> Curves:
    """Depth and diameter, from the columns of those names or from those that are plainly so called."""
    delimiter = _delimiter(text)
    rows = _rows(text, delimiter)
    if not rows:
        raise LogFault("caliper", "a log without a line", _ACCEPTED)
    headings = [_heading(cell.strip()) for cell in rows[0][1]]
    if any(_NUMBER.fullmatch(heading.whole) for heading in headings):
        raise LogFault("caliper", f"numbers in line {rows[0][0]} and no names of columns above them", _ACCEPTED)
    at = place(headings, "depth", depth), place(headings, "diameter", diameter)
    first = 1
    if len(rows) > 1 and all(len(rows[1][1]) > column and si_of(rows[1][1][column].strip()) for column in at):
        named = [rows[1][1][column].strip() for column in at]
        headings = [Heading(h.name, named[at.index(c)] if c in at else h.unit, h.whole) for c, h in enumerate(headings)]
        first = 2
    cells = _Cells(delimiter)
    readings = tuple((cells.value(row, at[0], line), cells.value(row, at[1], line)) for line, row in rows[first:])
    return Curves(headings[at[0]], headings[at[1]], readings)


def _delimiter(text: str) -> str:
    """From the line of names: a semicolon or a tabulator anywhere in it tells that a comma is not one."""
    line = next((line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")), "")
    return next((mark for mark in (";", "\t") if mark in line), ",")


def _rows(text: str, delimiter: str) -> list[tuple[int, list[str]]]:
    """(line, cells) of every line that is neither empty nor a remark."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, skipinitialspace=True, strict=True)
    try:
        return [
            (reader.line_num, row)
            for row in reader
            if any(cell.strip() for cell in row) and not row[0].lstrip().startswith("#")
        ]
    except csv.Error as fault:
        raise LogFault("caliper", f"line {reader.line_num} of the log: {fault}", _ACCEPTED) from fault


def _heading(cell: str) -> Heading:
    if match := _BRACKETED.fullmatch(cell):
        return Heading(match["name"], (match["square"] or match["round"] or "").strip(), cell)
    name, _, unit = cell.rpartition("_")
    return Heading(name, unit, cell) if name and si_of(unit) is not None else Heading(cell, "", cell)


class _Cells:
    """Reads numbers, and holds a whole file to one decimal mark."""

    def __init__(self, delimiter: str) -> None:
        self._comma_parts = delimiter == ","
        self._mark, self._seen = "", ""

    def value(self, row: list[str], column: int, line: int) -> float | None:
        if column >= len(row):
            raise LogFault("caliper", f"line {line} of the log: {len(row)} values", f"at least {column + 1}, as named")
        cell = row[column].strip()
        if cell.casefold().replace(",", ".") in NULLS:
            return None
        if not _NUMBER.fullmatch(cell):
            raise LogFault("caliper", f"line {line} of the log: {plain(cell)[:40]}", "a number, without separators")
        mark = next((mark for mark in ".," if mark in cell), "")
        if mark and self._mark and mark != self._mark:
            raise LogFault(
                "caliper", f"line {line} of the log: {cell}, after {self._seen}", "one decimal mark throughout"
            )
        if mark:
            self._mark, self._seen = mark, cell
        return float(cell.replace(",", "."))
