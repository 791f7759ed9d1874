"""Frames out of a stream of bytes, however it was cut up on the way."""

import re
from dataclasses import dataclass
from typing import Protocol

# STX and ETX bracket the lines of many instruments; any other control byte but the tab means that this is no text
_NOT_TEXT = re.compile(rb"[\x00\x01\x04-\x08\x0b\x0c\x0e-\x1f\x7f]")
_LINE_END = re.compile(rb"[\r\n]")


@dataclass(frozen=True, slots=True)
class Frame:
    """One whole message, without what ended it."""

    data: bytes


@dataclass(frozen=True, slots=True)
class Garbage:
    """Bytes that cannot be a message: the first of them, and why."""

    data: bytes
    why: str


class Framer(Protocol):
    """Cuts a stream into messages; keeps a bounded number of bytes between calls."""

    def feed(self, data: bytes) -> list[Frame | Garbage]: ...


class LineFramer:
    """Lines that end with CR, LF or CRLF; empty ones are skipped.

    A line longer than `max_length` bytes is reported once, when it passes that length, and dropped up to the next
    line end. With `mid_line`, what comes before the first line end may be the tail of a line and is dropped.
    """

    def __init__(self, max_length: int = 512, *, mid_line: bool = False) -> None:
        if max_length < 1:
            raise ValueError(f"max_length is {max_length}; it must be at least 1")
        self._max_length = max_length
        self._kept = bytearray()
        self._dropping = mid_line
        self.dropped_bytes = 0

    def feed(self, data: bytes) -> list[Frame | Garbage]:
        found: list[Frame | Garbage] = []
        *ended, open_end = _LINE_END.split(data)
        for piece in ended:
            self._keep(piece, found)
            if self._kept and not self._dropping:
                found.append(_framed(bytes(self._kept)))
            self._kept.clear()
            self._dropping = False
        self._keep(open_end, found)
        return found

    def _keep(self, piece: bytes, found: list[Frame | Garbage]) -> None:
        if self._dropping:
            self.dropped_bytes += len(piece)
            return
        room = self._max_length - len(self._kept)
        self._kept += piece[:room]
        if len(piece) > room:
            found.append(Garbage(bytes(self._kept[:80]), f"a line longer than {self._max_length} bytes"))
            self.dropped_bytes += len(self._kept) + len(piece) - room
            self._kept.clear()
            self._dropping = True


def _framed(line: bytes) -> Frame | Garbage:
    if _NOT_TEXT.search(line):
        return Garbage(line[:80], "not text: check the baud rate")
    return Frame(line)
