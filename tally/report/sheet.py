"""Blocks as the data of a printed sheet: which tables stand side by side, how wide each column is. No markup, no font.

Whatever a person typed goes on as a string; the template `day.typ` places strings and never reads them as markup.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Any, Literal

from tally import formats
from tally.formats import UNKNOWN
from tally.report.block import Block, Form, Heading, Items, Pairs, Place, Signatures, Strong, Table, Words

Paper = Literal["a4", "us-letter"]
Part = dict[str, Any]

WIDTHS_PT: dict[Paper, float] = {"a4": 595.28 - 2 * 36, "us-letter": 612.0 - 2 * 36}
"""Between the margins that the template sets."""
CHARACTER_PT = 3.55
"""Of the template's text, on the average and on the safe side; a cell that is longer wraps."""
PADDING_PT = 6.5
GAP_PT = 14.0
WIDEST = 60
NARROW = 34
"""Characters that a column asks for at most, across the page and in half of it."""
LONG_TABLE = 12
"""Rows from which a narrow table is set in several columns."""
PAIR_PT = 126.0
PAIR = 35
"""Width of a column of pairs, at least, and the characters of label and value that it holds."""
HALF_LINE = 70
"""Characters of a line in half the width of the page."""
MOST_LINES = 62.0
"""Of two columns side by side: about four fifths of a page."""
UNEVEN = 0.65
"""Share of the lines in one of two columns from which one column across the page is shorter."""
UNBROKEN = 14
"""A word that is longer may be broken anywhere, so that none can leave its cell."""
MAY_BREAK = "\u200b"
_UNIT = re.compile(r"(?<=\d) (?=(?:m|mm|L|t|kg|kg/L|bar|ft|in|lb|lb/gal|US gal|gal|psi|min|s|h|%)(?![\w/]))")
"""Between a number and its unit no line is broken."""
_RIGHT_TO_LEFT = frozenset({"R", "AL", "AN"})


def shown(text: str) -> str:
    """Text as it is set: one line, breakable, and right-to-left writing kept from reordering what stands beside it."""
    words = [
        MAY_BREAK.join(word[at : at + UNBROKEN] for at in range(0, len(word), UNBROKEN))
        for word in formats.plain(text).split()
    ]
    line = _UNIT.sub("\u00a0", " ".join(words))
    if any(unicodedata.bidirectional(character) in _RIGHT_TO_LEFT for character in line):
        return f"\u2068{line}\u2069"  # Unicode Standard Annex 9
    return line


def parts(blocks: Iterable[Block], paper: Paper, drawings: Sequence[Sequence[Part]]) -> list[Part]:
    """What the template places, from the top down. `drawings` are the rows that stand at the `Place`."""
    width_pt = WIDTHS_PT[paper]
    placed: list[Part] = []
    run: list[list[Block]] = []
    for section in _sections(blocks):
        if _is_narrow(section, _half_pt(width_pt)):
            run.append(section)
            continue
        placed += _side_by_side(run, width_pt)
        run = []
        placed += _rowed(_titled(section), width_pt, drawings)
    return _kept_together([*placed, *_side_by_side(run, width_pt)])


def _kept_together(placed: list[Part]) -> list[Part]:
    """Words that introduce a form stay on its page."""
    for part, after in pairwise(placed):
        if part["is"] == "words" and after["is"] == "form":
            part["sticky"] = True
    return placed


def _half_pt(width_pt: float) -> float:
    return (width_pt - GAP_PT) / 2


def _sections(blocks: Iterable[Block]) -> Iterator[list[Block]]:
    """The blocks under each heading, with it; what stands above the first heading is one too."""
    section: list[Block] = []
    for block in blocks:
        if isinstance(block, Heading) and block.level <= 2 and section:
            yield section
            section = []
        section.append(block)
    yield section


def _is_narrow(section: Sequence[Block], half_pt: float) -> bool:
    """It loses nothing in half the width of the page: its tables fit and it asks for no room to write or draw."""
    if not (isinstance(section[0], Heading) and section[0].level == 2) or section[0].wide:
        return False
    if any(isinstance(block, Form | Place | Signatures) for block in section):
        return False
    tables = [block for block in section if isinstance(block, Table)]
    return all(sum(_wanted_pt(table, NARROW)) <= half_pt and _longest(table) <= 3 * NARROW for table in tables)


def _longest(table: Table) -> int:
    return max((len(cell) for row in table.rows for cell in row), default=0)


def _side_by_side(run: Sequence[list[Block]], width_pt: float) -> list[Part]:
    """Narrow sections in two columns of about one height; across the page where that is shorter or they do not fit."""
    heights = [_lines(section) for section in run]
    least, at = min((abs(sum(heights[:at]) - sum(heights[at:])), at) for at in range(len(run) + 1))
    higher = (sum(heights) + least) / 2
    if len(run) < 2 or higher > MOST_LINES or higher > UNEVEN * sum(heights):
        return [part for section in run for part in _rowed(_titled(section), width_pt, ())]
    half_pt = _half_pt(width_pt)
    left, right = (
        [part for section in side for part in _rowed(_titled(section), half_pt, ())] for side in (run[:at], run[at:])
    )
    return [{"is": "columns", "columns": [left, right]}]


def _lines(section: Sequence[Block]) -> float:
    """About how high a section is in half the page's width, in lines of text."""
    return sum(_block_lines(block) for block in section)


def _block_lines(block: Block) -> float:
    match block:
        case Heading(level, _):
            return 2.2 if level == 2 else 1.8
        case Words(text) | Strong(text):
            return 0.3 + -(-len(text) // HALF_LINE)
        case Items(rows):
            return float(sum(-(-(len(label) + len(text)) // HALF_LINE) for label, text in rows)) * 1.2
        case Pairs(rows):
            return sum(-(-(len(label) + len(value) + 2) // PAIR) for label, value in rows) / 2 * 1.2
        case Table(_, rows):
            return 1.9 + 1.2 * sum(max(-(-len(cell) // NARROW) for cell in row) for row in rows)
    return 0.0


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
                yield _part(block, width_pt)
    if row:
        yield _row(row)


def _row(tables: list[Part]) -> Part:
    return {"is": "tables", "tables": tables}


def _part(block: Block, width_pt: float) -> Part:
    match block:
        case Heading(level, text):
            return {"is": "heading", "level": level, "text": shown(text)}
        case Strong(text):
            return {"is": "strong", "text": shown(text)}
        case Words(text):
            return {"is": "words", "text": shown(text), "sticky": False}
        case Items(rows) if not any(label for label, _ in rows):
            return {"is": "sentences", "rows": [["", shown(text)] for _, text in rows]}
        case Items(rows):
            return {"is": "items", "rows": [[shown(label), shown(text)] for label, text in rows]}
        case Pairs(rows):
            return _pairs(rows, max(int(width_pt // PAIR_PT), 1))
        case Form(_, rows):
            return _form(rows)
        case Signatures(rows):
            return {"is": "signatures", "rows": [[shown(text) for text in row] for row in rows]}
    raise AssertionError(block)


def _form(rows: Sequence[tuple[str, str, str]]) -> Part:
    """By group; what several labels of a group begin with, such as "Stage 1, ", is said once."""
    groups: dict[str, list[list[str]]] = {}
    said = ""
    for group, label, value in rows:
        first, comma, rest = label.partition(", ")
        again = bool(comma) and first == said
        said = first if comma else ""
        groups.setdefault(shown(group), []).append([shown(rest if again else label), shown(value)])
    return {"is": "form", "groups": [{"group": group, "rows": found} for group, found in groups.items()]}


def _pairs(rows: Sequence[tuple[str, str]], columns: int) -> Part:
    """Each takes as many of the columns as its words need; the last of a line takes what is left."""
    told: list[Part] = []
    left = columns
    for label, value in rows:
        wanted = min(-(-(len(label) + 2 + len(value)) // PAIR), columns)
        if wanted > left:
            told[-1]["columns"] += left
            left = columns
        told.append({"label": shown(label), "value": shown(value or UNKNOWN), "columns": wanted})
        left = (left - wanted) or columns
    if told and left < columns:
        told[-1]["columns"] += left
    return {"is": "pairs", "columns": columns, "rows": told}


def _table(title: str, table: Table, width_pt: float) -> Part:
    names = [name.removeprefix(">") for name in table.columns]
    rows = [[shown(cell) for cell in row] for row in table.rows]
    return {
        "title": shown(title),
        "widths": _filled(_fitted(_wanted_pt(table), width_pt), table, width_pt),
        "names": [shown(name) for name in names],
        "right": [name.startswith(">") for name in table.columns],
        "rows": rows,
    }


def _wanted_pt(table: Table, widest: int = WIDEST) -> list[float]:
    """Width of each column that keeps its cells on one line, as far as they are not too long for that."""
    names = [name.removeprefix(">") for name in table.columns]
    longest = [max([_size(names[at]) + 1, *(_size(row[at]) for row in table.rows)]) for at in range(len(names))]
    return [min(length, widest) * CHARACTER_PT + PADDING_PT for length in longest]


def _size(text: str) -> float:
    """About how many average characters wide: capitals are wider."""
    return len(text) + 0.4 * sum(character.isupper() for character in text[:WIDEST])


def _filled(widths: list[float], table: Table, width_pt: float) -> list[float]:
    """The column of a cell that is much too long for a line takes what the page has left."""
    longest = [max((len(row[at]) for row in table.rows), default=0) for at in range(len(widths))]
    if longest and max(longest) > 2 * WIDEST:
        widths[longest.index(max(longest))] += max(width_pt - sum(widths), 0.0)
    return widths


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
