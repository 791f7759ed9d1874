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
from datetime import datetime
from pathlib import Path

from tally import __version__
from tally.job import events as ev
from tally.job import fold
from tally.job.alarms import due
from tally.job.coding import encoded
from tally.job.decide.decide import decide
from tally.job.decide.refusal import Refusal
from tally.job.events import CALCULATION, Entry
from tally.job.intents import Intent
from tally.job.plan import Plan
from tally.job.state import State
from tally.live.clock import Clock
from tally.live.listener import Listener, MeterMaker
from tally.live.loading import open_session, unheeded
from tally.live.mirror import Mirror
from tally.live.watch import Watch
from tally.record.fault import RecordFault
from tally.record.folder import new_session_path
from tally.record.lock import SessionLock
from tally.record.raw_log import raw_log_path
from tally.record.reader import iterate
from tally.record.writer import Writer


@dataclass(frozen=True, slots=True)
class Saved:
    """Entries that are on the disk."""

    numbers: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class NotSaved:
    """The record could not be written; nothing was taken over."""

    why: str


Outcome = Saved | Refusal | NotSaved


@dataclass(frozen=True, slots=True)
class Snapshot:
    """What a screen may draw: never changes once it is published."""

    state: State
    chain: str
    trouble: str = ""
    """Why the record is not being written, in plain words; empty while it is."""
    raw_trouble: str = ""
    copy: str = ""
    """How the second copy stands, in a word or two; empty where there is none."""


@dataclass(frozen=True, slots=True)
class _Happened:
    """An event and when it was, which is not always when it could be saved."""

    event: ev.AnyEvent
    at: datetime
    mono_s: float


class Session:
    """One open session file. For one thread at a time; `snapshot` may be read from any."""

    def __init__(
        self, path: Path, lock: SessionLock, writer: Writer, state: State, clock: Clock, make_meter: MeterMaker
    ) -> None:
        self.path = path
        self._lock, self._writer, self._clock = lock, writer, clock
        self._state = state
        self._trouble = ""
        self._watch = Watch(clock, writer)
        self._listener = Listener(raw_log_path(path), clock, make_meter)
        self._owed: deque[_Happened] = deque()
        """Alarms of the last entry that are not saved yet; nothing else may come before them."""
        self._waiting: deque[_Happened] = deque()
        """What instruments told and a full or broken disk refused; saved first when it takes entries again."""
        self._rule_trouble = ""
        self._mirror: Mirror | None = None
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
        session = cls(path, lock, writer, fold.opened(entry), clock, make_meter)
        session._owe_alarms(entry)
        with contextlib.suppress(RecordFault):  # they stay owed
            session._save_owed()
        session._publish()
        return session

    @classmethod
    def resumed(
        cls,
        path: Path,
        clock: Clock,
        make_meter: MeterMaker,
        *,
        boot: str = "",
        heed: Callable[[], object] = unheeded,
    ) -> Session:
        """The session in `path`, taken up where it was; raises `RecordFault` where it may not be recorded on. `heed` is
        called while it is read and once before it is written to: what it raises leaves the session as it was."""
        next(iterate(path), None)  # what is no session is refused before a lock is put beside it
        lock = SessionLock(path)
        lock.acquire()
        try:
            opened = open_session(path, heed=heed)
            if opened.damaged:
                raise RecordFault(
                    f"{path} is damaged and is not recorded on ({opened.problems[0]}); "
                    "`tally replay` and `tally report` still read it, `tally mend` writes it anew"
                )
            heed()
            writer = Writer.resume(path, opened.extent)
        except BaseException:
            lock.release()
            raise
        session = cls(path, lock, writer, opened.state, clock, make_meter)
        again = ev.SessionResumed(
            program=__version__,
            calculation=CALCULATION,
            boot=boot or _boot(),
            torn_bytes=opened.extent.torn_length,
        )
        try:
            session._append(session._now(again))
        except BaseException:
            session.close()
            raise
        return session

    def copy_to(self, mirror: Mirror) -> None:
        """Keeps a second copy from now on."""
        self._mirror = mirror
        mirror.start(self.path)
        mirror.saved(self._writer.length, self._writer.count)
        self._publish()

    # --- what happens ------------------------------------------------------------------------------------------------

    def enter(self, intent: Intent) -> Outcome:
        """What comes of `intent`, once that is on the disk."""
        try:
            self._save_waiting()
            decision = decide(self._state, intent)
            if isinstance(decision, Refusal):
                return decision
            first, *more = map(self._now, decision)
            number = self._append(first)
        except RecordFault as fault:
            self._failed(fault)
            return NotSaved(str(fault))
        # Taken with its first event: what is left may have to wait, and whatever goes wrong now, it is not asked again.
        self._waiting.extend(more)
        try:
            self._catch_up()
        except Exception as bug:
            self.report(words_of(bug))
        return Saved((number,))

    def beat(self) -> None:
        """One heartbeat, with what the meter sent since the last."""
        if self._state.closed:
            self._publish()  # the copy goes on for a moment
            return
        self._waiting.extend(map(self._now, self._listener.hear()))
        self._waiting.extend(map(self._now, self._watch.look()))
        self._catch_up()

    def report(self, trouble: str) -> None:
        """Has the screens say `trouble`; empty when there is none any more."""
        trouble = trouble or self._rule_trouble
        if trouble != self._trouble:
            self._trouble = trouble
            self._publish()

    def plug_in(self) -> None:
        """Starts the meter that the plan names now."""
        self._waiting.extend(map(self._now, self._listener.plug_in(self._state)))

    # --- the record --------------------------------------------------------------------------------------------------

    def _now(self, event: ev.AnyEvent) -> _Happened:
        return _Happened(event, self._clock.utc(), self._clock.monotonic())

    def _catch_up(self) -> None:
        """Saves what waits, and says so where that cannot be done, or can be done again."""
        try:
            self._save_waiting()
            if not self._owed:
                self.report("")
                if not self._state.closed:
                    self._waiting.extend(map(self._now, self._watch.recovered()))
                    self._save_waiting()
        except RecordFault as fault:
            self._failed(fault)

    def _failed(self, fault: RecordFault) -> None:
        self._watch.failed(str(fault))
        self.report(str(fault))

    def _save_waiting(self) -> None:
        self._save_owed()
        while self._waiting:
            before = self._state
            self._follow_up(before, self._save_first(self._waiting))

    def _append(self, happened: _Happened) -> int:
        """Saves and applies an entry; its number. Raises `RecordFault` only where the entry itself is not saved."""
        self._save_owed()
        before = self._state
        entry = self._save(happened)
        self._follow_up(before, entry)
        return entry.number

    def _follow_up(self, before: State, entry: Entry) -> None:
        """What an entry that is on the disk brings with it: alarms, which stay owed where they cannot be saved."""
        self._owe_alarms(entry)
        try:
            self._save_owed()
            if before.plan is not self._state.plan and self._listener.plugged:
                self.plug_in()
        except RecordFault as fault:
            self._failed(fault)
        except Exception as bug:
            # The entry counts: whoever asked for it must not be told otherwise.
            self.report(words_of(bug))
        self._publish()

    def _save_first(self, queue: deque[_Happened]) -> Entry:
        """Saves the first of `queue`; one that brings out a bug is dropped, or nothing could ever follow it."""
        try:
            entry = self._save(queue[0])
        except RecordFault:
            raise
        except Exception:
            queue.popleft()
            raise
        queue.popleft()
        return entry

    def _save(self, happened: _Happened) -> Entry:
        state = self._state
        entry = Entry(
            number=state.number + 1, at=happened.at, mono_s=happened.mono_s, who=state.who, event=happened.event
        )
        # Worked out before it is written: an entry that could not be applied must not stand in the file.
        after = fold.apply(state, entry)
        began_s = self._clock.monotonic()
        self._writer.append(encoded(entry))
        self._watch.saved(began_s)
        self._state = after
        if self._mirror is not None:
            self._mirror.saved(self._writer.length, self._writer.count)
        return entry

    def _owe_alarms(self, cause: Entry) -> None:
        """Works out the alarms that `cause` calls for; they bear its time, so that a replay finds the same."""
        try:
            changes = due.due(self._state)
        except Exception as bug:
            # A rule that fails must not undo the entry, which is on the disk, nor end the record.
            self._rule_trouble = f"an alarm rule fails, please report it: {type(bug).__name__}: {bug}"
            self.report(self._rule_trouble)
            return
        self._rule_trouble = ""
        self._owed.extend(_Happened(change, cause.at, cause.mono_s) for change in changes)

    def _save_owed(self) -> None:
        while self._owed:
            self._save_first(self._owed)

    def _publish(self) -> None:
        copy = self._mirror.words if self._mirror is not None else ""
        self.snapshot = Snapshot(self._state, self._writer.chain, self._trouble, self._listener.raw_trouble, copy)

    def close(self) -> None:
        """Lets go of meter, files and lock. Nothing is saved here, for everything was."""
        self._listener.close()
        self._writer.close()
        if self._mirror is not None:
            self._mirror.stop()
        with contextlib.suppress(OSError):
            self._lock.release()


def words_of(bug: Exception) -> str:
    return f"an error in the program, please report it: {type(bug).__name__}: {bug}"


def _boot() -> str:
    return uuid.uuid4().hex[:12]
