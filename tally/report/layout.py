"""Markdown's blocks. Every text passes through `escaped`, so that no text from outside can leave its place.

Tables are padded, so that they read as well in a terminal as on a rendered page.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence

from tally import formats

PADDED_TO = 36
"""Cells longer than this stick out rather than widen their whole column."""

_SPECIAL = re.compile(r"[\\`*\[\]|~#$]|(?<![^\W_])_|_(?![^\W_])")
_ENTITY = re.compile(r"&(?=#?\w+;)")
_RIGHT_TO_LEFT = frozenset({"R", "AL", "AN"})


def escaped(text: str) -> str:
    """Text as one line of Markdown that shows it and nothing else."""
    line = " ".join(formats.plain(text).split())
    line = _SPECIAL.sub(r"\\\g<0>", line)
    line = _ENTITY.sub("&amp;", line).replace("<", "&lt;").replace(">", "&gt;")
    if any(unicodedata.bidirectional(character) in _RIGHT_TO_LEFT for character in line):
        # Set apart, right-to-left writing cannot reorder its neighbours in the row (Unicode Standard Annex 9).
        return f"\u2068{line}\u2069"
    return line


def heading(level: int, text: str) -> str:
    return f"{'#' * level} {escaped(text)}"


def strong(text: str) -> str:
    return f"**{escaped(text)}**"


def items(lines: Iterable[tuple[str, str]]) -> str:
    """A list of labelled lines; a line without a label stands alone and must begin with our own words."""
    return "\n".join(
        f"- **{escaped(label)}:** {escaped(text)}" if label else f"- {escaped(text)}" for label, text in lines
    )


def table(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table; a column whose name begins with ">" holds numbers and is set to the right."""
    names = [escaped(name.removeprefix(">")) for name in columns]
    right = [name.startswith(">") for name in columns]
    body = [[escaped(cell) for cell in row] for row in rows]
    widths = [
        max(3, *(min(formats.cells(row[at]), PADDED_TO) for row in (names, *body)))
        if at < len(names) - 1 or right[at]
        else 0
        for at in range(len(names))
    ]
    rule = [
        f"{'-' * (max(width, 3) - 1)}{':' if is_right else '-'}" for width, is_right in zip(widths, right, strict=True)
    ]
    return "\n".join(_row(cells, widths, right) for cells in (names, rule, *body))


def _row(cells: Sequence[str], widths: Sequence[int], right: Sequence[bool]) -> str:
    padded = (_padded(*column) for column in zip(cells, widths, right, strict=True))
    return f"| {' | '.join(padded)} |"


def _padded(cell: str, width: int, to_right: bool) -> str:
    space = " " * max(width - formats.cells(cell), 0)
    return space + cell if to_right else cell + space
