"""Whether a session's recorded alarms are those that its entries call for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tally.job import events as ev
from tally.job import fold
from tally.job.alarms import due
from tally.job.events import Entry

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
    state = None
    wanted: list[ev.AnyEvent] = []
    for entry in entries:
        found: list[str] = []
        if state is None:
            state = fold.opened(entry)
            wanted = list(due.due(state))
        elif isinstance(entry.event, _ALARM_EVENTS):
            state = fold.apply(state, entry)
            if entry.event in wanted:
                wanted.remove(entry.event)
            else:
                found.append(f"entry {entry.number}: {entry.event.kind} {entry.event.alarm} is not called for")
        else:
            if not isinstance(entry.event, _BREAKS):
                found += [f"before entry {entry.number}: {_name(event)} is missing" for event in wanted]
            state = fold.apply(state, entry)
            wanted = list(due.due(state))
        yield found


def _name(event: ev.AnyEvent) -> str:
    return f"{event.kind} {getattr(event, 'alarm', '')}".strip()
