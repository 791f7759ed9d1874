"""A session file as entries and as state, with everything that is wrong in it, named by line."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from tally.job import fold
from tally.job.events import Entry, Undecodable, decoded
from tally.job.state import State
from tally.record.fault import RecordFault
from tally.record.reader import Reading, read


@dataclass(frozen=True, slots=True)
class Loaded:
    path: Path
    entries: tuple[Entry, ...]
    state: State
    problems: tuple[str, ...]
    """In plain words, with line numbers. Empty for a whole session, apart from a torn tail."""
    reading: Reading

    @property
    def damaged(self) -> bool:
        """Something before the end is wrong: good for replay and report, not for recording on."""
        return bool(self.problems)


def load(path: Path) -> Loaded:
    """All of a session that can be read; raises `RecordFault` where that is nothing at all."""
    reading = read(path)
    problems = [f"line {problem.line}: {problem.what}" for problem in reading.problems]
    entries: list[Entry] = []
    for line in reading.lines:
        try:
            entry = decoded(line.body)
        except Undecodable as wrong:
            problems.append(f"line {line.number}: {wrong}")
            continue
        expected = entries[-1].number + 1 if entries else 1
        if entry.number != expected:
            problems.append(f"line {line.number}: entry {entry.number} stands where entry {expected} belongs")
        entries.append(entry)
    if not entries:
        first = problems[0] if problems else "it holds no entry"
        raise RecordFault(f"{path} is no session that this program can read: {first}")
    try:
        state = fold.folded(entries)
    except fold.NotAnOpening as wrong:
        raise RecordFault(f"{path} is no whole session: {wrong}") from wrong
    return Loaded(path, tuple(entries), state, tuple(problems), reading)
