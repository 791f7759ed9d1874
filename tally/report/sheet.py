"""Blocks as the data of a printed sheet of two columns: which tables stand side by side, how wide each column is, which
become running text. No markup, no font.

Whatever a person typed goes on as a string; the template `day.typ` places strings and never reads them as markup.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Literal

from tally import formats
from tally.formats import UNKNOWN
from tally.report.block import Block, Form, Heading, Items, Pairs, Place, Signatures, Strong, Table, Words

Paper = Literal["a4", "us-letter"]
Part = dict[str, Any]
Setting = Literal["roomy", "close", "closest"]
"""Roomy; with less space and no columns of pairs; with logs and facts as running text besides."""

MARGIN_PT = 28.0
GAP_PT = 12.0
"""At the sides of the paper, and between its two columns."""
TEXT_CELL = 40
"""Characters of a cell from which a table with several such columns is set as running text."""
LONG_CELL = 400
"""Characters of a cell from which its table is: a row of cells is never broken over columns or pages."""
MOST_ACROSS = 110
"""Characters of a row that still fits the width of a column of the page, its longest cell on two or three lines."""
LONG_TABLE = 12
"""Rows from which a narrow table is set in several columns."""
PAIR = 34
"""Characters of label and value in half the column."""
UNBROKEN = 14
"""A word that is longer may be broken anywhere, so that none can leave its cell."""
MAY_BREAK = "\u200b"
JOINT = " \u00b7 "
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


def parts(blocks: Iterable[Block], drawings: Sequence[Sequence[Part]], setting: Setting) -> list[Part]:
    """What the template places, from the top down; `drawings` are the rows that stand at the `Place`."""
    return [part for section in _sections(blocks) for part in _section(section, drawings, setting)]


def _section(section: Sequence[Block], drawings: Sequence[Sequence[Part]], setting: Setting) -> Iterator[Part]:
    match section:
        case [Strong(invented), Heading(1, text), Words(words), *rest]:
            yield {"is": "title", "invented": shown(invented), "text": shown(text), "words": shown(words)}
        case [Heading(1, text), Words(words), *rest]:
            yield {"is": "title", "invented": "", "text": shown(text), "words": shown(words)}
        case [Heading(2, text), Words(words)]:
            yield {"is": "run-in", "heading": shown(text), "text": shown(words)}
            rest = []
        case [Heading(2, text), Signatures(rows)]:
            yield {"is": "signatures", "title": text, "rows": [[shown(cell) for cell in row] for row in rows]}
            rest = []
        case [Heading(2, text), Words(words), Form() as form]:
            yield _heading(2, text, words)
            rest = [form]
        case [Heading(2, text), Table() as table] if who := said_once(table):
            yield _heading(2, text, f"by {who}")
            rest = [without_by(table)]
        case _:
            # what is invented is said on top of every page
            rest = [block for block in section if not isinstance(block, Strong)]
    yield from _rowed(_titled(rest), drawings, setting)


def said_once(table: Table) -> str:
    """Who made every entry of the table; empty where several did, or it does not say."""
    by = {row[table.columns.index("By")] for row in table.rows} if "By" in table.columns else set()
    return by.pop() if len(by) == 1 else ""


def without_by(table: Table) -> Table:
    at = table.columns.index("By")
    columns, *rows = ((*row[:at], *row[at + 1 :]) for row in (table.columns, *table.rows))
    return Table(columns, rows)


def _heading(level: int, text: str, note: str = "") -> Part:
    return {"is": "heading", "level": level, "text": shown(text), "note": shown(note)}


def _sections(blocks: Iterable[Block]) -> Iterator[list[Block]]:
    """The blocks under each heading, with it; the title with what stands above it is one too."""
    section: list[Block] = []
    for block in blocks:
        if isinstance(block, Heading | Place) and (isinstance(block, Place) or block.level == 2) and section:
            yield section
            section = []
        section.append(block)
    yield section


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


def _rowed(titled: Iterable[tuple[str, Block]], drawings: Sequence[Sequence[Part]], setting: Setting) -> Iterator[Part]:
    """Tables that follow each other as one part, so that they may stand side by side; anything else by itself."""
    row: list[Part] = []
    for title, block in titled:
        running = _is_running(block, setting) if isinstance(block, Table) else ""
        if isinstance(block, Table) and not running:
            row.append(_table(title, block))
            continue
        if row:
            yield {"is": "tables", "tables": row}
            row = []
        if isinstance(block, Place):
            yield from ({"is": "drawings", "drawings": list(drawn)} for drawn in drawings)
        elif isinstance(block, Table):
            yield _running(title, block, running == "one")
        else:
            yield _part(block)
    if row:
        yield {"is": "tables", "tables": row}


def _part(block: Block) -> Part:
    match block:
        case Heading(level, text):
            return _heading(level, text)
        case Words(text):
            return {"is": "words", "text": shown(text)}
        case Items(rows) if not any(label for label, _ in rows):
            return {"is": "sentences", "rows": [["", shown(text)] for _, text in rows]}
        case Items(rows):
            return {"is": "items", "rows": [[shown(label), shown(text)] for label, text in rows]}
        case Pairs(rows):
            return _pairs(rows)
        case Form(_, rows):
            return _form(rows)
    raise AssertionError(block)


# --- running text -------------------------------------------------------------------------------------------------


def _is_running(table: Table, setting: Setting) -> Literal["", "rows", "one"]:
    """Whether its rows are set as running text: one below the other where they do not fit the column as cells, all in
    one paragraph where they are short and room is wanted."""
    longest = [_longest(table, at) for at in range(len(table.columns))]
    texts = sum(length > TEXT_CELL for length in longest)
    too_wide = len(longest) > 4 and sum(longest) > MOST_ACROSS
    if texts > 1 or too_wide or max(longest) > LONG_CELL:
        return "rows"
    numbers = sum(name.startswith(">") for name in table.columns)
    words_alone = numbers == 0 and len(longest) <= 4
    return "one" if setting == "closest" and (words_alone or len(longest) == 2) else ""


def _longest(table: Table, at: int) -> int:
    return max((len(row[at]) for row in table.rows), default=0)


def _running(title: str, table: Table, one: bool) -> Part:
    """Rows as text; in one paragraph the columns' names would say no more than the words do."""
    names = JOINT.join(name.removeprefix(">") for name in table.columns)
    return {
        "is": "rows",
        "title": shown(title),
        "names": "" if one else shown(names),
        "joint": " " if one else JOINT,
        "one": one,
        "rows": [[shown(cell) for cell in row] for row in table.rows],
    }


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


def _pairs(rows: Sequence[tuple[str, str]]) -> Part:
    """Each takes half the column, or all of it; the one before takes what is left of its line."""
    told: list[Part] = []
    left = 2
    for label, value in rows:
        wanted = 1 if len(label) + 2 + len(value) <= PAIR else 2
        if wanted > left:
            told[-1]["columns"] += left
            left = 2
        told.append({"label": shown(label), "value": shown(value or UNKNOWN), "columns": wanted})
        left = (left - wanted) or 2
    if told and left < 2:
        told[-1]["columns"] += left
    return {"is": "pairs", "rows": told}


# --- tables -------------------------------------------------------------------------------------------------------


def _table(title: str, table: Table) -> Part:
    return {
        "title": shown(title),
        "names": [_halved(table, at) for at in range(len(table.columns))],
        "right": [name.startswith(">") for name in table.columns],
        "rows": [[shown(cell) for cell in row] for row in table.rows],
    }


def _halved(table: Table, at: int) -> str:
    """The column's name, on two lines where it is longer than what stands below it."""
    words = table.columns[at].removeprefix(">").split()
    halves = [(" ".join(words[:cut]), " ".join(words[cut:])) for cut in range(1, len(words))]
    if len(" ".join(words)) <= _longest(table, at) or not halves:
        return " ".join(words)
    return "\n".join(min(halves, key=lambda half: max(map(len, half))))
