"""The recorder: one thread that takes intents and readings, decides, saves, applies and publishes.

    drain meters -> decide -> append + fsync -> apply -> alarms -> publish a snapshot

Screens draw snapshots and send intents; a screen that hangs or fails does not stop the record. What was decided counts
only once it is on the disk.
"""

from __future__ import annotations

import contextlib
import queue
import threading
import uuid
from collections import deque
from collections.abc import Callable
from concurrent.futures import Future
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

BEAT_S = 1.0
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


@dataclass(frozen=True, slots=True)
class Snapshot:
    """What a screen may draw: never changes once it is published."""

    state: State
    chain: str
    trouble: str = ""
    """Why the record is not being written, in plain words; empty while it is."""
    raw_trouble: str = ""


class Recorder:
    """A session being recorded, from `start` to `stop`."""

    def __init__(
        self, path: Path, lock: SessionLock, writer: Writer, state: State, clock: Clock, make_meter: MeterMaker
    ) -> None:
        self.path = path
        self._lock, self._writer, self._clock = lock, writer, clock
        self._state = state
        self._trouble = ""
        self._raw: RawLog | None = None
        self._make_meter = make_meter
        self._meter: Source | None = None
        self._sampler = Sampler(state.plan.meter, state.flow.last_total_m3)
        self._unsaved: deque[ev.AnyEvent] = deque()
        """Heartbeats that a full or broken disk refused; they are saved first when it takes entries again."""
        self._inbox: queue.SimpleQueue[tuple[Intent, Future[Outcome]] | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._run, name="recorder", daemon=True)
        self.snapshot = Snapshot(state, writer.chain)

    # --- beginnings --------------------------------------------------------------------------------------------------

    @classmethod
    def opened(cls, plan: Plan, folder: Path, clock: Clock, make_meter: MeterMaker) -> Recorder:
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
                event=ev.SessionOpened(plan=plan, program=__version__, calculation=CALCULATION, boot=_boot()),
            )
            writer = Writer.create(path, encoded(entry))
        except BaseException:
            lock.release()
            raise
        return cls(path, lock, writer, fold.opened(entry), clock, make_meter)

    @classmethod
    def resumed(cls, path: Path, clock: Clock, make_meter: MeterMaker) -> Recorder:
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
        recorder = cls(path, lock, writer, loaded.state, clock, make_meter)
        try:
            recorder._append(
                ev.SessionResumed(
                    program=__version__,
                    calculation=CALCULATION,
                    boot=_boot(),
                    torn_bytes=loaded.reading.torn_length,
                )
            )
        except BaseException:
            recorder._let_go()
            raise
        return recorder

    # --- for screens and scripts -------------------------------------------------------------------------------------

    def start(self) -> None:
        self._plug_in()
        self._thread.start()

    def submit(self, intent: Intent) -> Future[Outcome]:
        """Asks for `intent`; the future holds what came of it, once that is on the disk."""
        outcome: Future[Outcome] = Future()
        self._inbox.put((intent, outcome))
        return outcome

    def stop(self, timeout_s: float = 2.0) -> None:
        """Ends the thread and lets go of meter, file and lock. Nothing is saved here, for everything was."""
        self._inbox.put(None)
        if self._thread.is_alive():
            self._thread.join(timeout_s)
        self._unplug()
        self._let_go()

    # --- the thread --------------------------------------------------------------------------------------------------

    def _run(self) -> None:
        next_beat_s = self._clock.monotonic() + BEAT_S
        while True:
            wait_s = max(next_beat_s - self._clock.monotonic(), 0.0) / self._clock.speed
            try:
                asked = self._inbox.get(timeout=wait_s)
            except queue.Empty:
                pass
            else:
                if asked is None:
                    return
                self._answer(*asked)
            now_s = self._clock.monotonic()
            if now_s >= next_beat_s:
                self._beat(now_s)
                # After a stall the beat goes on from now: the time that passed is in the entry's own clocks.
                next_beat_s = max(next_beat_s + BEAT_S, now_s)

    def _answer(self, intent: Intent, outcome: Future[Outcome]) -> None:
        try:
            decision = decide(self._state, intent)
            if isinstance(decision, Refusal):
                outcome.set_result(decision)
                return
            self._save_waiting()
            numbers = tuple(self._append(event) for event in decision)
        except RecordFault as fault:
            self._report(str(fault))
            outcome.set_result(NotSaved(str(fault)))
        except Exception as bug:
            # A bug in a rule must not end the record; the operator is told that this entry was not taken.
            self._report(f"not saved, an error in the program: {type(bug).__name__}: {bug}")
            if not outcome.done():
                outcome.set_exception(bug)
        else:
            self._report("")
            outcome.set_result(Saved(numbers))

    def _beat(self, now_s: float) -> None:
        if self._state.closed:
            return
        try:
            self._note_meter()
            readings = self._meter.drain() if self._meter is not None else []
            self._unsaved.extend(self._sampler.events(readings, now_s))
            self._save_waiting()
        except RecordFault as fault:
            self._report(str(fault))
        except Exception as bug:
            self._report(f"an error in the program: {type(bug).__name__}: {bug}")
        else:
            self._report("")

    def _note_meter(self) -> None:
        if self._meter is None:
            return
        status, flow = self._meter.status, self._state.flow
        condition = status.state.name
        if condition != flow.condition:
            self._append(ev.MeterChanged(channel="grout", condition=condition, why=status.why[:500]))  # type: ignore[arg-type]

    def _save_waiting(self) -> None:
        while self._unsaved:
            self._append(self._unsaved[0])
            self._unsaved.popleft()

    def _append(self, event: ev.AnyEvent) -> int:
        """Saves `event`, applies it, and records the alarms that it brings or ends; its number."""
        state = self._state
        who = state.plan.crew.driller if not state.who else state.who
        entry = Entry(
            number=state.number + 1, at=self._clock.utc(), mono_s=self._clock.monotonic(), who=who, event=event
        )
        self._writer.append(encoded(entry))
        self._state = fold.apply(state, entry)
        if state.plan.meter != self._state.plan.meter:
            self._unplug()
            self._plug_in()
        if not isinstance(event, _ALARM_EVENTS):
            for change in due.due(self._state):
                self._append(change)
        self._publish()
        return entry.number

    def _plug_in(self) -> None:
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

    def _keep_raw(self, channel: str, mono_s: float, data: bytes) -> None:
        if self._raw is not None:
            self._raw.write(channel, mono_s, self._clock.utc(), data)

    def _report(self, trouble: str) -> None:
        if trouble != self._trouble:
            self._trouble = trouble
            self._publish()

    def _publish(self) -> None:
        raw = (self._raw.fault or "") if self._raw is not None else ""
        self.snapshot = Snapshot(self._state, self._writer.chain, self._trouble, raw)

    def _let_go(self) -> None:
        self._writer.close()
        if self._raw is not None:
            self._raw.close()
        with contextlib.suppress(OSError):
            self._lock.release()


def _boot() -> str:
    return uuid.uuid4().hex[:12]
