"""A session under a supposition: its alarms against the recorded ones, in words."""

from __future__ import annotations

from collections.abc import Sequence

from tally import formats
from tally.formats import Units
from tally.job import events as ev
from tally.job.alarms.wording import WORDINGS
from tally.job.events import Entry
from tally.job.supposition import Raised, Supposition
from tally.job.view import alarms as alarm_view

MARK = "WHAT-IF"


def supposition_words(what: Supposition, units: Units) -> str:
    return what.sentence().written(lambda quantity: formats.text(quantity, units))


def raised_words(pair: Raised, zone: str, units: Units) -> str:
    """One alarm: when and with what it was raised, and when and with what it would have been."""
    known = WORDINGS.get(pair.alarm)
    title = known.title if known else formats.plain(pair.alarm)
    if not pair.differs:
        return f"{title}: as recorded, {_when(pair.recorded, zone)}"
    was = f"recorded {_told(pair.recorded, zone, units)}" if pair.recorded else "not recorded"
    would = _told(pair.supposed, zone, units) if pair.supposed else "not raised"
    return f"{title}: {was}; {MARK} {would}"


def moved_words(pair: Raised, zone: str) -> str:
    """The same in few words, for the line under a screen."""
    known = WORDINGS.get(pair.alarm)
    title = known.title if known else formats.plain(pair.alarm)
    if pair.supposed is None:
        return f"{title}: recorded here, not {MARK}"
    return f"{title}: {f'recorded {_when(pair.recorded, zone)}' if pair.recorded else 'not recorded'}"


def against_words(pairs: Sequence[Raised], zone: str, units: Units) -> list[str]:
    """Each alarm in a line, and what it comes to."""
    recorded, supposed = (
        sum(pair.recorded is not None for pair in pairs),
        sum(pair.supposed is not None for pair in pairs),
    )
    moved, differing = sum(pair.moved for pair in pairs), sum(pair.differs for pair in pairs)
    counts = f"{len(pairs) - differing} as recorded, {differing - moved} with other figures, {moved} moved, new or gone"
    return [
        *(raised_words(pair, zone, units) for pair in pairs),
        f"{recorded} alarm{'s' * (recorded != 1)} recorded, {supposed} {MARK}: {counts}",
    ]


def _when(entry: Entry | None, zone: str) -> str:
    return formats.clock_s(entry.at, zone) if entry else "never"


def _told(entry: Entry, zone: str, units: Units) -> str:
    event = entry.event
    assert isinstance(event, ev.AlarmRaised)
    said = alarm_view.sentence(event.alarm, event.value, event.limit, event.measure, event.other)
    words = formats.plain(said.written(lambda quantity: formats.text(quantity, units)))
    return f"{_when(entry, zone)}, {words}"
