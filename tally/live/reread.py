"""A session's raw bytes decoded again, with another pattern or factor: the day as it would have been recorded.

The bytes go through the same listener as live, at the times at which they arrived; what the operator entered, and when
the recorder ran, is taken from the record. Nothing is written.
"""

from __future__ import annotations

import os
from bisect import bisect_right
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path

from tally.job import events as ev
from tally.job import fold
from tally.job.events import Entry
from tally.job.plan import Plan
from tally.job.state import State
from tally.job.wired import GROUT, MeterPlan
from tally.live.instruments import dialect, sharing, stale_after_s
from tally.live.listener import Listener
from tally.live.sampling import MOST_SAMPLES
from tally.meters.decoder import Decoder
from tally.meters.dialect import Undecoded
from tally.meters.reading import Reading
from tally.meters.source import MeterState, MeterStatus
from tally.record.raw_log import RawChunk

Change = Callable[[MeterPlan], MeterPlan]
LATE_S = 1.5
"""A heartbeat and a half: so much may lie between a silence and the entry that tells of it."""
SPLIT_S = 0.2
"""Parts of one heartbeat are written at once; whole ones are a second apart."""
BUSY_S = 2.0
"""So long a machine that is busy may take from hearing to writing."""
MOST_TROUBLES = 5
_FROM_METER = (ev.MeterChanged, ev.MeterRebased)
_FROM_RULES = (ev.AlarmRaised, ev.AlarmCleared)


@dataclass(slots=True)
class Reread:
    """What the bytes came to this time."""

    entries: list[Entry] = field(default_factory=list)
    """As they would have been recorded, without alarms. What was not in the record is numbered past its end."""
    chunks: int = 0
    lines: int = 0
    unread: int = 0
    troubles: list[Undecoded] = field(default_factory=list)
    """The first few lines that could not be read."""
    late: dict[int, int] = field(default_factory=dict)
    """By run, the readings that arrived in the moment of its last heartbeat."""

    @property
    def readings(self) -> int:
        return readings(self.entries)

    def agrees(self, recorded: Sequence[Entry]) -> bool:
        """True where every reading of the record came out again, in its order.

        What arrives in the very moment of a heartbeat is recorded with the next; after the last of a run there is none.
        A meter that says more than a heartbeat keeps is thinned by heartbeats: then how many and how far must agree.
        """
        thinned = _thinned(recorded)
        return all(
            _alike(quantity, was, now) if (run, quantity) in thinned else
            now[: len(was)] == was and len(now) - len(was) <= self.late.get(run, 0)
            for run, quantity, was, now in _pairs(_sampled(recorded), _sampled(self.entries))
        )  # fmt: skip


def readings(entries: Iterable[Entry]) -> int:
    """How many readings the heartbeats hold."""
    return sum(len(values) for values in _sampled(entries).values())


_Sampled = dict[tuple[int, str], list[float]]


def _sampled(entries: Iterable[Entry]) -> _Sampled:
    """All readings of each run and quantity in their order."""
    found: _Sampled = {}
    run = 0
    for entry in entries:
        run += isinstance(entry.event, ev.SessionResumed)
        if isinstance(entry.event, ev.Heartbeat):
            for samples in entry.event.samples:
                if samples.channel != GROUT:
                    continue
                found.setdefault((run, samples.quantity), []).extend(samples.values)
    return found


def _thinned(entries: Iterable[Entry]) -> set[tuple[int, str]]:
    """Runs and quantities of which some heartbeat holds no more than it may."""
    found: set[tuple[int, str]] = set()
    run = 0
    for entry in entries:
        run += isinstance(entry.event, ev.SessionResumed)
        if isinstance(entry.event, ev.Heartbeat):
            found |= {(run, each.quantity) for each in entry.event.samples if len(each.values) >= MOST_SAMPLES}
    return found


def _alike(quantity: str, was: list[float], now: list[float]) -> bool:
    """As many but for a heartbeat's worth, from the same first; a total as far at least."""
    if not was or not now or abs(len(now) - len(was)) > MOST_SAMPLES:
        return False
    return was[0] == now[0] and (quantity != "total_m3" or now[-1] >= was[-1])


def _pairs(was: _Sampled, now: _Sampled) -> Iterator[tuple[int, str, list[float], list[float]]]:
    for run, quantity in was.keys() | now.keys():
        yield run, quantity, was.get((run, quantity), []), now.get((run, quantity), [])


def reread(entries: Sequence[Entry], raw: Iterable[RawChunk], change: Change) -> Reread:
    """The session with its raw bytes read by meters that `change` makes of the planned ones."""
    return _Rereading(entries, raw, change).done()


class _Rereading:
    def __init__(self, entries: Sequence[Entry], raw: Iterable[RawChunk], change: Change) -> None:
        self._recorded, self._change = entries, change
        self._bytes = _Bytes(raw, [entry.at for entry in entries if isinstance(entry.event, ev.SessionResumed)])
        self._found = Reread()
        self._number = max(entry.number for entry in entries)
        self._run = 0
        self._clock = _Clock()
        self._listener: Listener | None = None
        self._source: _RawSource | None = None

    def done(self) -> Reread:
        state: State | None = None
        for place, entry in enumerate(self._recorded):
            if state is None:
                state = fold.opened(self._kept(entry))
            elif isinstance(entry.event, ev.Heartbeat):
                if not self._goes_on(place):
                    state = self._beat(state, entry, place)
            elif not _of_meter(entry.event) and not isinstance(entry.event, _FROM_RULES):
                state = self._entered(state, entry)
        self._let_go()
        return self._found

    def _goes_on(self, place: int) -> bool:
        """Whether the heartbeat at `place` is the first part of one that a break of the count split."""
        at = place + 1
        while at < len(self._recorded) and isinstance(self._recorded[at].event, _FROM_RULES):
            at += 1
        if at == len(self._recorded):
            return False
        broken = self._recorded[at].event
        if not isinstance(broken, ev.MeterRebased) or not _of_meter(broken):
            return False
        return self._recorded[at].mono_s - self._recorded[place].mono_s < SPLIT_S

    def _kept(self, entry: Entry, event: ev.AnyEvent | None = None) -> Entry:
        """The entry under the changed plan, or with another event under a number of its own."""
        if event is not None:
            self._number += 1
            entry = entry.model_copy(update={"event": event, "number": self._number})
        elif isinstance(entry.event, ev.SessionOpened | ev.PlanAmended):
            entry = entry.model_copy(
                update={"event": entry.event.model_copy(update={"plan": self._plan(entry.event.plan)})}
            )
        self._found.entries.append(entry)
        return entry

    def _plan(self, plan: Plan) -> Plan:
        return plan if plan.meter is None else plan.model_copy(update={"meter": self._change(plan.meter)})

    def _entered(self, state: State, entry: Entry) -> State:
        if isinstance(entry.event, ev.SessionResumed):
            self._run += 1
            self._let_go()
        before = state.plan.meter
        state = fold.apply(state, self._kept(entry))
        if state.plan.meter != before and self._listener is not None:
            self._clock.set(entry)
            for event in self._listener.plug_in(state):
                state = fold.apply(state, self._kept(entry, event))
        return state

    def _beat(self, state: State, entry: Entry, place: int) -> State:
        assert isinstance(entry.event, ev.Heartbeat)
        self._clock.set(entry)
        told: list[ev.AnyEvent] = []
        if self._listener is None:
            self._listener = Listener(Path(os.devnull), self._clock, self._make_source, lambda *_: None)
            told += self._listener.plug_in(state)
        chunks = list(self._bytes.until(self._run, entry.mono_s))
        if self._source is not None:
            self._source.hear(chunks, _condition(self._recorded, place))
            self._found.late[self._run] = self._source.late
        told += self._listener.hear()
        for event in told:
            if isinstance(event, ev.Heartbeat) and event is told[_last_beat(told)]:
                # What other instruments said stands as it was recorded.
                others = tuple(samples for samples in entry.event.samples if samples.channel != GROUT)
                whole = event.model_copy(update={"samples": (*event.samples, *others)})
                self._found.entries.append(kept := entry.model_copy(update={"event": whole}))
                state = fold.apply(state, kept)
            else:
                state = fold.apply(state, self._kept(entry, event))
        return state

    def _make_source(self, plan: Plan, clock: object, on_raw: object) -> _RawSource | None:
        if plan.meter is None:
            self._source = None
        else:
            others = [dialect(one) for one in sharing(plan, plan.meter)]
            decoder = Decoder(GROUT, dialect(plan.meter), others)
            self._source = _RawSource(decoder, stale_after_s(plan.meter), self._clock, self._found)
        return self._source

    def _let_go(self) -> None:
        if self._listener is not None:
            self._listener.close()
        self._listener = self._source = None


class _Clock:
    """Shows the time of the entry at hand."""

    speed = 1.0

    def set(self, entry: Entry) -> None:
        self._at, self._mono_s = entry.at, entry.mono_s

    def utc(self) -> datetime:
        return self._at

    def monotonic(self) -> float:
        return self._mono_s


class _Bytes:
    """The raw pieces in their order, each in the run of the program that it arrived in.

    What came after the last heartbeat of a run was never recorded, and is left out here too.
    """

    def __init__(self, raw: Iterable[RawChunk], resumed_at: Sequence[datetime]) -> None:
        self._resumed_at = resumed_at
        self._waiting = deque(chunk for chunk in raw if chunk.channel == "grout")
        self._arriving = 0

    def until(self, run: int, mono_s: float) -> Iterator[RawChunk]:
        """What had arrived by then; the monotonic clock may start again with each run."""
        while self._waiting:
            # the wall clock tells the runs apart; it may be set back within one, but no run comes back
            self._arriving = max(self._arriving, bisect_right(self._resumed_at, self._waiting[0].utc))
            if self._arriving > run or (self._arriving == run and self._waiting[0].mono_s > mono_s):
                return
            chunk = self._waiting.popleft()
            if self._arriving == run:
                yield chunk


class _RawSource:
    """The meter as its bytes tell of it."""

    channel = "grout"

    def __init__(self, decoder: Decoder, stale_after_s: float, clock: _Clock, found: Reread) -> None:
        self._decoder, self._stale_after_s, self._clock, self._found = decoder, stale_after_s, clock, found
        self._readings: list[Reading] = []
        self._since_s: float | None = None
        """When it was last heard, or opened."""
        self._heard = False
        self.late = 0
        self._recorded: ev.MeterChanged | None = None

    def hear(self, chunks: Sequence[RawChunk], recorded: ev.MeterChanged | None) -> None:
        """Takes what arrived since the last heartbeat, and what the record says of the port since."""
        self._recorded = recorded or self._recorded
        now_s = self._clock.monotonic()
        self._since_s = now_s if self._since_s is None else self._since_s
        self.late = 0
        for chunk in chunks:
            self._found.chunks += 1
            lines, garbage = self._decoder.lines, self._decoder.garbage
            readings = self._decoder.feed(chunk.mono_s, chunk.data)
            self._count(self._decoder.lines - lines, self._decoder.garbage - garbage)
            self._readings += readings
            self.late += len(readings) if now_s - chunk.mono_s < BUSY_S else 0
            if readings or not chunk.data:
                self._since_s = chunk.mono_s
                self._heard = self._heard or bool(readings)

    def _count(self, lines: int, garbage: int) -> None:
        self._found.lines += lines
        self._found.unread += garbage
        trouble = self._decoder.last_trouble
        if garbage and trouble is not None and len(self._found.troubles) < MOST_TROUBLES:
            self._found.troubles.append(trouble)

    def start(self) -> None:
        return

    def stop(self, timeout_s: float = 1.0) -> None:
        return

    def drain(self) -> list[Reading]:
        taken, self._readings = self._readings, []
        return taken

    @property
    def status(self) -> MeterStatus:
        """As recorded, except where more or less of what arrived can be read now."""
        condition, why = self._condition()
        return MeterStatus(MeterState[condition], why, self._clock.monotonic())

    def _condition(self) -> tuple[str, str]:
        recorded = self._recorded.condition if self._recorded else "OPENING"
        why = self._recorded.why if self._recorded else ""
        if recorded in ("FAULT", "CLOSED"):
            return recorded, why
        quiet_s = self._clock.monotonic() - (self._since_s or 0.0)
        if self._heard and quiet_s <= self._stale_after_s:
            return "LIVE", why if recorded == "LIVE" else "its lines can be read"
        if quiet_s > self._stale_after_s + LATE_S:
            return "STALE", why if recorded == "STALE" else "no line can be read"
        return (recorded, why) if self._heard else ("OPENING", why)


def _condition(entries: Sequence[Entry], place: int) -> ev.MeterChanged | None:
    """What the record says of the meter with the heartbeat at `place`, written right before or right after it."""
    beat_s, found = entries[place].mono_s, None
    for step in (-1, 1):
        at = place + step
        while 0 <= at < len(entries) and isinstance(entries[at].event, _FROM_METER + _FROM_RULES):
            event = entries[at].event
            if (
                isinstance(event, ev.MeterChanged)
                and event.channel == GROUT
                and abs(entries[at].mono_s - beat_s) < SPLIT_S
            ):
                found = event if found is None or step > 0 else found
            at += step
    return found


def _of_meter(event: ev.AnyEvent) -> bool:
    """What the meter that counts told; other instruments' bytes are not read again."""
    return isinstance(event, ev.MeterChanged | ev.MeterRebased) and event.channel == GROUT


def _last_beat(told: Sequence[ev.AnyEvent]) -> int:
    return max(place for place, event in enumerate(told) if isinstance(event, ev.Heartbeat))
