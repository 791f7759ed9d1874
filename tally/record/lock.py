"""One recorder a session.

The lock is on a file beside the session, never on the session itself, so that it can be read and copied meanwhile.
The system lets go of it when its holder ends, however that ends. Who holds it stands in a second file, since a locked
file cannot be read on every system; that file is for the message alone.
"""

import json
import os
import socket
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from filelock import FileLock, Timeout

from tally.record.fault import RecordFault, fault

_MOST_BYTES = 4096


class SessionLock:
    """Held from `with` to its end; refused at once where another program holds it."""

    def __init__(self, path: Path) -> None:
        real = path.resolve()  # two names of one file are one session
        self._path = path
        self._holder = real.with_name(real.name + ".holder")
        # Not thread-local: what takes the lock and what lets go of it may be two threads.
        self._lock = FileLock(real.with_name(real.name + ".lock"), timeout=0, thread_local=False)

    def acquire(self) -> None:
        if self._lock.is_locked:
            raise RecordFault(f"{self._path}: this session is being recorded by this program already")
        if not self._holder.parent.is_dir():
            raise RecordFault(f"cannot lock {self._path}: its folder is not there; check the path")
        try:
            self._lock.acquire()
        except Timeout as error:
            who = _holder(self._holder)
            raise RecordFault(
                f"{self._path}: this session is being recorded by another program ({who}); close that one first,"
                " or look on with `tally watch`"
            ) from error
        except OSError as error:
            raise fault("cannot lock the session", self._path, error) from error
        except NotImplementedError as error:
            raise RecordFault(
                f"{self._path}: this file system has no locks, so a second recorder could not be kept out; "
                "choose a folder on a local disk"
            ) from error
        about = {
            "pid": os.getpid(),
            "host": socket.gethostname(),
            "since": datetime.now(UTC).isoformat(timespec="seconds"),
        }
        with suppress(OSError):  # the lock is what counts
            self._holder.write_text(json.dumps(about) + "\n", encoding="utf-8", newline="\n")

    def release(self) -> None:
        if self._lock.is_locked:
            with suppress(OSError):
                self._holder.unlink()
            self._lock.release()

    def __enter__(self) -> Self:
        self.acquire()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.release()


def recorded_by(path: Path) -> str:
    """Who is recording the session, as far as that can be read; empty where nobody is."""
    real = path.resolve()
    beside = real.with_name(real.name + ".lock")
    if not beside.is_file():
        return ""
    lock = FileLock(beside, timeout=0, thread_local=False)
    try:
        lock.acquire()
    except Timeout:
        return _holder(real.with_name(real.name + ".holder"))
    except (OSError, NotImplementedError):
        return ""
    lock.release()
    return ""


def _holder(path: Path) -> str:
    """Who holds the lock, as far as that can be read."""
    try:
        with path.open("rb") as file:
            about = json.loads(file.read(_MOST_BYTES))
        return f"pid {int(about['pid'])}, host {_plain(about['host'])}, since {_plain(about['since'])}"
    except (OSError, ValueError, KeyError, TypeError, OverflowError, RecursionError):
        return "it has not said which"


def _plain(value: object) -> str:
    return "".join(character for character in str(value)[:80] if character.isprintable())
