"""States of a session at even steps, so that any moment of it is a short fold away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from tally.job import fold
from tally.job.events import Entry
from tally.job.state import State

MOST_RUNGS = 256
LEAST_STEP = 64
"""Entries between two rungs at least: a fold so short is not worth a state."""


@dataclass(frozen=True, slots=True)
class _Rung:
    state: State
    """Without its kept entries: they are the first `kept` of those of any later state."""
    kept: int


class Ladder:
    """Climbs `entries` once, as far as it is asked to, and holds a bounded number of states on the way."""

    def __init__(self, entries: Sequence[Entry]) -> None:
        self._entries = entries
        self.step = max(-(-len(entries) // MOST_RUNGS), LEAST_STEP)
        self._top = fold.opened(entries[0])
        self._climbed = 1
        self._rungs = [_rung(self._top)]

    @property
    def climbed(self) -> int:
        """Entries that it has been through."""
        return self._climbed

    def climb(self, count: int) -> None:
        """`count` entries further up, or to the end."""
        folding = fold.Folding(self._top)
        # One by one: a slice of entries that lie in a file would hold them all.
        for place in range(self._climbed, min(self._climbed + count, len(self._entries))):
            folding.take(self._entries[place])
            self._climbed += 1
            if (self._climbed - 1) % self.step == 0:
                self._rungs.append(_rung(folding.state))
        self._top = folding.state

    def state_at(self, place: int) -> State:
        """The state after the first `place` entries, of which there is at least one."""
        if place >= self._climbed:
            self.climb(place - self._climbed)
            return self._top
        below = (place - 1) // self.step
        rung = self._rungs[below]
        folding = fold.Folding(replace(rung.state, entries=self._top.entries[: rung.kept]))
        for at in range(1 + below * self.step, place):
            folding.take(self._entries[at])
        return folding.state


def _rung(state: State) -> _Rung:
    return _Rung(replace(state, entries=()), len(state.entries))
