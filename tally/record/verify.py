"""Checking a session file: every line against the one before it, nothing parsed, nothing kept."""

import re
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import BinaryIO

from tally.record.fault import RecordFault, fault
from tally.record.line import MAX_LINE_BYTES, SEAL_BYTES, ZERO_CHAIN, seal_of
from tally.record.reader import Line, Place, Problem, opened
from tally.record.scan import scan

_BLOCK_BYTES = 512 * 1024
_STEM = 1 - SEAL_BYTES
"""Where the seal begins in a line without its newline."""
_OPEN, _SHUT = seal_of(b"|")[:-1].split(b"|")

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
    """Lines before the first that does not hold, and which of them has the digest that is wanted; moves `place`.

    As `tally.record.scan.held`, but nothing is handed on: bytes are taken in large blocks, and each line's chain is
    sliced out and compared. This loop sets the speed of a check.
    """
    place.chain, lines, length, reached = ZERO_CHAIN, 0, 0, None
    chain, rest, digits = ZERO_CHAIN.encode("ascii"), b"", wanted.encode("ascii")
    try:
        while block := file.read(_BLOCK_BYTES):
            *whole, rest = (rest + block).split(b"\n")
            held = _held_of(whole, chain)
            if held:
                if digits:
                    reached = max(
                        (lines + at for at, seen in enumerate(held, 1) if seen.startswith(digits)), default=reached
                    )
                chain = held[-1]
                lines += len(held)
                length += sum(map(len, whole[: len(held)])) + len(held)
            if len(held) < len(whole) or len(rest) >= MAX_LINE_BYTES:
                break
        file.seek(length)
    except OSError as error:
        raise fault(f"reading stopped after line {lines} of", path, error) from error
    place.offset, place.number, place.chain = length, lines, chain.decode("ascii")
    return lines, reached


def _held_of(whole: list[bytes], chain: bytes) -> list[bytes]:
    """The chains of the lines, newlines off, from the first on that hold after `chain`."""
    held: list[bytes] = []
    digest, stem, shut, opening, mark, keep = sha256, _STEM, _SHUT, _OPEN, ord("{"), held.append
    for raw in whole:
        chain = digest(chain + raw[:stem]).hexdigest().encode("ascii")
        if raw[stem:] != opening + chain + shut or raw[0] != mark:
            break
        keep(chain)
    # Only the first can be that long: it alone may begin in an earlier block.
    return [] if whole and len(whole[0]) >= MAX_LINE_BYTES else held


def _wanted(digest: str) -> str:
    wanted = digest.strip().lower()
    if wanted and not re.fullmatch(f"[0-9a-f]{{{LEAST_DIGITS},64}}", wanted):
        raise RecordFault(
            f"the digest given is {digest[:80]!r}; {LEAST_DIGITS} to 64 hexadecimal digits are accepted,"
            " as a report or the check of a copy shows them"
        )
    return wanted
