"""Writing a session file: append only, and saved means on the disk."""

import errno
import os
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Self

from tally.record.fault import RecordFault, fault
from tally.record.line import ZERO_CHAIN, seal
from tally.record.reader import Extent

_APPEND = os.O_RDWR | os.O_APPEND | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0)
_COPY_BYTES = 1024 * 1024

try:
    import fcntl

    _FULL: int | None = getattr(fcntl, "F_FULLFSYNC", None)
except ImportError:  # Windows, whose fsync goes through
    _FULL = None

Write = Callable[[int, bytes], int]
Fsync = Callable[[int], None]


class Writer:
    """The one writer of a session file. Not for two threads at once."""

    def __init__(
        self,
        path: Path,
        descriptor: int,
        chain: str,
        count: int,
        length: int,
        *,
        write: Write | None,
        fsync: Fsync | None,
    ) -> None:
        self.path = path
        self.chain = chain
        """The digest of all that was saved."""
        self.count = count
        """Lines in the file."""
        self.length = length
        """Bytes of all that was saved."""
        self.rewritten = 0
        """Times that the file was deleted meanwhile and written anew."""
        self._descriptor = descriptor
        self._unmended = False
        self._write, self._fsync = write or os.write, fsync or to_disk

    @classmethod
    def create(cls, path: Path, body: bytes, *, write: Write | None = None, fsync: Fsync | None = None) -> Self:
        """A new session with its first line saved; a file that exists is never overwritten."""
        fsync = fsync or to_disk
        try:
            descriptor = os.open(path, _APPEND | os.O_CREAT | os.O_EXCL, 0o644)
        except FileExistsError as error:
            raise RecordFault(f"{path} exists already and is never overwritten; choose another name") from error
        except OSError as error:
            raise fault("cannot start the session", path, error) from error
        writer = cls(path, descriptor, ZERO_CHAIN, 0, 0, write=write, fsync=fsync)
        try:
            writer.append(body)
            fsync_folder(path.parent, fsync)
        except BaseException as error:
            writer.close()
            with suppress(OSError):
                path.unlink()  # nobody was told that anything was saved
            if isinstance(error, OSError):
                raise fault("cannot start the session", path, error) from error
            raise
        return writer

    @classmethod
    def resume(cls, path: Path, extent: Extent, *, write: Write | None = None, fsync: Fsync | None = None) -> Self:
        """The writer of a session that was read before; a torn tail is copied to a file beside it, then cut off."""
        fsync = fsync or to_disk
        try:
            descriptor = os.open(path, _APPEND)
        except OSError as error:
            raise fault("cannot go on with", path, error) from error
        try:
            if os.fstat(descriptor).st_size != extent.good_length + extent.torn_length:
                raise RecordFault(f"{path} has changed since it was read; close other programs that write to it")
            if extent.torn_length:
                _set_aside(descriptor, path, extent.good_length, fsync)
                os.ftruncate(descriptor, extent.good_length)
                fsync(descriptor)
        except BaseException as error:
            os.close(descriptor)
            if isinstance(error, OSError):
                raise fault("cannot set the torn tail aside of", path, error) from error
            raise
        return cls(path, descriptor, extent.chain, extent.count, extent.good_length, write=write, fsync=fsync)

    def append(self, body: bytes) -> str:
        """The chain of the new line, once it is on the disk; after a `RecordFault` the same call may be tried again."""
        line, chain = seal(body, self.chain)
        try:
            self._mend()
            self._look()
            self._unmended = True
            written = self._write(self._descriptor, line)
            if written != len(line):
                raise OSError(errno.ENOSPC, "short write")
            self._fsync(self._descriptor)
        except OSError as error:
            with suppress(OSError):
                self._mend()
            raise fault("not saved in", self.path, error) from error
        self._unmended = False
        self.length += len(line)
        self.chain = chain
        self.count += 1
        return chain

    @property
    def moved(self) -> bool:
        """Whether the file no longer stands at its path. Entries still go to it, under its new name."""
        try:
            return not os.path.samestat(self.path.stat(), os.fstat(self._descriptor))
        except OSError:
            return True

    def settle(self) -> None:
        """Has all that was written reach the disk, for a file that was written without an fsync a line."""
        try:
            to_disk(self._descriptor)
        except OSError as error:
            raise fault("not saved in", self.path, error) from error

    def close(self) -> None:
        """Lets go of the file. Nothing is saved here, for everything was."""
        if self._descriptor >= 0:
            descriptor, self._descriptor = self._descriptor, -1
            with suppress(OSError):
                os.close(descriptor)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _mend(self) -> None:
        """Cuts off what an append that failed has left.

        After a failed fsync the system may hold the pages for clean though they never reached the disk: cutting back
        and writing the line anew makes it write them again.
        """
        if self._unmended:
            os.ftruncate(self._descriptor, self.length)
            self._fsync(self._descriptor)
            self._unmended = False

    def _look(self) -> None:
        """Refuses to append where the line would be lost or would stand in the wrong place."""
        if self._descriptor < 0:
            raise RecordFault(f"not saved: {self.path} is closed; open the session again")
        about = os.fstat(self._descriptor)
        if about.st_size != self.length:
            raise RecordFault(
                f"not saved: another program has changed {self.path}; close it, then open the session again"
            )
        if not about.st_nlink:
            self._write_anew()

    def _write_anew(self) -> None:
        """Puts a deleted file back from what the system still keeps of it while it is open."""
        try:
            descriptor = os.open(self.path, _APPEND | os.O_CREAT | os.O_EXCL, 0o644)
        except FileExistsError:
            raise RecordFault(
                f"not saved: {self.path} was deleted while it was being recorded, and another file has its name;"
                " move that one away"
            ) from None
        try:
            _copy(self._descriptor, 0, descriptor)
            self._fsync(descriptor)
            fsync_folder(self.path.parent, self._fsync)
        except BaseException:
            os.close(descriptor)
            with suppress(OSError):
                self.path.unlink()
            raise
        self._descriptor, deleted = descriptor, self._descriptor
        self.rewritten += 1
        os.close(deleted)


def _set_aside(descriptor: int, path: Path, start: int, fsync: Fsync) -> Path:
    """The file beside the session to which all from `start` on was copied, and is on the disk."""
    aside, target = _fresh(path)
    try:
        try:
            _copy(descriptor, start, target)
            fsync(target)
        finally:
            os.close(target)
        fsync_folder(path.parent, fsync)
    except BaseException:
        with suppress(OSError):
            aside.unlink()
        raise
    return aside


def _copy(source: int, start: int, target: int) -> None:
    """All of the one file from `start` on, put at the end of the other."""
    os.lseek(source, start, os.SEEK_SET)
    while block := os.read(source, _COPY_BYTES):
        while block:
            block = block[os.write(target, block) :]


def _fresh(path: Path) -> tuple[Path, int]:
    """The first free `<session>.torn-<n>`, created and open."""
    number = 1
    while True:
        aside = path.with_name(f"{path.name}.torn-{number}")
        try:
            return aside, os.open(aside, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o644)
        except FileExistsError:
            number += 1


def to_disk(descriptor: int) -> None:
    """An fsync that reaches the disk itself: on macOS the plain call stops at the drive's own cache."""
    if _FULL is None:
        os.fsync(descriptor)
        return
    try:
        fcntl.fcntl(descriptor, _FULL)
    except OSError:  # some file systems there have none
        os.fsync(descriptor)


def fsync_folder(folder: Path, fsync: Fsync | None = None) -> None:
    """Makes a new name in the folder last; Windows has no such call and needs none."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY | getattr(os, "O_DIRECTORY", 0))
    try:
        (fsync or to_disk)(descriptor)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):  # some file systems cannot, and say so
            raise
    finally:
        os.close(descriptor)
