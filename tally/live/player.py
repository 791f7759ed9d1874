"""A recorded session shown again: entry by entry, with each entry's own time as the clock."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Future

from tally.job import events as ev
from tally.job import fold
from tally.job.decide.refusal import Refusal
from tally.job.events import Entry
from tally.job.intents import Intent
from tally.live.session import Outcome, Snapshot

SPEEDS = (1, 2, 5, 10, 30, 60, 120, 300, 600)
CHUNK = 5_000
"""Entries applied at most in one call, so that a fast replay does not hold up the screen."""


class Player:
    """Plays `entries` forward. `advance` is called with the wall time that passed."""

    def __init__(self, entries: Sequence[Entry], chain: str = "") -> None:
        self._entries = tuple(entries)
        self._chain = chain
        self._state = fold.opened(self._entries[0])
        self._next = 1
        self._owed_s = 0.0
        self.playing = False
        self.speed_index = SPEEDS.index(30)
        self.snapshot = Snapshot(self._state, "")

    @property
    def speed(self) -> int:
        return SPEEDS[self.speed_index]

    @property
    def place(self) -> int:
        """Entries shown so far."""
        return self._next

    @property
    def count(self) -> int:
        return len(self._entries)

    @property
    def at_end(self) -> bool:
        return self._next >= len(self._entries)

    def submit(self, intent: Intent) -> Future[Outcome]:
        refused: Future[Outcome] = Future()
        refused.set_result(Refusal("replay", "this is a replay: nothing is recorded"))
        return refused

    def advance(self, wall_s: float) -> None:
        """Shows what falls into the next `wall_s` times the speed."""
        if not self.playing:
            return
        self._owed_s += wall_s * self.speed
        for _ in range(CHUNK):
            if self._next >= len(self._entries):
                self.playing = False
                break
            gap_s = self._gap_s()
            if gap_s > self._owed_s:
                break
            self._owed_s -= gap_s
            self._apply()
        self._publish()

    def step(self) -> None:
        """To the next entry that is no heartbeat."""
        self._until(lambda event: not isinstance(event, ev.Heartbeat))

    def next_alarm(self) -> None:
        """To the next alarm, and pause there."""
        self.playing = False
        self._until(lambda event: isinstance(event, ev.AlarmRaised))

    def to_end(self) -> None:
        self.playing = False
        while not self.at_end:
            self._apply()
        self._publish()

    def faster(self, by: int) -> None:
        self.speed_index = min(max(self.speed_index + by, 0), len(SPEEDS) - 1)

    def _until(self, wanted: Callable[[ev.AnyEvent], bool]) -> None:
        self._owed_s = 0.0
        while not self.at_end:
            entry = self._apply()
            if wanted(entry.event):
                break
        self._publish()

    def _gap_s(self) -> float:
        # Over a restart nothing happened that could be shown, however long it took.
        entry = self._entries[self._next]
        if isinstance(entry.event, ev.SessionResumed):
            return 0.0
        return max(entry.mono_s - self._state.mono_s, 0.0)

    def _apply(self) -> Entry:
        entry = self._entries[self._next]
        self._state = fold.apply(self._state, entry)
        self._next += 1
        return entry

    def _publish(self) -> None:
        self.snapshot = Snapshot(self._state, self._chain if self.at_end else "")
