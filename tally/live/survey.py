"""What a replay knows of all its entries before it shows the first: when each was, and where something happened."""

from __future__ import annotations

from array import array
from collections.abc import Iterable
from typing import Self

from tally.job import events as ev
from tally.job import fold
from tally.job.events import Entry


class Survey:
    """Taken in one pass; places count from 1."""

    def __init__(self) -> None:
        self.elapsed_s = array("d")
        """Seconds since the opening at each entry, as the fold counts them."""
        self.reached_s = array("d")
        """The latest time that a clock showed by each entry, which may have been put back [s since the epoch]."""
        self.told = array("I")
        """Places of the entries that are no heartbeat."""
        self.raised = array("I")
        """Places where an alarm was raised."""
        self._last: Entry | None = None

    @classmethod
    def of(cls, entries: Iterable[Entry]) -> Self:
        survey = cls()
        for entry in entries:
            survey.take(entry)
        return survey

    def take(self, entry: Entry) -> None:
        last, at_s = self._last, entry.at.timestamp()
        self._last = entry
        self.elapsed_s.append(0.0 if last is None else self.elapsed_s[-1] + fold.step_s(last.at, last.mono_s, entry))
        self.reached_s.append(at_s if last is None else max(self.reached_s[-1], at_s))
        place = len(self.elapsed_s)
        if not isinstance(entry.event, ev.Heartbeat):
            self.told.append(place)
        if isinstance(entry.event, ev.AlarmRaised):
            self.raised.append(place)
