"""Blocks as Markdown. The same blocks give the same bytes, on any machine and at any time."""

from __future__ import annotations

from collections.abc import Iterable

from tally.formats import UNKNOWN, Units
from tally.job.view.report import ReportView
from tally.report import day
from tally.report.block import Block, Form, Heading, Items, Pairs, Place, Signatures, Strong, Table, Words
from tally.report.layout import escaped, heading, items, strong, table

LINE = "_" * 24


def markdown(view: ReportView, units: Units) -> str:
    """The report as text, ending with a line end."""
    return written(day.blocks(view, units))


def written(blocks: Iterable[Block]) -> str:
    """The blocks as text, ending with a line end."""
    return "\n\n".join(_block(block) for block in blocks if not isinstance(block, Place)) + "\n"


def _block(block: Block) -> str:
    match block:
        case Heading(level, text):
            return heading(level, text)
        case Strong(text):
            return strong(text)
        case Words(text):
            return escaped(text)
        case Items(rows):
            return items(rows)
        case Pairs(rows):
            return table(("Item", "Value"), [(label, value or UNKNOWN) for label, value in rows])
        case Table(columns, rows) | Form(columns, rows):
            return table(columns, rows)
        case Signatures(rows):
            # Rules of underscores are our own marks, so they go past the escaping.
            return "\n".join("- " + "  ".join(f"{escaped(part)}: {LINE}" for part in row) for row in rows)
        case Place():
            return ""
