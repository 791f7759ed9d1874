"""The entries of a session left in their file: each is read where it stands when it is looked at.

A replay of a long day then takes little more room than that of a short one: where each line begins, and no more.
"""

from __future__ import annotations

from array import array
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import overload

from tally.job.coding import decoded
from tally.job.events import Entry
from tally.record.reader import opened


class Shelf(Sequence[Entry]):
    """Lines of one file that were found to hold. What is added to the file later is not on the shelf."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._file = opened(path)
        self._starts, self._lengths = array("Q"), array("I")

    def put(self, start: int, length: int) -> None:
        """One more line: where its body begins, and how long it is without its closing brace."""
        self._starts.append(start)
        self._lengths.append(length)

    def __len__(self) -> int:
        return len(self._starts)

    @overload
    def __getitem__(self, place: int) -> Entry: ...

    @overload
    def __getitem__(self, place: slice) -> tuple[Entry, ...]: ...

    def __getitem__(self, place: int | slice) -> Entry | tuple[Entry, ...]:
        if isinstance(place, int):
            return self._entry(place)
        return tuple(map(self._entry, range(*place.indices(len(self)))))

    def __iter__(self) -> Iterator[Entry]:
        return map(self._entry, range(len(self)))

    def _entry(self, place: int) -> Entry:
        self._file.seek(self._starts[place])
        return decoded(self._file.read(self._lengths[place]) + b"}")
