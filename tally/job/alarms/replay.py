"""Whether a session's recorded alarms are those that its entries call for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tally.job import events as ev
from tally.job import fold
from tally.job.alarms import due
from tally.job.alarms.wording import WORDINGS
from tally.job.events import Entry
from tally.job.state import State

_BREAKS = (ev.SessionResumed, ev.EntriesLost, ev.SessionMended)
"""Before these an alarm may be missing: nobody recorded, or it is lost."""
_ALARM_EVENTS = (ev.AlarmRaised, ev.AlarmCleared)


def disagreements(entries: Iterable[Entry]) -> list[str]:
    """Where the alarms that were recorded differ from those worked out anew, in plain words; empty when none does."""
    return [words for found in checked(entries) for words in found]


def checked(entries: Iterable[Entry]) -> Iterator[list[str]]:
    """For each entry where it shows that recorded alarms differ from those worked out anew; mostly nowhere.

    An alarm that a power cut kept from being recorded is called for again when the session is taken up, so what is
    missing right before a restart or the end is no disagreement.
    """
    check, state = Check(), None
    for entry in entries:
        state = fold.opened(entry) if state is None else fold.apply(state, entry)
        yield check.entry(entry, state)


class Check:
    """The alarms of a session, held against its entries as they are folded."""

    def __init__(self) -> None:
        self._wanted: list[ev.AlarmRaised | ev.AlarmCleared] = []
        self._told: set[str] = set()
        """What was missing at the entry before, so that it is told once and not at every entry until it is there."""

    def entry(self, entry: Entry, state: State) -> list[str]:
        """Where it shows at `entry`, after which there is `state`, that alarms differ."""
        if not isinstance(entry.event, _ALARM_EVENTS):
            return self._after(entry.number, state, breaks=isinstance(entry.event, _BREAKS))
        if entry.event in self._wanted:
            self._wanted.remove(entry.event)
            return []
        return [f"entry {entry.number}: {_name(entry.event)} is not called for"]

    def beat(self, number: int, state: State) -> list[str]:
        """The same at a heartbeat."""
        return self._after(number, state, breaks=False)

    def _after(self, number: int, state: State, breaks: bool) -> list[str]:
        missing = dict.fromkeys(_name(event) for event in ([] if breaks else self._wanted))
        told = [f"before entry {number}: {name} is missing" for name in missing if name not in self._told]
        self._told = set(missing)
        self._wanted = list(due.due(state))
        return told


def _name(event: ev.AlarmRaised | ev.AlarmCleared) -> str:
    known = WORDINGS.get(event.alarm)
    title = known.title if known else event.alarm
    return f"“{title}”" if isinstance(event, ev.AlarmRaised) else f"the end of “{title}”"
