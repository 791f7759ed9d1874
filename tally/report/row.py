"""Lines of a worked-out plan: columns that end at the same places on 80."""

from __future__ import annotations

from tally.formats import plain

WIDTH = 80


def row(label: str, *cells: str) -> str:
    """A line of a block: what it is, then up to three columns."""
    return f"  {plain(label)[:24]:<24}" + "".join(f" {cell:>16}" for cell in cells)


def narrow_row(label: str, *cells: str) -> str:
    """A line of a table: a short label, then up to five columns."""
    return f"  {plain(label)[:12]:<12}" + "".join(f" {cell:>12}" for cell in cells)
