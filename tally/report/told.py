"""Blocks as plain lines to look through on a screen: every word of the report, no table drawn."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tally.formats import UNKNOWN, Units
from tally.job.view.report import ReportView
from tally.report import day
from tally.report.block import Block, Form, Heading, Items, Pairs, Place, Signatures, Strong, Table, Words


def told(view: ReportView, units: Units) -> list[str]:
    """The report's lines, of any length: whoever shows them folds them."""
    return list(lines(day.blocks(view, units)))


def lines(blocks: Iterable[Block]) -> Iterator[str]:
    for block in blocks:
        match block:
            case Heading(level, text):
                yield ""
                yield text.upper() if level < 3 else text
            case Strong(text) | Words(text):
                yield text
            case Items(rows):
                yield from (f"- {label}: {text}" if label else f"- {text}" for label, text in rows)
            case Pairs(rows):
                yield from (f"{label}: {value or UNKNOWN}" for label, value in rows)
            case Table(columns, rows):
                yield " · ".join(name.removeprefix(">") for name in columns)
                yield from ("  " + " · ".join(row) for row in rows)
            case Form(_, rows):
                yield from (f"{group}, {label}: {value}" for group, label, value in rows)
            case Signatures() | Place():
                continue  # lines to sign on and drawings are for paper
