"""A session that another program records, read while it grows: nothing is written, nothing is locked."""

from __future__ import annotations

from concurrent.futures import Future
from datetime import datetime
from itertools import islice
from pathlib import Path

from tally.job import fold
from tally.job.coding import Undecodable, decoded, decoded_beat
from tally.job.decide.refusal import Refusal
from tally.job.intents import Intent
from tally.live.clock import Clock
from tally.live.loading import open_session
from tally.live.session import Outcome, Snapshot
from tally.record.fault import RecordFault
from tally.record.reader import Line, Place, tail_from

CHUNK = 2_000
"""Lines read at most in one call, so that catching up does not hold up the screen."""
SILENT_S = 5.0
"""Without a line for so long the recorder is silent: it beats once a second."""


def begun(path: Path) -> bool:
    """Whether there is a first line to be read; until then a watcher waits."""
    try:
        with path.open("rb") as file:
            return b"\n" in file.read(1_000_000)
    except OSError:
        return False


class Follower:
    """Opens what there is, then `advance` reads what was added since."""

    def __init__(self, path: Path, clock: Clock) -> None:
        """Raises `RecordFault` where nothing can be read."""
        self.path, self._clock = path, clock
        opened = open_session(path)
        extent = opened.extent
        self._place = Place(offset=extent.good_length, number=extent.count, chain=extent.chain)
        self._folding = fold.Folding(opened.state)
        self._problems = len(opened.problems)
        self._first_problem = opened.problems[0] if opened.problems else ""
        self._size = -1
        self.trouble = ""
        """Why nothing more can be read just now; empty while it can."""
        self.snapshot = Snapshot(opened.state, extent.chain)
        self._arrived_s = clock.monotonic() - max(self.behind_s, 0.0)
        """When the last line came, by this machine's own clock."""

    @property
    def behind_s(self) -> float:
        """How old the last entry is; the clocks of two machines may differ."""
        return (self._clock.utc() - self.snapshot.state.at).total_seconds()

    @property
    def silent_since(self) -> datetime | None:
        """Time of the last entry, once the recorder was silent for a while; that is no fault of the file."""
        late = self._clock.monotonic() - self._arrived_s > SILENT_S
        return self.snapshot.state.at if late and not self.snapshot.state.closed else None

    @property
    def damage(self) -> str:
        """What is wrong in the file, in words; empty where nothing is."""
        more = f", and {self._problems - 1} more" if self._problems > 1 else ""
        return f"{self._first_problem}{more}" if self._problems else ""

    def submit(self, intent: Intent) -> Future[Outcome]:
        refused: Future[Outcome] = Future()
        refused.set_result(Refusal("watching", "another program records this session: nothing is entered here"))
        return refused

    def advance(self) -> None:
        """Takes in what was added, a chunk at a time; a line that is still being written is left for later."""
        try:
            size = self.path.stat().st_size
            if size == self._size:
                return
            lines = list(islice(tail_from(self.path, self._place), CHUNK))
        except RecordFault as fault:
            self.trouble = str(fault).replace(str(self.path), self.path.name)
            return
        except OSError as error:
            self.trouble = f"{self.path.name} cannot be read just now: {error.strerror}"
            return
        self.trouble = ""
        if len(lines) < CHUNK:
            self._size = size
        for found in lines:
            if isinstance(found, Line):
                self._take(found.body, found.number)
            else:
                self._tell(str(found))
        if lines:
            self._arrived_s = self._clock.monotonic()
            self.snapshot = Snapshot(self._folding.state, self._place.chain)

    def _take(self, body: bytes, number: int) -> None:
        if beat := decoded_beat(body):
            self._folding.beat(*beat)
        else:
            try:
                self._folding.take(decoded(body))
            except Undecodable as wrong:
                self._tell(f"line {number}: {wrong}")

    def _tell(self, problem: str) -> None:
        self._problems += 1
        self._first_problem = self._first_problem or problem
