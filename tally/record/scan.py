"""One pass over the lines of a session file, one line in memory at a time.

Only lines whose chain holds are handed on as lines; whatever else is found is a problem with the number of its line,
and the pass goes on.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import BinaryIO

from tally.record.fault import RecordFault, fault
from tally.record.line import (
    MAX_LINE_BYTES,
    SEAL_BYTES,
    ZERO_CHAIN,
    Damage,
    chain_of,
    is_object,
    link,
    seal_of,
    stated_chain,
    unseal,
)

_MOST_FOREIGN_LINES = 1000
"""Lines without a chain at the beginning of a file after which it is taken for something else."""


@dataclass(frozen=True, slots=True)
class Line:
    """A line that is as it was written."""

    number: int
    """Counted in the file from 1, damaged lines included."""
    body: bytes
    chain: str


@dataclass(frozen=True, slots=True)
class Problem:
    """Something in the file that is not as it was written."""

    line: int
    what: str
    body: bytes | None = None
    """What the line holds, where it is still a readable object: unproven, for a person or a stricter check to judge."""

    def __str__(self) -> str:
        return f"line {self.line}: {self.what}"


@dataclass(frozen=True, slots=True)
class Torn(Problem):
    """What stands after the last whole line: a write that never ended, so that nobody was told it was saved."""

    start: bytes = b""
    """The torn bytes, or the first MAX_LINE_BYTES of them."""
    length: int = 0


@dataclass(slots=True)
class Place:
    """How far a file has been read: everything before `offset` is settled."""

    offset: int = 0
    number: int = 0
    chain: str = ZERO_CHAIN
    others: tuple[str, ...] = ()
    """Chains that the next line may follow too, after damage, so that an added or altered line costs itself alone."""


def held(file: BinaryIO, place: Place, path: Path) -> Iterator[bytes]:
    """The bodies of the lines from `place` on that hold, up to the first that does not; the file then stands there.

    `place` is moved past each line before its body is handed on. In most files these are all the lines there are, so
    this loop sets the speed of opening a session.
    """
    offset, chain = place.offset, place.chain
    try:
        file.seek(offset)
        while raw := file.readline(MAX_LINE_BYTES):
            stem = raw[:-SEAL_BYTES]
            follows = sha256(chain.encode("ascii") + stem).hexdigest()
            if raw[-SEAL_BYTES:] != seal_of(follows.encode("ascii")) or not stem.startswith(b"{"):
                break
            offset += len(raw)
            chain = follows
            place.number += 1
            place.offset, place.chain = offset, chain
            yield stem + b"}"
        file.seek(offset)
    except OSError as error:
        raise fault(f"reading stopped after line {place.number} of", path, error) from error


def scan(file: BinaryIO, place: Place, path: Path) -> Iterator[Line | Problem]:
    """Lines and problems from where the file stands, which must be at `place`; moves `place` past all but a torn tail.

    Only a seal shows that a line was once written whole. What has none is held back as a rest until a later line
    settles what it is: damage, if one follows, or else the torn tail.
    """
    rest = _Rest()
    try:
        for offset, raw in _physical_lines(file, place.offset):
            body = unseal(raw, place.chain)
            if isinstance(body, Damage) and (place.others or rest.others):
                body = _body_after_any(raw, (*place.others, *rest.others)) or body
            if isinstance(body, Damage) and not _was_written_whole(raw, place):
                rest.take(raw, place)
                if place.chain == ZERO_CHAIN and (rest.length >= MAX_LINE_BYTES or rest.lines >= _MOST_FOREIGN_LINES):
                    raise _foreign(path, bytes(rest.start))
                continue
            if rest.lines:
                yield rest.problem(place, offset)
                rest = _Rest()
            place.number += 1
            place.offset = offset + len(raw)
            if isinstance(body, Damage):
                yield _damaged(raw, place, body)
            else:
                place.chain, place.others = chain_of(raw), ()
                yield Line(place.number, body, place.chain)
        if rest.lines:
            if place.chain == ZERO_CHAIN:
                raise _foreign(path, bytes(rest.start))
            yield rest.torn(place, file.tell())
    except OSError as error:
        raise fault(f"reading stopped after line {place.number} of", path, error) from error


class _Rest:
    """A run of lines without a seal, until it is known what they are."""

    def __init__(self) -> None:
        self.lines = 0
        self.length = 0
        self.start = bytearray()
        self.others: tuple[str, ...] = ()

    def take(self, raw: bytes, place: Place) -> None:
        # Where only the seal was hit, the next line still follows from the body; where only the body, from the seal.
        self.others = ()
        if not self.lines:
            either = (link(raw[:-SEAL_BYTES], place.chain), stated_chain(raw))
            self.others = tuple(chain for chain in either if chain)
        self.lines += 1
        self.length += len(raw)
        self.start += raw[: MAX_LINE_BYTES - len(self.start)]

    def problem(self, place: Place, end: int) -> Problem:
        """The run as damage, passed over."""
        first, last, length = place.number + 1, place.number + self.lines, end - place.offset
        place.number, place.offset = last, end
        run = "not a line of a session" if first == last else f"up to line {last} no line of a session"
        return Problem(first, f"{run}: {_size(length)} without a chain, altered, added or never finished")

    def torn(self, place: Place, end: int) -> Torn:
        """The run as a torn tail, not passed over."""
        length = end - place.offset
        kind = "zeros" if not any(self.start) else "an unfinished line"
        return Torn(
            place.number + 1,
            f"torn tail: {_size(length)} of {kind} after the last whole line, where writing was cut short",
            start=bytes(self.start),
            length=length,
        )


def _physical_lines(file: BinaryIO, offset: int) -> Iterator[tuple[int, bytes]]:
    """Each line with its offset; of an endless one only the beginning, and what is left of it is passed over."""
    while raw := file.readline(MAX_LINE_BYTES):
        yield offset, raw
        offset += len(raw)
        while len(raw) == MAX_LINE_BYTES and not raw.endswith(b"\n"):
            raw = file.readline(MAX_LINE_BYTES)
            offset += len(raw)


def _body_after_any(raw: bytes, chains: tuple[str, ...]) -> bytes | None:
    """The body of a line that follows one of the chains."""
    bodies = (unseal(raw, chain) for chain in chains)
    return next((body for body in bodies if isinstance(body, bytes)), None)


def _was_written_whole(raw: bytes, place: Place) -> bool:
    """Whether a line that does not hold was complete once; zeros within it mean that a part never reached the disk."""
    if not raw.endswith(b"\n") or b"\0" in raw:
        return False
    # Before any seal was seen, an object is no sign of a session: most files of objects are something else.
    return stated_chain(raw) is not None or (place.chain != ZERO_CHAIN and is_object(raw))


def _damaged(raw: bytes, place: Place, damage: Damage) -> Problem:
    """The problem with a whole line that does not hold; reading goes on from the chain that it states."""
    before, computed = place.chain, link(raw[:-SEAL_BYTES], place.chain)
    place.chain, place.others = damage.stated or before, (before, computed)
    body = raw[:-1] if damage.stated is None else raw[:-SEAL_BYTES] + b"}"
    return Problem(place.number, damage.what, body if is_object(body) else None)


def _foreign(path: Path, start: bytes) -> RecordFault:
    """The refusal of a file in which no line of a session was found."""
    first = start.split(b"\n", 1)[0]
    if first.endswith(b"\r") and stated_chain(first[:-1] + b"\n"):
        why = "its line ends were changed on the way, as some copying programs do; take the file again from its source"
    elif start.startswith(b"{") and b"\n" not in start and len(start) < MAX_LINE_BYTES:
        why = "its first line was never finished, so nothing was saved in it; start a new session"
    else:
        why = "no line in it is an entry of a session; name the session's own file, which ends in .jsonl"
    return RecordFault(f"{path} is not a session file that can be read: {why}")


def _size(length: int) -> str:
    return "1 byte" if length == 1 else f"{length} bytes"
