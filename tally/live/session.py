"""The session core: decide, append and fsync, apply, raise alarms, publish. No thread of its own.

What was decided counts only once it is on the disk. `tally.live.recorder` runs a session in a thread; whatever builds a
session step by step (a demonstration's record, a test) calls `enter` and `beat` itself.
"""

from __future__ import annotations

import contextlib
import uuid
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from tally import __version__
from tally.job import events as ev
from tally.job import fold
from tally.job.alarms import due
from tally.job.decide.decide import decide
from tally.job.decide.refusal import Refusal
from tally.job.events import CALCULATION, Entry, encoded
from tally.job.intents import Intent
from tally.job.plan import Plan
from tally.job.state import State
from tally.live.clock import Clock
from tally.live.loading import load
from tally.live.sampling import Sampler
from tally.meters.source import Source
from tally.record.fault import RecordFault
from tally.record.folder import new_session_path
from tally.record.lock import SessionLock
from tally.record.raw_log import RawLog, raw_log_path
from tally.record.writer import Writer

_ALARM_EVENTS = (ev.AlarmRaised, ev.AlarmCleared)


@dataclass(frozen=True, slots=True)
class Saved:
    """Entries that are on the disk."""

    numbers: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class NotSaved:
    """The record could not be written; nothing was taken over."""

    why: str


Outcome = Saved | Refusal | NotSaved
MeterMaker = Callable[[Plan, Clock, Callable[[str, float, bytes], None]], Source | None]
"""(plan, clock, hook for raw bytes) -> the plan's meter, not yet started."""


@dataclass(frozen=True, slots=True)
class Snapshot:
    """What a screen may draw: never changes once it is published."""

    state: State
    chain: str
    trouble: str = ""
    """Why the record is not being written, in plain words; empty while it is."""
    raw_trouble: str = ""


class Session:
    """One open session file. For one thread at a time; `snapshot` may be read from any."""

    def __init__(
        self, path: Path, lock: SessionLock, writer: Writer, state: State, clock: Clock, make_meter: MeterMaker
    ) -> None:
        self.path = path
        self._lock, self._writer, self._clock, self._make_meter = lock, writer, clock, make_meter
        self._state = state
        self._trouble = ""
        self._raw: RawLog | None = None
        self._meter: Source | None = None
        self._sampler = Sampler(state.plan.meter, state.flow.last_total_m3)
        self._unsaved: deque[ev.AnyEvent] = deque()
        """Heartbeats that a full or broken disk refused; they are saved first when it takes entries again."""
        self.snapshot = Snapshot(state, writer.chain)

    @classmethod
    def opened(cls, plan: Plan, folder: Path, clock: Clock, make_meter: MeterMaker, *, boot: str = "") -> Session:
        """A new session in `folder`, its first entry saved; raises `RecordFault`."""
        path = new_session_path(folder, plan.job.name, clock.utc())
        lock = SessionLock(path)
        lock.acquire()
        try:
            entry = Entry(
                number=1,
                at=clock.utc(),
                mono_s=clock.monotonic(),
                who=plan.crew.driller,
                event=ev.SessionOpened(plan=plan, program=__version__, calculation=CALCULATION, boot=boot or _boot()),
            )
            writer = Writer.create(path, encoded(entry))
        except BaseException:
            lock.release()
            raise
        return cls(path, lock, writer, fold.opened(entry), clock, make_meter)

    @classmethod
    def resumed(cls, path: Path, clock: Clock, make_meter: MeterMaker, *, boot: str = "") -> Session:
        """The session in `path`, taken up where it was; raises `RecordFault` where it may not be recorded on."""
        lock = SessionLock(path)
        lock.acquire()
        try:
            loaded = load(path)
            if loaded.damaged:
                raise RecordFault(
                    f"{path} is damaged and is not recorded on ({loaded.problems[0]}); "
                    f"`tally replay` and `tally report` still read it"
                )
            writer = Writer.resume(path, loaded.reading)
        except BaseException:
            lock.release()
            raise
        session = cls(path, lock, writer, loaded.state, clock, make_meter)
        again = ev.SessionResumed(
            program=__version__,
            calculation=CALCULATION,
            boot=boot or _boot(),
            torn_bytes=loaded.reading.torn_length,
        )
        try:
            session._append(again)
        except BaseException:
            session.close()
            raise
        return session

    # --- what happens ------------------------------------------------------------------------------------------------

    def enter(self, intent: Intent) -> Outcome:
        """What comes of `intent`, once that is on the disk."""
        decision = decide(self._state, intent)
        if isinstance(decision, Refusal):
            return decision
        try:
            self._save_waiting()
            numbers = tuple(self._append(event) for event in decision)
        except RecordFault as fault:
            self.report(str(fault))
            return NotSaved(str(fault))
        self.report("")
        return Saved(numbers)

    def beat(self) -> None:
        """One heartbeat, with what the meter sent since the last."""
        if self._state.closed:
            return
        try:
            self._note_meter()
            readings = self._meter.drain() if self._meter is not None else []
            self._unsaved.extend(self._sampler.events(readings, self._clock.monotonic()))
            self._save_waiting()
        except RecordFault as fault:
            self.report(str(fault))
        else:
            self.report("")

    def report(self, trouble: str) -> None:
        """Has the screens say `trouble`; empty when there is none any more."""
        if trouble != self._trouble:
            self._trouble = trouble
            self._publish()

    # --- the meter ---------------------------------------------------------------------------------------------------

    def plug_in(self) -> None:
        """Starts the meter that the plan names now."""
        plan = self._state.plan
        if plan.meter is not None and self._raw is None:
            self._raw = RawLog(raw_log_path(self.path))
        self._sampler = Sampler(plan.meter, self._state.flow.last_total_m3)
        self._meter = self._make_meter(plan, self._clock, self._keep_raw)
        if self._meter is not None:
            self._meter.start()

    def _unplug(self) -> None:
        if self._meter is not None:
            self._meter.stop(0.5)
            self._meter = None

    def _note_meter(self) -> None:
        if self._meter is None:
            return
        status = self._meter.status
        if status.state.name != self._state.flow.condition:
            changed = {"channel": "grout", "condition": status.state.name, "why": status.why[:500]}
            self._append(ev.MeterChanged.model_validate(changed))

    def _keep_raw(self, channel: str, mono_s: float, data: bytes) -> None:
        if self._raw is not None:
            self._raw.write(channel, mono_s, self._clock.utc(), data)

    # --- the record --------------------------------------------------------------------------------------------------

    def _save_waiting(self) -> None:
        while self._unsaved:
            self._append(self._unsaved[0])
            self._unsaved.popleft()

    def _append(self, event: ev.AnyEvent) -> int:
        """Saves `event`, applies it, and records the alarms that it brings or ends; its number."""
        before = self._state
        entry = Entry(
            number=before.number + 1,
            at=self._clock.utc(),
            mono_s=self._clock.monotonic(),
            who=before.who,
            event=event,
        )
        # Worked out before it is written: an entry that could not be applied must not stand in the file.
        after = fold.apply(before, entry)
        self._writer.append(encoded(entry))
        self._state = after
        if before.plan.meter != self._state.plan.meter and self._meter is not None:
            self._unplug()
            self.plug_in()
        if not isinstance(event, _ALARM_EVENTS):
            for change in due.due(self._state):
                self._append(change)
        self._publish()
        return entry.number

    def _publish(self) -> None:
        raw = (self._raw.fault or "") if self._raw is not None else ""
        self.snapshot = Snapshot(self._state, self._writer.chain, self._trouble, raw)

    def close(self) -> None:
        """Lets go of meter, files and lock. Nothing is saved here, for everything was."""
        self._unplug()
        self._writer.close()
        if self._raw is not None:
            self._raw.close()
        with contextlib.suppress(OSError):
            self._lock.release()


def _boot() -> str:
    return uuid.uuid4().hex[:12]
