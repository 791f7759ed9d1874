"""Lines of a session set aside, byte for byte, in a file of their own."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from tally.record.line import MAX_LINE_BYTES
from tally.record.writer import to_disk


def lines_but(source: Path, kept: Iterable[int], target: Path) -> None:
    """Copies every line of `source` but those numbered in `kept` (ascending, from 1) to `target`, which is new."""
    rest = iter(kept)
    skipped, number = next(rest, None), 1
    with source.open("rb") as lines, target.open("xb") as copy:
        while piece := lines.readline(MAX_LINE_BYTES):
            if number != skipped:
                copy.write(piece)
            if piece.endswith(b"\n"):
                if number == skipped:
                    skipped = next(rest, None)
                number += 1
        copy.flush()
        to_disk(copy.fileno())
