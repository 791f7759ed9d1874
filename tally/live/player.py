"""A recorded session shown again: entry by entry, with each entry's own time as the clock."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from concurrent.futures import Future
from datetime import datetime
from itertools import islice
from typing import NamedTuple

from tally.job import events as ev
from tally.job import fold
from tally.job.alarms.replay import checked
from tally.job.decide.refusal import Refusal
from tally.job.events import Entry
from tally.job.intents import Intent
from tally.live.ladder import Ladder
from tally.live.session import Outcome, Snapshot
from tally.live.survey import Survey

SPEEDS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 30, 60, 120, 300, 600, math.inf)
"""Times the clock of the day; the last is as fast as it goes."""
CHUNK = 5_000
"""Entries applied at most in one call, so that a fast replay does not hold up the screen."""
CLIMB, CHECK = 1_000, 150
"""Entries that each call goes on with preparing seeks, and with working out the alarms anew."""
MOST_DIFFERENCES = 100


class Difference(NamedTuple):
    """Where recorded alarms and those worked out anew part, and how."""

    place: int
    words: str


class Player:
    """Plays `entries`. `advance` is called with the wall time that passed, and prepares what seeking needs meanwhile.

    With `what_if`, words for what was changed, the entries are not as they were recorded, nor are their alarms: where
    these differ from the recorded ones is known already. A `survey` of the entries is taken where none is given.
    """

    def __init__(
        self,
        entries: Sequence[Entry],
        chain: str = "",
        *,
        survey: Survey | None = None,
        what_if: str = "",
        differences: Sequence[Difference] = (),
    ) -> None:
        self._entries = entries
        self._chain = chain
        self.what_if = what_if
        self._ladder = Ladder(self._entries)
        self._state = self._ladder.state_at(1)
        self._next = 1
        self._owed_s = 0.0
        self._survey = survey or Survey.of(entries)
        self._checking: Iterator[list[str]] | None = None if what_if else checked(self._entries)
        self._looked = 0
        self.differences: list[Difference] = list(differences[:MOST_DIFFERENCES])
        """Where recorded alarms differ from those worked out anew, as far as that was looked at, in their order."""
        self.playing = False
        self.speed_index = SPEEDS.index(30)
        self.snapshot = Snapshot(self._state, "")

    @property
    def word(self) -> str:
        """What every screen says that this is."""
        return "WHAT-IF" if self.what_if else "REPLAY"

    @property
    def speed(self) -> float:
        return SPEEDS[self.speed_index]

    @property
    def place(self) -> int:
        """Entries shown so far."""
        return self._next

    @property
    def count(self) -> int:
        return len(self._entries)

    @property
    def entries(self) -> Sequence[Entry]:
        return self._entries

    @property
    def checked(self) -> bool:
        """All alarms were worked out anew and compared."""
        return self._checking is None

    @property
    def difference(self) -> Difference | None:
        """The one that shows where the replay is."""
        return next((found for found in self.differences if found.place == self._next), None)

    @property
    def at_end(self) -> bool:
        return self._next >= len(self._entries)

    def submit(self, intent: Intent) -> Future[Outcome]:
        refused: Future[Outcome] = Future()
        refused.set_result(Refusal("replay", "this is a replay: nothing is recorded"))
        return refused

    # --- playing -----------------------------------------------------------------------------------------------------

    def advance(self, wall_s: float) -> None:
        """Shows what falls into the next `wall_s` times the speed."""
        self._prepare()
        if not self.playing:
            return
        self._owed_s += wall_s * self.speed if wall_s > 0 else 0.0
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

    def faster(self, by: int) -> None:
        self.speed_index = min(max(self.speed_index + by, 0), len(SPEEDS) - 1)
        self._owed_s = 0.0

    # --- going elsewhere ---------------------------------------------------------------------------------------------

    def seek(self, place: int) -> None:
        """To where the first `place` entries are shown; outside the session, to its nearest end."""
        place = min(max(place, 1), len(self._entries))
        self._owed_s = 0.0
        if 0 <= place - self._next <= self._ladder.step:
            while self._next < place:
                self._apply()
        else:
            self._state, self._next = self._ladder.state_at(place), place
        self._publish()

    def seek_share(self, share: float) -> None:
        """To a share of its entries, 0 to 1."""
        self.seek(1 + round(share * (len(self._entries) - 1)))

    def seek_elapsed(self, elapsed_s: float) -> None:
        """To `elapsed_s` after the session was opened."""
        self.seek(bisect_right(self._survey.elapsed_s, elapsed_s))

    def seek_time(self, at: datetime) -> None:
        """To the last entry before the clock first went past `at`."""
        self.seek(bisect_right(self._survey.reached_s, at.timestamp()))

    def seek_number(self, number: int) -> bool:
        """To the entry of that number; False where the session has none."""
        # In a whole session it stands at the place of its number.
        guess = self._entries[min(max(number, 1), self.count) - 1]
        place = number if guess.number == number else self._place_of(number)
        if place is not None:
            self.seek(place)
        return place is not None

    def _place_of(self, number: int) -> int | None:
        return next((place for place, entry in enumerate(self._entries, 1) if entry.number == number), None)

    def shift(self, seconds: float) -> None:
        """So much of the session's time on, or back."""
        self.seek_elapsed(self._survey.elapsed_s[self._next - 1] + seconds)

    def step(self, by: int = 1) -> None:
        """To the next entry that is no heartbeat, or with -1 to the one before."""
        self._along(self._survey.told, by)

    def next_alarm(self, by: int = 1) -> None:
        """To the next alarm, or with -1 to the one before, and hold there."""
        self.playing = False
        self._along(self._survey.raised, by)

    def next_difference(self) -> None:
        """To the next place where recorded alarms differ from those worked out anew, after the last to the first."""
        places = [found.place for found in self.differences]
        if places:
            self.playing = False
            self.seek(next((place for place in places if place > self._next), places[0]))

    def to_start(self) -> None:
        self.playing = False
        self.seek(1)

    def to_end(self) -> None:
        self.playing = False
        self.seek(len(self._entries))

    def _along(self, places: Sequence[int], by: int) -> None:
        if by > 0:
            found = bisect_right(places, self._next)
            self.seek(places[found] if found < len(places) else len(self._entries))
        else:
            found = bisect_left(places, self._next) - 1
            self.seek(places[found] if found >= 0 else 1)

    # --- what it rests on --------------------------------------------------------------------------------------------

    def _prepare(self) -> None:
        self._ladder.climb(CLIMB)
        if self._checking is None:
            return
        looked = 0
        for each in islice(self._checking, CHECK):
            looked, self._looked = looked + 1, self._looked + 1
            self.differences += [Difference(self._looked, words) for words in each]
        del self.differences[MOST_DIFFERENCES:]
        if looked < CHECK:
            self._checking = None

    def _gap_s(self) -> float:
        # Over a restart nothing happened that could be shown, however long it took.
        entry = self._entries[self._next]
        if isinstance(entry.event, ev.SessionResumed | ev.SessionMended):
            return 0.0
        return max(entry.mono_s - self._state.mono_s, 0.0)

    def _apply(self) -> None:
        self._state = fold.apply(self._state, self._entries[self._next])
        self._next += 1

    def _publish(self) -> None:
        self.snapshot = Snapshot(self._state, self._chain if self.at_end else "")
