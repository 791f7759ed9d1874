"""Reading a session file: what holds, what is damaged and where, and the torn tail."""

import os
import stat
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from tally.record.fault import RecordFault, fault
from tally.record.scan import Line, Place, Problem, Torn, held, scan
from tally.record.similar import meant

__all__ = ["Extent", "Line", "Pass", "Place", "Problem", "Reading", "Torn", "iterate", "opened", "read", "tail_from"]

_BLOCK_BYTES = 256 * 1024


@dataclass(frozen=True, slots=True, kw_only=True)
class Extent:
    """How far a session file reaches: all that is needed to go on writing."""

    torn: bytes
    """The torn tail, or the first MAX_LINE_BYTES of it."""
    torn_length: int
    good_length: int
    """Bytes before the torn tail."""
    chain: str
    """What the next line to be written follows."""
    count: int
    """Lines in the file before the torn tail, damaged ones included."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading(Extent):
    """All of a session file."""

    lines: tuple[Line, ...]
    problems: tuple[Problem, ...]

    @property
    def whole(self) -> bool:
        """Whether nothing was found wrong, a torn tail included."""
        return not self.problems and not self.torn_length


def read(path: Path) -> Reading:
    """The whole file at once; the lines are held in memory, so for sessions rather than for unknown files."""
    place = Place()
    lines: list[Line] = []
    problems: list[Problem] = []
    torn = Torn(0, "")
    with opened(path) as file:
        for found in scan(file, place, path):
            if isinstance(found, Line):
                lines.append(found)
            elif isinstance(found, Torn):
                torn = found
            else:
                problems.append(found)
    return Reading(
        lines=tuple(lines),
        problems=tuple(problems),
        torn=torn.start,
        torn_length=torn.length,
        good_length=place.offset,
        chain=place.chain,
        count=place.number,
    )


class Pass:
    """One pass over a session in bounded memory: bodies in their order, and what is wrong told as it is met."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._place = Place()
        self._torn = Torn(0, "")

    @property
    def line(self) -> int:
        """Number of the line that was read last."""
        return self._place.number

    @property
    def offset(self) -> int:
        """Where that line ends."""
        return self._place.offset

    @property
    def extent(self) -> Extent:
        """How far the file reaches; true once `bodies` has ended."""
        return Extent(
            torn=self._torn.start,
            torn_length=self._torn.length,
            good_length=self._place.offset,
            chain=self._place.chain,
            count=self._place.number,
        )

    def bodies(self, tell: Callable[[Problem], None]) -> Iterator[bytes]:
        """Every body that holds; a problem goes to `tell`, a torn tail to `extent` alone."""
        with opened(self.path) as file:
            yield from held(file, self._place, self.path)
            for found in scan(file, self._place, self.path):
                if isinstance(found, Line):
                    yield found.body
                elif isinstance(found, Torn):
                    self._torn = found
                else:
                    tell(found)


def iterate(path: Path) -> Iterator[Line | Problem]:
    """Line by line in bounded memory; a torn tail comes last, as a `Torn` problem."""
    with opened(path) as file:
        yield from scan(file, Place(), path)


def tail_from(path: Path, place: Place) -> Iterator[Line | Problem]:
    """What was added since `place`, which moves on; a line still being written is left for the next call."""
    with opened(path) as file:
        if os.fstat(file.fileno()).st_size < place.offset:
            raise RecordFault(f"{path} has become shorter since it was last read; open it again")
        file.seek(place.offset)
        yield from (found for found in scan(file, place, path) if not isinstance(found, Torn))


def opened(path: Path) -> BinaryIO:
    """The file, ready to be read from its beginning; anything but a regular file with bytes in it is refused."""
    try:
        about = path.stat()
        if not stat.S_ISDIR(about.st_mode) and not stat.S_ISREG(about.st_mode):
            # Opening a pipe or a device could wait for ever.
            raise RecordFault(f"cannot read {path}: it is not a file; name a session file")
        file = path.open("rb", buffering=_BLOCK_BYTES)
    except OSError as error:
        if isinstance(error, FileNotFoundError) and (other := meant(path)):
            raise RecordFault(f"cannot read {path}: no such file; {other}") from error
        raise fault("cannot read", path, error) from error
    except ValueError as error:
        raise RecordFault(f"cannot read {str(path)!r}: {error}; check the path") from error
    if not about.st_size:
        file.close()
        raise RecordFault(f"{path} is empty: nothing was ever saved in it; start a new session")
    return file
