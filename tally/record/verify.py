"""Checking a session file: every line against the one before it, nothing parsed, nothing kept."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from tally.record.fault import RecordFault
from tally.record.reader import Line, Place, Problem, opened
from tally.record.scan import held, scan

MOST_PROBLEMS = 1000
"""Problems kept for the list; all are counted."""
LEAST_DIGITS = 16
"""Of a digest that is typed from paper; so many are the beginning of no other line's, but by a chance of 1 in 10^15."""


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

    last: int = 0
    """Number of the last line."""
    reached: int | None = None
    """The last line with the digest that was asked for: it and all before it are those that the digest stands for."""

    @property
    def whole(self) -> bool:
        """Whether the file is as it was written, up to its last line."""
        return not self.problem_count


def verify(path: Path, digest: str = "") -> Verdict:
    """The state of every line, and where `digest`, or one that begins so, is reached.

    Raises `RecordFault` only where no session can be read at all, or where `digest` cannot be one.
    """
    wanted = _wanted(digest)
    place, count, reached = Place(), 0, None
    problems: list[Problem] = []
    with opened(path) as file:
        lines, reached = _pass_held(file, place, path, wanted)
        for found in scan(file, place, path):
            if isinstance(found, Line):
                lines += 1
                if wanted and found.chain.startswith(wanted):
                    reached = found.number
                continue
            count += 1
            if len(problems) < MOST_PROBLEMS:
                problems.append(found)
    return Verdict(lines, tuple(problems), count, place.chain, place.number, reached)


def _pass_held(file: BinaryIO, place: Place, path: Path, wanted: str) -> tuple[int, int | None]:
    """The number of lines before the first that does not hold, and which of them has the digest that is wanted."""
    lines, reached = 0, None
    for _ in held(file, place, path):
        lines += 1
        if wanted and place.chain.startswith(wanted):
            reached = place.number
    return lines, reached


def _wanted(digest: str) -> str:
    wanted = digest.strip().lower()
    if wanted and not re.fullmatch(f"[0-9a-f]{{{LEAST_DIGITS},64}}", wanted):
        raise RecordFault(
            f"the digest given is {digest[:80]!r}; {LEAST_DIGITS} to 64 hexadecimal digits are accepted,"
            " as a report or the check of a copy shows them"
        )
    return wanted
