"""A second copy of a session, kept the beginning of it byte for byte."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

from tally.record.fault import RecordFault
from tally.record.writer import fsync_folder, to_disk

_BLOCK_BYTES = 256 * 1024


class Missing(RecordFault):
    """The folder for the copy is not there, as when a stick was pulled out."""


class Copy:
    """The copy of `source` in `folder`, which is never made: a stick that is not there must not become a folder.

    Whatever else bears its name there is renamed, never written over. For one thread.
    """

    def __init__(self, source: Path, folder: Path) -> None:
        self.path = folder / source.name
        self.length = 0
        """Bytes of the session that are in the copy, and on its disk."""
        self.lines = 0
        self._source_path, self._folder = source, folder
        self._source: BinaryIO | None = None
        self._target: BinaryIO | None = None
        self._beneath: int | None = None
        """The device under the stick's mount point: a folder that lies on it is the bare mount point."""

    def bring(self, length: int) -> None:
        """Brings the first `length` bytes of the session into the copy and on its disk. Raises `OSError`, `Missing`."""
        self._look_for_folder()
        source = self._opened_source()
        if self._target is not None and not self._still_there(self._target):
            self.close()
            source = self._opened_source()
        if self._target is None:
            self._target = self._opened_target(source, length)
        source.seek(self.length)
        while self.length < length:
            block = source.read(min(_BLOCK_BYTES, length - self.length))
            if not block:
                raise RecordFault(f"{self._source_path} has become shorter while it was copied")
            self._target.write(block)
            self.length += len(block)
            self.lines += block.count(b"\n")
        to_disk(self._target.fileno())

    def close(self) -> None:
        """Lets go of both files; the copy is compared anew before it is gone on with."""
        for file in (self._source, self._target):
            if file is not None:
                with suppress(OSError):
                    file.close()
        self._source = self._target = None
        self.length = self.lines = 0

    def _look_for_folder(self) -> None:
        try:
            device = self._folder.stat().st_dev
        except OSError as error:
            raise Missing(f"no folder {self._folder}") from error
        if not self._folder.is_dir():
            raise Missing(f"{self._folder} is no folder")
        if device == self._beneath:
            raise Missing(f"nothing is mounted on {self._folder}")
        if self._beneath is None:
            self._beneath = _device_beneath(self._folder.resolve(), device)

    def _opened_source(self) -> BinaryIO:
        if self._source is not None and not os.fstat(self._source.fileno()).st_nlink:
            self.close()  # it was deleted, and the recorder has put it back
        if self._source is None:
            self._source = self._source_path.open("rb", buffering=0)
        return self._source

    def _opened_target(self, source: BinaryIO, length: int) -> BinaryIO:
        """The copy, open at its end, where it is the beginning of the session; else what is there is set aside."""
        with suppress(FileNotFoundError):
            if os.path.samestat(self.path.stat(), os.fstat(source.fileno())):
                raise RecordFault(f"{self.path} is the session itself; name another folder for the copy")
        target = self.path.open("ab+", buffering=0)
        try:
            if not self._is_beginning(target, source, length):
                target.close()
                self.path.rename(_free(self.path))
                target = self.path.open("xb+", buffering=0)
                self.length = self.lines = 0
            fsync_folder(self._folder)
        except BaseException:
            target.close()
            raise
        return target

    def _is_beginning(self, target: BinaryIO, source: BinaryIO, length: int) -> bool:
        size = os.fstat(target.fileno()).st_size
        self.length = self.lines = 0
        target.seek(0)
        source.seek(0)
        while self.length < size:
            theirs = target.read(_BLOCK_BYTES)
            ours = source.read(len(theirs)) if self.length + len(theirs) <= length else b""
            if not theirs or theirs != ours:
                return False
            self.length += len(theirs)
            self.lines += theirs.count(b"\n")
        return True

    def _still_there(self, target: BinaryIO) -> bool:
        try:
            about = os.fstat(target.fileno())
            return os.path.samestat(self.path.stat(), about) and about.st_size == self.length
        except OSError:
            return False


def _device_beneath(folder: Path, device: int) -> int | None:
    """The device that holds the mount point of `folder`; None where that is the root of all."""
    for parent in folder.parents:
        above = parent.stat().st_dev
        if above != device:
            return above
    return None


def _free(path: Path) -> Path:
    number = 1
    while os.path.lexists(aside := path.with_name(f"{path.name}.other-{number}")):
        number += 1
    return aside
