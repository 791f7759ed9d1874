"""Checking a session file: every line against the one before it, nothing parsed, nothing kept."""

from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import BinaryIO

from tally.record.fault import fault
from tally.record.line import MAX_LINE_BYTES, SEAL_BYTES, ZERO_CHAIN, seal_of
from tally.record.reader import Line, Place, Problem, opened
from tally.record.scan import scan

MOST_PROBLEMS = 1000
"""Problems kept for the list; all are counted."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a check of the whole file found."""

    lines: int
    """Lines that hold."""
    problems: tuple[Problem, ...]
    """A torn tail included, as the last; at most MOST_PROBLEMS."""
    problem_count: int
    chain: str
    """The digest of the file: the last line's chain. A tail that was cut off at a line shows only against this."""

    @property
    def whole(self) -> bool:
        """Whether the file is as it was written, up to its last line."""
        return not self.problem_count


def verify(path: Path) -> Verdict:
    """The state of every line; raises `RecordFault` only where no session can be read at all."""
    place, count = Place(), 0
    problems: list[Problem] = []
    with opened(path) as file:
        try:
            lines = _pass_held(file, place)
            file.seek(place.offset)
        except OSError as error:
            raise fault(f"reading stopped after line {place.number} of", path, error) from error
        for found in scan(file, place, path):
            if isinstance(found, Line):
                lines += 1
                continue
            count += 1
            if len(problems) < MOST_PROBLEMS:
                problems.append(found)
    return Verdict(lines, tuple(problems), count, place.chain)


def _pass_held(file: BinaryIO, place: Place) -> int:
    """The number of lines before the first that does not hold: in most files all, so this loop alone sets the speed."""
    number, offset, chain = 0, 0, ZERO_CHAIN.encode("ascii")
    while raw := file.readline(MAX_LINE_BYTES):
        follows = sha256(chain + raw[:-SEAL_BYTES]).hexdigest().encode("ascii")
        if raw[-SEAL_BYTES:] != seal_of(follows) or not raw.startswith(b"{"):
            break
        number, offset, chain = number + 1, offset + len(raw), follows
    place.number, place.offset, place.chain = number, offset, chain.decode("ascii")
    return number
