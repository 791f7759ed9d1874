"""The day as it was written down: times, corrections, the meter, notes and interruptions of the record itself."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from tally.job import events as ev
from tally.job.events import CALCULATION, Entry
from tally.job.plan import Plan
from tally.job.standing import CORRECTIONS, standing
from tally.job.state import State
from tally.job.view import activity, log
from tally.job.view.entered import entered
from tally.job.view.log import LogRow
from tally.job.view.quantity import Kind, Quantity, Sentence


@dataclass(frozen=True, slots=True)
class Moment:
    what: Sentence
    at: datetime


@dataclass(frozen=True, slots=True)
class Spell:
    """Time spent on one activity; all spells together make the session."""

    activity: Sentence
    lasted: Quantity


@dataclass(frozen=True, slots=True)
class Change:
    """One value of the plan that an amendment changed."""

    key: str
    before: Quantity | str
    after: Quantity | str


@dataclass(frozen=True, slots=True)
class Correction:
    number: int
    at: datetime
    who: str
    what: Sentence
    """What was voided, or that the plan was amended."""
    entered_at: datetime | None
    """When the voided entry had been made, and by whom."""
    entered_by: str
    reason: str
    changes: tuple[Change, ...]


@dataclass(frozen=True, slots=True)
class NoteRow:
    number: int
    at: datetime
    who: str
    text: str


_MEASURED = (
    ev.ActivityBegan,
    ev.CrewChanged, ev.JointRemeasured, ev.StickUpRead, ev.FluidLevelRead, ev.CutOffMade, ev.BatchWeighed,
    ev.VolumeAdded, ev.TankDipped, ev.ToppedUp,
    ev.PumpStopped, ev.PumpStarted, ev.GroundDrinks, ev.TremieSet, ev.TremiePulled, ev.StockDelivered,
)  # fmt: skip
_RECORD = (
    ev.SessionOpened, ev.SessionResumed, ev.SessionClosed, ev.RecordDisturbed, ev.EntriesLost, ev.SessionMended
)  # fmt: skip
_METER = (ev.MeterChanged, ev.MeterRebased, ev.GapAnswered)


def moments(state: State) -> tuple[Moment, ...]:
    """The times that a day is told by, in their order."""
    joints, grout = state.string.joints, state.grout
    found = [Moment(Sentence("session opened"), state.entries[0].entry.at)]
    if joints:
        found.append(Moment(Sentence("first joint on"), joints[0].at))
        found.append(Moment(Sentence("last joint on"), joints[-1].at))
    for landing in entered(state, ev.CasingLanded):
        found.append(Moment(log.told(landing.event), landing.at))
    for place, stage in enumerate(grout.stages, start=1):
        name = state.plan.stages[min(stage.index, len(state.plan.stages) - 1)].name
        found.append(Moment(Sentence(f"stage {place} begun ({{0}})", (name,)), stage.started_at))
        if stage.ended_at is not None:
            found.append(Moment(Sentence(f"stage {place} ended: {{0}}", (stage.outcome,)), stage.ended_at))
    signed = list(entered(state, ev.SessionClosed))
    if state.closed and signed:
        found.append(Moment(log.told(signed[-1].event), signed[-1].at))
    return tuple(sorted(found, key=lambda moment: moment.at))


def spells(state: State, since_s: float = 0.0) -> tuple[Spell, ...]:
    """Time by activity since then, as far as the entries tell it."""
    return tuple(Spell(total.activity, total.lasted) for total in activity.totals(state, since_s))


def corrections(state: State) -> tuple[Correction, ...]:
    """Every void and every amendment of the plan, oldest first."""
    found: list[Correction] = []
    plan: Plan | None = None
    by_number = {kept.entry.number: kept.entry for kept in state.entries}
    for kept in state.entries:
        entry, event = kept.entry, kept.entry.event
        if isinstance(event, ev.SessionOpened):
            plan = event.plan
        elif isinstance(event, ev.PlanAmended):
            changes = tuple(_changes(plan, event.plan)) if plan else ()
            words = Sentence("plan amended")
            found.append(Correction(entry.number, entry.at, entry.who, words, None, "", event.reason, changes))
            plan = event.plan
        elif isinstance(event, ev.EntryVoided):
            voided = by_number.get(event.entry)
            told = log.told(voided.event) if voided else Sentence("an entry that is not in the file")
            first = log.restored(state, event)
            again = f"correction {event.entry} taken back, entry {first} stands again: "
            words = Sentence((again if first else f"entry {event.entry} voided: ") + told.text, told.values)
            when, who = (voided.at, voided.who) if voided else (None, "")
            found.append(Correction(entry.number, entry.at, entry.who, words, when, who, event.reason, ()))
        elif isinstance(event, CORRECTIONS):
            found.append(_entered_again(entry, event, by_number))
    return tuple(found)


def _entered_again(
    entry: Entry, event: ev.EntryCorrected | ev.EntryInserted, by_number: dict[int, Entry]
) -> Correction:
    corrected = by_number.get(event.entry) if isinstance(event, ev.EntryCorrected) else None
    words = log.corrected(event, corrected.event if corrected else None)
    when, who = (corrected.at, corrected.who) if corrected else (None, "")
    return Correction(entry.number, entry.at, entry.who, words, when, who, event.reason, ())


_KINDS = {
    "_kg_m3": Kind.DENSITY,
    "_m3": Kind.VOLUME,
    "_kg_m": Kind.LINE_MASS,
    "_kg": Kind.MASS,
    "_pa": Kind.PRESSURE,
    "_share": Kind.SHARE,
    "diameter_m": Kind.DIAMETER,
    "bore_m": Kind.DIAMETER,
    "_m": Kind.LENGTH,
    "_n": Kind.LOAD,
    "_s": Kind.DURATION,
}
"""Kind of a value of the plan by the end of its key; the first that fits."""
_UNIT = re.compile("_(kg_m3|m3|kg_m|kg|pa|m|n|s)$")


def _changes(before: Plan, after: Plan) -> Iterator[Change]:
    old, new = (dict(_leaves(plan.model_dump(mode="json"), ())) for plan in (before, after))
    for path in [*old, *(path for path in new if path not in old)]:
        if old.get(path) != new.get(path):
            yield Change(_key(path), _value(path, old.get(path)), _value(path, new.get(path)))


def _leaves(part: Any, path: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    if path == ("hole", "log"):
        yield path, part  # thousands of readings are told as one
    elif isinstance(part, dict):
        for key, value in part.items():
            yield from _leaves(value, (*path, key))
    elif isinstance(part, list):
        for place, value in enumerate(part, start=1):
            yield from _leaves(value, (*path, place))
    else:
        yield path, part


def _kind(path: tuple[str | int, ...]) -> Kind | None:
    name = next((step for step in reversed(path) if isinstance(step, str)), "")
    return next((kind for ending, kind in _KINDS.items() if name.endswith(ending)), None)


def _key(path: tuple[str | int, ...]) -> str:
    """The path in words; the unit goes with the value."""
    return " ".join(_UNIT.sub("", str(step)).replace("_", " ") for step in path)


def _value(path: tuple[str | int, ...], value: Any) -> Quantity | str:
    if value is None:
        return "–"
    if isinstance(value, list):
        return f"{len(value)} readings of a caliper"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return Quantity(float(value), kind) if (kind := _kind(path)) else f"{value:g}"
    return str(value)


def notes(state: State) -> tuple[NoteRow, ...]:
    return tuple(NoteRow(note.number, note.at, note.who, note.event.text) for note in entered(state, ev.NoteWritten))


def weather(state: State) -> tuple[LogRow, ...]:
    """In the crew's words."""
    rows = (log.row(state, kept) for kept in standing(state) if isinstance(kept.entry.event, ev.WeatherNoted))
    return tuple(replace(row, sentence=Sentence("{0}", row.sentence.values)) for row in rows)


def measured(state: State) -> tuple[LogRow, ...]:
    """What else was entered and stands: levels, tremie, deliveries, typed volumes, pump keys, crew."""
    return tuple(log.row(state, kept) for kept in standing(state) if isinstance(kept.entry.event, _MEASURED))


def meter(state: State) -> tuple[LogRow, ...]:
    """Everything that befell the meter, with how much of each step was counted."""
    rows: list[LogRow] = []
    for kept in state.entries:
        event = kept.entry.event
        if isinstance(event, _METER):
            row = log.row(state, kept)
            rows.append(replace(row, sentence=_rebased(event)) if isinstance(event, ev.MeterRebased) else row)
    return tuple(rows)


def _rebased(event: ev.MeterRebased) -> Sentence:
    volumes = (event.from_m3, event.to_m3, event.counted_m3, event.offered_m3)
    return Sentence(
        f"grout meter {event.cause}: from {{0}} to {{1}}; {{2}} counted, {{3}} left to the operator's word",
        tuple(Quantity(volume_m3, Kind.VOLUME) for volume_m3 in volumes),
    )


def record(state: State) -> tuple[LogRow, ...]:
    """Where the record itself was opened, taken up again and signed off."""
    return tuple(_rows(state, _RECORD))


def _rows(state: State, kinds: tuple[type[ev.Event], ...]) -> Iterator[LogRow]:
    return (log.row(state, kept) for kept in state.entries if isinstance(kept.entry.event, kinds))


def calculation_differs(state: State) -> bool:
    """Figures were signed by a program that worked them out in another way."""
    return any(
        kept.entry.event.calculation != CALCULATION
        for kept in state.entries
        if isinstance(kept.entry.event, ev.SessionOpened | ev.SessionResumed)
    )
