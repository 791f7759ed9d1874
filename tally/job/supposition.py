"""What if: a session as it would read with another allowance, tolerance or scale of the meter. The record stays as is.

Plans and what the meter sent are altered; what the operator entered is not. Alarms are worked out anew and take the
place of the recorded ones, under numbers that follow the last of the session.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from tally.job import events as ev
from tally.job import fold
from tally.job.alarms import due
from tally.job.events import Entry
from tally.job.plan import Plan
from tally.job.view.quantity import Kind, Quantity, Sentence
from tally.job.wired import GROUT


@dataclass(frozen=True, slots=True, kw_only=True)
class Supposition:
    """What is supposed in place of what was so; None leaves it."""

    allowance_share: float | None = None
    """Of every stage, as its spread."""
    spread_share: float | None = None
    tolerance_share: float | None = None
    """Of the meter."""
    meter_factor: float | None = None
    """What one metered litre is worth."""

    def sentence(self) -> Sentence:
        """What is supposed, in words."""
        shares = (
            ("allowance", self.allowance_share),
            ("spread", self.spread_share),
            ("meter tolerance", self.tolerance_share),
        )
        given = [(name, share) for name, share in shares if share is not None]
        words = [f"{name} {{{place}}}" for place, (name, _) in enumerate(given)]
        if self.meter_factor is not None:
            words.append(f"metered volume × {self.meter_factor:.4g}")
        return Sentence(", ".join(words), tuple(Quantity(share, Kind.SHARE) for _, share in given))


def supposed_plan(plan: Plan, what: Supposition) -> Plan:
    """The plan with another allowance, spread and tolerance."""
    shares = {"allowance_share": what.allowance_share, "spread_share": what.spread_share}
    changed = {key: share for key, share in shares.items() if share is not None}
    parts: dict[str, Any] = {"stages": tuple(stage.model_copy(update=changed) for stage in plan.stages)}
    if plan.meter is not None and what.tolerance_share is not None:
        parts["meter"] = plan.meter.model_copy(update={"tolerance_share": what.tolerance_share})
    return plan.model_copy(update=parts)


def supposed(entries: Sequence[Entry], what: Supposition) -> Iterator[Entry]:
    """The session's entries under a supposition, with the alarms that it calls for."""
    state, number = None, max(entry.number for entry in entries)
    for entry in entries:
        if isinstance(entry.event, ev.AlarmRaised | ev.AlarmCleared):
            continue
        altered = entry.model_copy(update={"event": _altered(entry.event, what)})
        state = fold.opened(altered) if state is None else fold.apply(state, altered)
        yield altered
        for change in due.due(state):
            number += 1
            called = altered.model_copy(update={"number": number, "event": change})
            state = fold.apply(state, called)
            yield called


def _altered(event: ev.AnyEvent, what: Supposition) -> ev.AnyEvent:
    if isinstance(event, ev.SessionOpened | ev.PlanAmended):
        return event.model_copy(update={"plan": supposed_plan(event.plan, what)})
    factor = 1.0 if what.meter_factor is None else what.meter_factor
    match event:
        case ev.Heartbeat() if event.samples and factor != 1.0:
            return event.model_copy(update={"samples": tuple(_scaled(each, factor) for each in event.samples)})
        case ev.MeterRebased(channel="grout") | ev.GapAnswered():
            volumes = {name: value * factor for name, value in event if name.endswith("_m3")}
            return event.model_copy(update=volumes)
    return event


def _scaled(samples: ev.Samples, factor: float) -> ev.Samples:
    if samples.channel != GROUT or samples.quantity not in ("total_m3", "rate_m3_s"):
        return samples
    return samples.model_copy(update={"values": tuple(value * factor for value in samples.values)})


@dataclass(frozen=True, slots=True)
class Raised:
    """An alarm as it was raised in the record and as it would have been; None where it was not."""

    alarm: str
    recorded: Entry | None
    supposed: Entry | None
    place: int
    """Among the supposed entries, from 1: where it would have been raised, else where it was."""

    @property
    def moved(self) -> bool:
        """It would have come at another moment, or not at all, or only now."""
        return self.recorded is None or self.supposed is None or self.recorded.at != self.supposed.at

    @property
    def differs(self) -> bool:
        """It would have come at another moment or with other figures."""
        return self.moved or (self.recorded and self.recorded.event) != (self.supposed and self.supposed.event)


def against_recorded(recorded: Sequence[Entry], supposed_: Sequence[Entry]) -> tuple[Raised, ...]:
    """Every alarm of either, the first of a name with the first of the other, in the order of their places."""
    was, would = _raised(recorded), _raised(supposed_)
    last = max(entry.number for entry in recorded)
    found = []
    for name in dict.fromkeys((*was, *would)):
        old, new = was[name], would[name]
        for turn in range(max(len(old), len(new))):
            before = old[turn][1] if turn < len(old) else None
            after = new[turn] if turn < len(new) else None
            place = after[0] if after else _place(before, supposed_, last)
            found.append(Raised(name, before, after[1] if after else None, place))
    return tuple(sorted(found, key=lambda pair: pair.place))


def _raised(entries: Sequence[Entry]) -> dict[str, list[tuple[int, Entry]]]:
    """(place, entry) of each alarm raised, by its name."""
    found: dict[str, list[tuple[int, Entry]]] = defaultdict(list)
    for place, entry in enumerate(entries, start=1):
        if isinstance(entry.event, ev.AlarmRaised):
            found[entry.event.alarm].append((place, entry))
    return found


def _place(raised: Entry | None, supposed_: Sequence[Entry], last: int) -> int:
    """Of the entry that called for a recorded alarm."""
    assert raised is not None
    before = [place for place, entry in enumerate(supposed_, start=1) if entry.number < raised.number <= last]
    return before[-1] if before else 1
