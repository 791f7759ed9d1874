"""Blocks as the data of a printed sheet: which tables stand side by side, how wide each column is. No markup, no font.

Whatever a person typed goes on as a string; the template `day.typ` places strings and never reads them as markup.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Literal

from tally import formats
from tally.formats import UNKNOWN
from tally.report.block import Block, Form, Heading, Items, Pairs, Place, Signatures, Strong, Table, Words

Paper = Literal["a4", "us-letter"]
Part = dict[str, Any]

WIDTHS_PT: dict[Paper, float] = {"a4": 595.28 - 2 * 36, "us-letter": 612.0 - 2 * 36}
"""Between the margins that the template sets."""
CHARACTER_PT = 3.75
"""Of the template's text, on the average and on the safe side; a cell that is longer wraps."""
PADDING_PT = 7.0
GAP_PT = 14.0
WIDEST = 60
"""Characters that a column asks for at most."""
LONG_TABLE = 12
"""Rows from which a narrow table is set in several columns."""
PAIR_COLUMNS = 4
PAIR = 34
"""Characters of label and value that one column of pairs holds."""
UNBROKEN = 14
"""A word that is longer may be broken anywhere, so that none can leave its cell."""
MAY_BREAK = "\u200b"
_RIGHT_TO_LEFT = frozenset({"R", "AL", "AN"})


def shown(text: str) -> str:
    """Text as it is set: one line, breakable, and right-to-left writing kept from reordering what stands beside it."""
    words = [
        MAY_BREAK.join(word[at : at + UNBROKEN] for at in range(0, len(word), UNBROKEN))
        for word in formats.plain(text).split()
    ]
    line = " ".join(words)
    if any(unicodedata.bidirectional(character) in _RIGHT_TO_LEFT for character in line):
        return f"\u2068{line}\u2069"  # Unicode Standard Annex 9
    return line


def parts(blocks: Iterable[Block], paper: Paper, drawings: Sequence[Sequence[Part]]) -> list[Part]:
    """What the template places, from the top down. `drawings` are the rows that stand at the `Place`."""
    width_pt = WIDTHS_PT[paper]
    return list(_rowed(_titled(blocks), width_pt, drawings))


def _titled(blocks: Iterable[Block]) -> Iterator[tuple[str, Block]]:
    """Each block with the small heading above it, if it is a table; other small headings stand alone."""
    title = ""
    for block in blocks:
        if isinstance(block, Heading) and block.level > 2:
            if title:
                yield "", Heading(3, title)
            title = block.text
        elif isinstance(block, Table):
            yield title, block
            title = ""
        else:
            if title:
                yield "", Heading(3, title)
                title = ""
            yield "", block
    if title:
        yield "", Heading(3, title)


def _rowed(titled: Iterable[tuple[str, Block]], width_pt: float, drawings: Sequence[Sequence[Part]]) -> Iterator[Part]:
    """Tables that fit beside each other in one row; anything else by itself."""
    row: list[Part] = []
    for title, block in titled:
        if isinstance(block, Table):
            table = _table(title, block, width_pt)
            apart = bool(title) and bool(row) and not row[0]["title"]
            if row and (apart or _width_pt([*row, table]) > width_pt or _is_long(table, width_pt)):
                yield _row(row)
                row = []
            row.append(table)
            if _is_long(table, width_pt):
                yield _row(_split(table, width_pt))
                row = []
        else:
            if row:
                yield _row(row)
                row = []
            if isinstance(block, Place):
                yield from ({"is": "drawings", "drawings": list(drawn)} for drawn in drawings)
            else:
                yield _part(block)
    if row:
        yield _row(row)


def _row(tables: list[Part]) -> Part:
    return {"is": "tables", "tables": tables}


def _part(block: Block) -> Part:
    match block:
        case Heading(level, text):
            return {"is": "heading", "level": level, "text": shown(text)}
        case Strong(text):
            return {"is": "strong", "text": shown(text)}
        case Words(text):
            return {"is": "words", "text": shown(text)}
        case Items(rows) if not any(label for label, _ in rows):
            return {"is": "sentences", "rows": [["", shown(text)] for _, text in rows]}
        case Items(rows):
            return {"is": "items", "rows": [[shown(label), shown(text)] for label, text in rows]}
        case Pairs(rows):
            return _pairs(rows)
        case Form(_, rows):
            groups: dict[str, list[list[str]]] = {}
            for group, label, value in rows:
                groups.setdefault(shown(group), []).append([shown(label), shown(value)])
            return {"is": "form", "groups": [{"group": group, "rows": found} for group, found in groups.items()]}
        case Signatures(rows):
            return {"is": "signatures", "rows": [[shown(text) for text in row] for row in rows]}
    raise AssertionError(block)


def _pairs(rows: Sequence[tuple[str, str]]) -> Part:
    """Each takes as many of the columns as its words need; the last of a line takes what is left."""
    told: list[Part] = []
    left = PAIR_COLUMNS
    for label, value in rows:
        wanted = min(-(-(len(label) + 2 + len(value)) // PAIR), PAIR_COLUMNS)
        if wanted > left:
            told[-1]["columns"] += left
            left = PAIR_COLUMNS
        told.append({"label": shown(label), "value": shown(value or UNKNOWN), "columns": wanted})
        left = (left - wanted) or PAIR_COLUMNS
    if told and left < PAIR_COLUMNS:
        told[-1]["columns"] += left
    return {"is": "pairs", "columns": PAIR_COLUMNS, "rows": told}


def _table(title: str, table: Table, width_pt: float) -> Part:
    names = [name.removeprefix(">") for name in table.columns]
    rows = [[shown(cell) for cell in row] for row in table.rows]
    wanted = [
        min(max(len(names[at]), *(len(row[at]) for row in table.rows), 3), WIDEST) * CHARACTER_PT + PADDING_PT
        if table.rows
        else len(names[at]) * CHARACTER_PT + PADDING_PT
        for at in range(len(names))
    ]
    return {
        "title": shown(title),
        "widths": _fitted(wanted, width_pt),
        "names": [shown(name) for name in names],
        "right": [name.startswith(">") for name in table.columns],
        "rows": rows,
    }


def _fitted(wanted_pt: Sequence[float], width_pt: float) -> list[float]:
    """Widths that fill no more than the page: what is too much is taken from the widest columns."""
    widths = list(wanted_pt)
    while (over := sum(widths) - width_pt) > 1e-6:
        widest = max(widths)
        wide = [at for at, width in enumerate(widths) if width > widest - 1e-6]
        next_pt = max((width for width in widths if width <= widest - 1e-6), default=0.0)
        step = min(over / len(wide), widest - next_pt)
        for at in wide:
            widths[at] -= step
    return [round(width, 2) for width in widths]


def _width_pt(tables: Sequence[Part]) -> float:
    return float(sum(sum(table["widths"]) for table in tables) + GAP_PT * (len(tables) - 1))


def _is_long(table: Part, width_pt: float) -> bool:
    return len(table["rows"]) > LONG_TABLE and _width_pt([table, table]) <= width_pt


def _split(table: Part, width_pt: float) -> list[Part]:
    """A long narrow table as several beside each other."""
    columns = int((width_pt + GAP_PT) // (sum(table["widths"]) + GAP_PT))
    deep = -(-len(table["rows"]) // columns)
    chunks = [table["rows"][at : at + deep] for at in range(0, len(table["rows"]), deep)]
    return [table | {"title": table["title"] if at == 0 else "", "rows": rows} for at, rows in enumerate(chunks)]
