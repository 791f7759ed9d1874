"""What the meters sent, byte for byte, with the times of arrival: one JSON line for each piece.

A field problem becomes a test by copying this one file. It stands beside the session and is no part of it, so a fault
here never stops the recording.
"""

import errno
import json
import os
import re
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from tally.record.fault import fault
from tally.record.line import MAX_LINE_BYTES

SUFFIX = ".raw"
_FSYNC_EVERY_S = 1.0
_TEXT = re.compile(rb"[\x20-\x7e\t\r\n]*")
_APPEND = os.O_RDWR | os.O_APPEND | os.O_CREAT | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0)


@dataclass(frozen=True, slots=True)
class RawChunk:
    """Bytes that arrived together."""

    channel: str
    mono_s: float
    utc: datetime
    data: bytes


def raw_log_path(session: Path) -> Path:
    """Where the raw log of a session stands."""
    return session.with_suffix(SUFFIX)


class RawLog:
    """The log being written. For one thread at a time."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.fault: str | None = None
        """Why the last piece was not written, until one is again."""
        self.missed = 0
        """Pieces that were not written."""
        self._descriptor = -1
        self._synced_s: float | None = None
        try:
            self._open()
        except OSError as error:
            self._report(error)

    def write(self, channel: str, mono_s: float, utc: datetime, data: bytes) -> None:
        """Hands the piece to the system at once, and to the disk at most once a second by the caller's clock."""
        entry: dict[str, object] = {"t": mono_s, "utc": utc.isoformat(), "ch": channel}
        if _TEXT.fullmatch(data):
            entry["text"] = data.decode("ascii")
        else:
            entry["hex"] = data.hex()
        line = json.dumps(entry, separators=(",", ":")).encode("ascii") + b"\n"
        try:
            if self._descriptor < 0:
                self._open()
            if os.write(self._descriptor, line) < len(line):
                raise OSError(errno.ENOSPC, "short write")
            self._sync(mono_s)
            self.fault = None
        except OSError as error:
            self.missed += 1
            self._report(error)
            self.close()  # opened anew for the next piece: the disk may be back by then

    def close(self) -> None:
        """Hands everything to the disk and lets go of the file."""
        if self._descriptor >= 0:
            with suppress(OSError):
                os.fsync(self._descriptor)
            with suppress(OSError):
                os.close(self._descriptor)
            self._descriptor = -1

    def _open(self) -> None:
        descriptor = os.open(self.path, _APPEND, 0o644)
        try:
            size = os.fstat(descriptor).st_size
            if size:
                os.lseek(descriptor, size - 1, os.SEEK_SET)
                if os.read(descriptor, 1) != b"\n":
                    os.write(descriptor, b"\n")  # a line that was cut short must not swallow the next one
        except OSError:
            os.close(descriptor)
            raise
        self._descriptor = descriptor

    def _sync(self, mono_s: float) -> None:
        # A clock that went back counts as due: the machine was started anew.
        if self._synced_s is None or not 0 <= mono_s - self._synced_s < _FSYNC_EVERY_S:
            self._synced_s = mono_s
            os.fsync(self._descriptor)

    def _report(self, error: OSError) -> None:
        self.fault = str(fault("meter bytes not kept in", self.path, error))


def read_raw(path: Path) -> Iterator[RawChunk]:
    """The pieces in the order of arrival; a line that was cut short or spoiled is passed over."""
    try:
        with path.open("rb") as file:
            while raw := file.readline(MAX_LINE_BYTES):
                chunk = _chunk(raw)
                if chunk:
                    yield chunk
    except OSError as error:
        raise fault("cannot read", path, error) from error


def _chunk(raw: bytes) -> RawChunk | None:
    try:
        entry = json.loads(raw)
        data = entry["text"].encode("ascii") if "text" in entry else bytes.fromhex(entry["hex"])
        return RawChunk(str(entry["ch"]), float(entry["t"]), datetime.fromisoformat(entry["utc"]), data)
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError):
        return None
