"""A damaged session written anew beside itself, without the lines that do not hold, so that recording can go on.

The damaged file is only read. What cannot be proven is not guessed: it is set aside byte for byte for a person to read,
its entries' numbers stay free and are told as lost, and whoever knows what they said enters it again.
"""

from __future__ import annotations

import itertools
import os
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from tally import __version__
from tally.job import events as ev
from tally.job.coding import Undecodable, decoded, encoded
from tally.job.events import Entry
from tally.live.clock import Clock
from tally.live.loading import open_session
from tally.record.aside import lines_but
from tally.record.fault import RecordFault, fault
from tally.record.lock import SessionLock
from tally.record.reader import Line, Torn, iterate
from tally.record.writer import Writer, fsync_folder

MOST_WORDS = 400
MOST_RUNS = 20
"""Runs of lines that are told by number."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mended:
    path: Path
    """The new session, whole; its last entry says what was done."""
    aside: Path
    """The lines that did not hold, as they are in the damaged file."""
    lines: str
    """Which they are, in words."""
    lost: int
    """Entries that are missing by their numbers."""


def mended(path: Path, by: str, clock: Clock) -> Mended | None:
    """The session in `path` written anew; None where nothing in it is damaged. Raises `RecordFault`."""
    next(iterate(path), None)  # what is no session is refused before a lock is put beside it
    with SessionLock(path):
        digest = _digest_of_damaged(path)
        if digest is None:
            return None
        target = _free(path)
        aside, draft = target.with_name(target.name + ".damaged"), target.with_name(target.name + ".mending")
        with suppress(FileNotFoundError):
            draft.unlink()  # of a mending that was cut short
        try:
            kept = _written(path, draft)
            lines_but(path, kept.lines, aside)
            done = Mended(path=target, aside=aside, lines=in_words(kept.set_aside), lost=kept.lost)
            kept.end(by, clock, path, digest, done)
            draft.rename(target)
            fsync_folder(target.parent)
        except OSError as error:
            raise fault("cannot write the mended session", target, error) from error
    return done


def in_words(runs: list[tuple[int, int]]) -> str:
    """Such as "lines 3, 8 to 12"; cut short where they are many."""
    one = len(runs) == 1 and runs[0][0] == runs[0][1]
    told = [str(first) if first == last else f"{first} to {last}" for first, last in runs[:MOST_RUNS]]
    return (
        ("line " if one else "lines ")
        + ", ".join(told)
        + (f" and {len(runs) - MOST_RUNS} more runs" if len(runs) > MOST_RUNS else "")
    )


def _digest_of_damaged(path: Path) -> str | None:
    """The digest of a file in which something before the end is wrong."""
    opened = open_session(path)  # what cannot be opened at all cannot be mended
    return opened.extent.chain if opened.damaged else None


class _Kept:
    """The entries that hold, one after another into a new file; every gap in their numbers is told by an entry."""

    def __init__(self, path: Path, draft: Path) -> None:
        self.lines: list[int] = []
        """Numbers of the lines that hold, in the damaged file."""
        self.set_aside: list[tuple[int, int]] = []
        self.lost = 0
        self._path, self._draft = path, draft
        self._writer: Writer | None = None
        self._last: Entry | None = None
        self._expected = 1

    def take(self, entry: Entry | None) -> bool:
        """False where it is none, or its number shows that it does not belong here."""
        if entry is None:
            return False
        if self._last is None and (entry.number != 1 or not isinstance(entry.event, ev.SessionOpened)):
            raise RecordFault(
                f"{self._path} cannot be mended: its first entry, which holds the plan, cannot be read;"
                " a copy of the session may have it"
            )
        if entry.number < self._expected:
            return False
        self.lose(entry.number - self._expected)
        self._write(entry)
        return True

    def lose(self, count: int) -> None:
        if count > 0:
            self.lost += count
            self._write(self._next(ev.EntriesLost(through=self._expected + count - 1)))

    def end(self, by: str, clock: Clock, path: Path, digest: str, done: Mended) -> None:
        told = ev.SessionMended(
            program=__version__,
            damaged=path.name[-MOST_WORDS:],
            digest=digest,
            lines=done.lines,
            aside=done.aside.name[-MOST_WORDS:],
            lost=done.lost,
            by=by[:MOST_WORDS],
        )
        self._write(self._next(told).model_copy(update={"at": clock.utc(), "mono_s": clock.monotonic()}))
        assert self._writer is not None
        self._writer.settle()
        self._writer.close()

    def _next(self, event: ev.AnyEvent) -> Entry:
        """An entry at the moment of the last that holds."""
        last = self._last
        assert last is not None
        return Entry(number=self._expected, at=last.at, mono_s=last.mono_s, who=last.who, event=event)

    def _write(self, entry: Entry) -> None:
        if self._writer is None:
            # Not an fsync a line, but one at the end: until the file has its name nothing rests on it.
            self._writer = Writer.create(self._draft, encoded(entry), fsync=_later)
        else:
            self._writer.append(encoded(entry))
        event = entry.event
        self._expected = (event.through if isinstance(event, ev.EntriesLost) else entry.number) + 1
        self._last = entry


def _later(descriptor: int) -> None:
    return


def _written(path: Path, draft: Path) -> _Kept:
    """What was kept of `path`, written to `draft` but for its end."""
    kept = _Kept(path, draft)
    last, end = 0, _line_count(path)
    whole = end
    for found in iterate(path):
        if isinstance(found, Torn):
            whole = found.line - 1
        elif isinstance(found, Line):
            if kept.take(_entry(path, found.body)):
                kept.lines.append(found.number)
                last = found.number
        elif found.line == 1 and found.body is not None and kept.take(_entry(path, found.body)):
            last = 1  # taken as it reads, and set aside as well: it is not proven
    kept.set_aside = _gaps(kept.lines, end)
    kept.lose(whole - last)
    return kept


def _entry(path: Path, body: bytes) -> Entry | None:
    try:
        return decoded(body)
    except Undecodable as wrong:
        if "newer program" in str(wrong):
            raise RecordFault(f"{path} is not mended by this program: {wrong}") from wrong
        return None


def _gaps(kept: list[int], end: int) -> list[tuple[int, int]]:
    """Runs of lines up to `end` that are not kept."""
    runs, before = [], 0
    for number in (*kept, end + 1):
        if number > before + 1:
            runs.append((before + 1, number - 1))
        before = number
    return runs


def _line_count(path: Path) -> int:
    count, last = 0, b"\n"
    with path.open("rb") as file:
        while block := file.read(1 << 20):
            count, last = count + block.count(b"\n"), block[-1:]
    return count + (last != b"\n")


def _free(path: Path) -> Path:
    """A name beside the damaged file that nothing has yet."""
    for number in itertools.count(1):
        more = "" if number == 1 else f"-{number}"
        target = path.with_name(f"{path.stem}-mended{more}{path.suffix}")
        if not os.path.lexists(target) and not os.path.lexists(target.with_name(target.name + ".damaged")):
            return target
    raise AssertionError("numbers do not end")
