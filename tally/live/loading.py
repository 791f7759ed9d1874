"""A session file as entries and as state, with everything that is wrong in it, named by line."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from tally.job import fold
from tally.job.alarms.replay import Check
from tally.job.coding import Beat, Undecodable, decoded, decoded_beat
from tally.job.events import EntriesLost, Entry
from tally.job.state import State
from tally.live.shelf import Shelf
from tally.live.survey import Survey
from tally.record.fault import RecordFault
from tally.record.line import SEAL_BYTES
from tally.record.reader import Extent, Pass, Problem

MOST_PROBLEMS = 1000
"""Problems kept for the list; what is past them is only counted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """What a session comes to. Its heartbeats are not kept, so that a long day takes no more room than a short one."""

    path: Path
    state: State
    problems: tuple[str, ...]
    """In plain words, with line numbers. Empty for a whole session, apart from a torn tail."""
    extent: Extent

    @property
    def damaged(self) -> bool:
        """Something before the end is wrong: good for replay and report, not for recording on."""
        return bool(self.problems)


@dataclass(frozen=True, slots=True, kw_only=True)
class Loaded(Opened):
    """The same with every entry, for a replay."""

    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelved(Opened):
    """The same with the entries left in the file, and what a replay knows of them."""

    entries: Shelf
    survey: Survey


class Day:
    """One pass over a session's entries; problems and extent are known when it has ended."""

    def __init__(self, path: Path) -> None:
        self._pass = Pass(path)
        self._problems: list[str] = []
        self._untold = 0
        self._expected = 1
        self._opening: bytes | None = None
        """A damaged first line that can still be read. Without the plan there is nothing to show, so it is taken."""

    @property
    def extent(self) -> Extent:
        return self._pass.extent

    @property
    def problems(self) -> tuple[str, ...]:
        more = (f"and {self._untold} more",) if self._untold else ()
        return (*self._problems, *more)

    def entries(self) -> Iterator[Entry]:
        for body in self._bodies():
            if entry := self._entry(body):
                yield entry

    def placed(self) -> Iterator[tuple[int, int, Entry]]:
        """The same, each behind the offset of its body and that body's length, both without its closing brace."""
        for body in self._pass.bodies(self._damage):
            if entry := self._entry(body):
                length = len(body) - 1
                yield self._pass.offset - SEAL_BYTES - length, length, entry

    def steps(self) -> Iterator[Entry | Beat]:
        """The same, with heartbeats in parts."""
        for body in self._bodies():
            if beat := decoded_beat(body):
                if beat.number != self._expected:
                    self._misplaced(beat.number)
                self._expected = beat.number + 1
                yield beat
            elif entry := self._entry(body):
                yield entry

    def _bodies(self) -> Iterator[bytes]:
        for body in self._pass.bodies(self._damage):
            if self._opening is not None:
                opening, self._opening = self._opening, None
                yield opening
            yield body

    def _entry(self, body: bytes) -> Entry | None:
        try:
            entry = decoded(body)
        except Undecodable as wrong:
            self._tell(f"line {self._pass.line}: {wrong}")
            return None
        if entry.number != self._expected:
            self._misplaced(entry.number)
        self._expected = _last_number(entry) + 1
        return entry

    def _misplaced(self, number: int) -> None:
        self._tell(f"line {self._pass.line}: entry {number} stands where entry {self._expected} belongs")

    def _damage(self, problem: Problem) -> None:
        if problem.line == 1 and problem.body is not None:
            self._opening = problem.body
            self._tell(f"{problem}; the plan is taken as it reads, unproven")
        else:
            self._tell(str(problem))

    def _tell(self, problem: str) -> None:
        if len(self._problems) < MOST_PROBLEMS:
            self._problems.append(problem)
        else:
            self._untold += 1


def _last_number(entry: Entry) -> int:
    return max(entry.number, entry.event.through) if isinstance(entry.event, EntriesLost) else entry.number


def unheeded() -> None:
    """Nobody has this given up."""


def open_session(path: Path, until: datetime | None = None, *, heed: Callable[[], object] = unheeded) -> Opened:
    """What a session comes to, or came to by a time, in one pass and bounded memory; extent and problems are of the
    whole file. Raises `RecordFault` where nothing can be read. `heed`, called at every entry, gives it up by raising
    something of its own."""
    day = Day(path)
    steps = day.steps()
    first = next(steps, None)
    folding = fold.Folding(_opening(path, day, first))
    for step in steps:
        heed()
        if until is not None and step.at >= until:
            continue
        if isinstance(step, Beat):
            folding.beat(*step)
        else:
            folding.take(step)
    return Opened(path=path, state=folding.state, problems=day.problems, extent=day.extent)


def open_checked(path: Path) -> tuple[Opened, list[str]]:
    """What a session comes to, and where its recorded alarms differ from those worked out anew, in one pass."""
    day, check = Day(path), Check()
    steps = day.steps()
    first = next(steps, None)
    folding = fold.Folding(_opening(path, day, first))
    found = check.entry(first, folding.state) if isinstance(first, Entry) else []
    for step in steps:
        if isinstance(step, Beat):
            folding.beat(*step)
            found += check.beat(step.number, folding.state)
        else:
            folding.take(step)
            found += check.entry(step, folding.state)
    return Opened(path=path, state=folding.state, problems=day.problems, extent=day.extent), found


def load(path: Path) -> Loaded:
    """All of a session that can be read, entry by entry; raises `RecordFault` where that is nothing at all."""
    day = Day(path)
    entries = tuple(day.entries())
    folding = fold.Folding(_opening(path, day, next(iter(entries), None)))
    for entry in entries[1:]:
        folding.take(entry)
    return Loaded(path=path, state=folding.state, problems=day.problems, extent=day.extent, entries=entries)


def shelved(path: Path, *, heed: Callable[[], object] = unheeded) -> Shelved:
    """The same, entry by entry in bounded memory: they are read again as they are looked at. `heed` as above."""
    day, shelf, survey = Day(path), Shelf(path), Survey()
    folding: fold.Folding | None = None
    for start, length, entry in day.placed():
        heed()
        if folding is None:
            folding = fold.Folding(_opening(path, day, entry))
        else:
            folding.take(entry)
        shelf.put(start, length)
        survey.take(entry)
    state = folding.state if folding else _opening(path, day, None)
    return Shelved(path=path, state=state, problems=day.problems, extent=day.extent, entries=shelf, survey=survey)


def entries(path: Path) -> Iterator[Entry]:
    """Entry by entry in bounded memory, whatever cannot be read passed over."""
    yield from Day(path).entries()


def _opening(path: Path, day: Day, first: Entry | Beat | None) -> State:
    if first is None:
        wrong = day.problems[0] if day.problems else "it holds no entry"
        raise RecordFault(f"{path} is no session that this program can read: {wrong}")
    if isinstance(first, Beat):
        raise RecordFault(f"{path} is no whole session: the first entry is a Heartbeat")
    try:
        return fold.opened(first)
    except fold.NotAnOpening as wrong:
        raise RecordFault(f"{path} is no whole session: {wrong}") from wrong
