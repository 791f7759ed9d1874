"""The jobs to choose from: a new one in four ways, then the sessions, each in a line; the bar is on one of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from textual.content import Content

from tally import formats
from tally.formats import Units
from tally.screens import words
from tally.screens.words import line

if TYPE_CHECKING:
    from tally.live.recent import Recent

NEW = (
    ("plan it here, one question at a time", "guide"),
    ("from a plan file", "plan"),
    ("the demonstration: an invented job that enters itself", "demonstration"),
    ("no job: try a meter, see what its port sends", "try"),
)


@dataclass(frozen=True, slots=True)
class Session:
    path: Path
    found: Recent | None = None
    """None until it has been read."""


class Jobs:
    def __init__(self, paths: Sequence[Path] = ()) -> None:
        """`paths`: the sessions, newest first."""
        self.sessions = [Session(path) for path in paths]
        # The newest session, if there is one: mostly it is to be gone on with.
        self.bar = len(NEW) if self.sessions else 0
        self._moved = False

    def __len__(self) -> int:
        return len(NEW) + len(self.sessions)

    @property
    def new(self) -> str:
        """The new job that the bar is on; empty where it is on a session."""
        return NEW[self.bar][1] if self.bar < len(NEW) else ""

    @property
    def found(self) -> Recent | None:
        """The session that the bar is on, once it is read."""
        return None if self.new else self.sessions[self.bar - len(NEW)].found

    def move(self, place: int) -> None:
        self._moved, self.bar = True, min(max(place, 0), len(self) - 1)

    def take(self, found: Recent) -> None:
        """What was read; the bar follows as long as nobody has moved it."""
        self.sessions = [replace(each, found=found) if each.path == found.path else each for each in self.sessions]
        if not self._moved:
            self.bar = self._resting_place()

    def _resting_place(self) -> int:
        """The row that Enter takes at once: the newest session that is open, as far as they were read."""
        for place, session in enumerate(self.sessions, len(NEW)):
            if session.found is None or session.found.open:
                return place
        return 0


def drawn(jobs: Jobs, folder: Path, units: Units | None, width: int, room: int) -> list[Content]:
    """At most `room` lines, the one under the bar among them; without `units` each session in its own."""
    rows, under = _rows(jobs, folder, units, width), 0
    for place, (owner, _) in enumerate(rows):
        if owner == jobs.bar:
            under = place
    first = min(max(under - room + 2, 0), max(len(rows) - room, 0))
    return [row for _, row in rows[first : first + room]]


def _rows(jobs: Jobs, folder: Path, units: Units | None, width: int) -> list[tuple[int, Content]]:
    """Each line, with the place that it stands for; -1 for a heading."""
    rows = [(-1, line((" A NEW JOB", "bold")))]
    rows += [(place, _row(place, label, width, jobs.bar)) for place, (label, _) in enumerate(NEW)]
    title = " SESSIONS" if jobs.sessions else " NO SESSION YET"
    rows += [(-1, line("")), (-1, line((title, "bold"), words.cut(f"  {folder}", width - 12)))]
    for place, session in enumerate(jobs.sessions, len(NEW)):
        rows.append((place, _row(place, _told(session, units, width - 5), width, jobs.bar)))
    return rows


def _row(place: int, text: str, width: int, bar: int) -> Content:
    face = f"{place + 1}" if place < 9 else " "
    under = place == bar
    text = words.cut(f" {text}", width - 5)
    text += " " * max(width - 5 - words.cells(text), 0)
    mark = "▸" if under else " "
    return line(mark, (f" {face} ", "bold reverse" if face.strip() else ""), (text, "bold reverse" if under else ""))


def _told(session: Session, units: Units | None, width: int) -> str:
    """Job, date, depth and how it stands, in one line; without `units` in those of its own plan."""
    found = session.found
    if found is None:
        return f"{session.path.name}  …"
    if not found.readable:
        return f"{session.path.name}  CANNOT BE READ"
    shoe = f"shoe {words.depth(found.shoe, units or found.units)}"
    room = min(max(width - 55, 14), 40)
    job = words.cut(("DEMO " if found.invented else "") + found.job, room)
    job += " " * (room - words.cells(job))
    day = formats.day(found.opened_at, found.time_zone)
    return f"{day}  {job}  {shoe:>13}  {_standing(found)}"


def _standing(found: Recent) -> str:
    if found.damage:
        return "DAMAGED"
    if found.recorded_by:
        return "BEING RECORDED"
    return found.standing if found.closed else f"open: {found.standing}"


def more(jobs: Jobs, *, waits: bool) -> str:
    """More of what the bar is on; `waits`: it was chosen before it was read."""
    if jobs.new:
        return "Enter takes what the bar is on, a number goes there at once."
    if waits:
        return "being read; it comes at once when it is …"
    if jobs.found is None:
        return "being read …"
    return f"ENTER GOES ON RECORDING. {detail(jobs.found)}" if jobs.found.open else detail(jobs.found)


def detail(found: Recent) -> str:
    if not found.readable:
        return found.damage
    last = f"last entry {formats.day(found.last_at, found.time_zone)} {formats.clock(found.last_at, found.time_zone)}"
    told = f"{found.job}: {found.standing}, {last}; {found.path.name}"
    if found.damage:
        return f"DAMAGED, not recorded on: {found.damage}. {told}"
    if found.recorded_by:
        return f"BEING RECORDED by another program ({found.recorded_by}). {told}"
    return told
