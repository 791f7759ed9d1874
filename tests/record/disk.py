"""A layer between the writer and the system that stops, or fails, at a chosen call; and what a disk may hold then.

Only calls that change something are counted: a file made, a write, an fsync, a cut. `os` of the writer's module is
replaced by this object, so that no path past it is left out.
"""

import contextlib
import errno
import os
import pathlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tally.record import writer as writer_module

Fault = str
"""A name of `errno`, or "short" for a write of which only half goes through."""


class Stopped(BaseException):
    """The machine ended here: nothing more happens, no clean-up either."""


class Disk:
    """`stop_at`: the call at which the machine ends (half of it done, if it is a write). `faults`: calls that fail."""

    def __init__(self, stop_at: int | None = None, faults: dict[int, Fault] | None = None) -> None:
        self.calls = 0
        self.stopped = False
        self._stop_at = stop_at
        self.faults = faults or {}
        self._durable: dict[int, bytes] = {}
        """By inode: what was there at its last fsync."""
        self._names: set[Path] = set()
        """Names that are on the disk for sure: their folder had its fsync."""

    def __getattr__(self, name: str) -> Any:
        return getattr(os, name)

    def _do(self, call: Callable[[], Any], half: Callable[[], Any] = lambda: None) -> Any:
        if self.stopped:
            raise Stopped
        self.calls += 1
        if self.calls == self._stop_at:
            self.stopped = True
            half()
            raise Stopped
        if fault := self.faults.get(self.calls):
            if fault == "short":
                return call() if (written := half()) is None else written
            half()
            raise OSError(getattr(errno, fault), os.strerror(getattr(errno, fault)))
        return call()

    def open(self, path: Path, flags: int, mode: int = 0o777) -> int:
        if flags & os.O_CREAT:
            return int(self._do(lambda: os.open(path, flags, mode)))
        return os.open(path, flags, mode)

    def write(self, descriptor: int, data: bytes) -> int:
        return int(self._do(lambda: os.write(descriptor, data), lambda: os.write(descriptor, data[: len(data) // 2])))

    def ftruncate(self, descriptor: int, length: int) -> None:
        self._do(lambda: os.ftruncate(descriptor, length))

    def unlink(self, path: Path) -> None:
        self._do(lambda: os.unlink(path))  # noqa: PTH108  # stands in for the call itself

    def fsync(self, descriptor: int) -> None:
        self._do(lambda: self._settle(descriptor))

    def _settle(self, descriptor: int) -> None:
        inode = os.fstat(descriptor).st_ino
        path = Path(f"/proc/self/fd/{descriptor}").resolve()
        if path.is_dir():
            self._names |= set(path.iterdir())
        else:
            self._durable[inode] = path.read_bytes()

    @contextlib.contextmanager
    def installed(self) -> Iterator["Disk"]:
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(writer_module, "os", self)
            patch.setattr(pathlib.Path, "unlink", lambda path, missing_ok=False: self.unlink(path))
            yield self

    def hold(self, path: Path) -> None:
        """Has a file that was there before stand on the disk for sure."""
        self._names.add(path)
        self._durable[path.stat().st_ino] = path.read_bytes()

    def may_hold(self, path: Path) -> Iterator[bytes | None]:
        """What may be found under `path` after a kill or a power cut; None where there may be no such file.

        A kill leaves what was written. A power cut leaves what had its fsync, and of what came after any part: none
        of it, half of it, or its length without its bytes.
        """
        if path not in self._names:
            yield None
        if not path.exists():
            return
        cached, durable = path.read_bytes(), self._durable.get(path.stat().st_ino, b"")
        yield cached
        yield durable
        if len(cached) > len(durable):
            pending = len(cached) - len(durable)
            yield durable + cached[len(durable) :][: pending // 2]
            yield durable + bytes(pending)
        else:
            yield cached + durable[len(cached) :]

    def settled(self, path: Path) -> bytes:
        """What is under `path` whatever comes."""
        return self._durable.get(path.stat().st_ino, b"") if path in self._names else b""
