"""The recorder: a session in a thread of its own, beating once a second.

Screens draw snapshots and send intents; a screen that hangs or fails does not stop the record.
"""

from __future__ import annotations

import contextlib
import queue
import threading
from collections.abc import Callable
from concurrent.futures import Future, InvalidStateError
from dataclasses import replace
from pathlib import Path

from tally.job.alarms.record import SLOW_S
from tally.job.intents import Intent
from tally.job.plan import Plan
from tally.live.clock import Clock
from tally.live.listener import MeterMaker
from tally.live.loading import unheeded
from tally.live.mirror import Mirror
from tally.live.session import NotSaved, Outcome, Session, Snapshot, words_of

BEAT_S = 1.0
ENDED = NotSaved("the recorder has stopped; `tally run` takes the session up again")
HANGS = NotSaved("the disk does not answer: whether this was saved shows when the session is taken up again")


class Recorder:
    """Runs `session` from `start` to `stop`."""

    def __init__(self, session: Session, clock: Clock) -> None:
        self._session, self._clock = session, clock
        self._inbox: queue.SimpleQueue[tuple[Intent, Future[Outcome]] | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._run, name="recorder", daemon=True)
        self._asked: Future[Outcome] | None = None
        """What the thread is at."""
        self._busy_since_s: float | None = None
        """Since when it has been at one entry or heartbeat; a disk that hangs shows in that alone."""
        self._ended = False
        self._gate = threading.Lock()
        """Between `submit` and `stop`: no intent slips in behind the last one that is answered."""

    @classmethod
    def opened(cls, plan: Plan, folder: Path, clock: Clock, make_meter: MeterMaker) -> Recorder:
        """A new session in `folder`; raises `RecordFault`."""
        return cls(Session.opened(plan, folder, clock, make_meter), clock)

    @classmethod
    def resumed(
        cls, path: Path, clock: Clock, make_meter: MeterMaker, heed: Callable[[], object] = unheeded
    ) -> Recorder:
        """The session in `path`, taken up where it was; raises `RecordFault`, and what `heed` raises before a word is
        written."""
        return cls(Session.resumed(path, clock, make_meter, heed=heed), clock)

    @property
    def path(self) -> Path:
        return self._session.path

    @property
    def snapshot(self) -> Snapshot:
        snapshot = self._session.snapshot
        words = "" if snapshot.trouble else self._standstill()
        return replace(snapshot, trouble=words) if words else snapshot

    def _standstill(self) -> str:
        """Why nothing is published, where that is not as it should be: a thread that hangs cannot say it itself."""
        if self._thread.ident is not None and not self._thread.is_alive() and not self._ended:
            return (
                "the recorder has ended by an error in the program; leave, then `tally run` takes the session up again"
            )
        since_s = self._busy_since_s
        waited_s = (self._clock.monotonic() - since_s) / self._clock.speed if since_s is not None else 0.0
        if waited_s <= SLOW_S:
            return ""
        return f"the disk has not answered for {waited_s:.0f} s; what was entered meanwhile is not saved yet"

    def copy_to(self, mirror: Mirror) -> None:
        """Keeps a second copy; before `start`."""
        self._session.copy_to(mirror)

    def start(self) -> None:
        self._thread.start()

    def submit(self, intent: Intent) -> Future[Outcome]:
        """Asks for `intent`; the future holds what came of it, once that is on the disk."""
        outcome: Future[Outcome] = Future()
        # What was asked for cannot be withdrawn: a screen that closes meanwhile would cancel it, and lose an entry.
        outcome.set_running_or_notify_cancel()
        with self._gate:
            if self._ended:
                outcome.set_result(ENDED)
            else:
                self._inbox.put((intent, outcome))
        return outcome

    def stop(self, timeout_s: float = 2.0) -> None:
        """Ends the thread, once it has answered what was asked before, and lets go of the session.

        Where the disk hangs, what still waits is told that it was not saved, and the session is let go of only when
        the program ends: two writers of one file are worse than a lock that is held too long.
        """
        with self._gate:
            self._ended = True
            self._inbox.put(None)
        if self._thread.is_alive():
            self._thread.join(timeout_s)
        if not self._thread.is_alive():
            self._session.close()
        elif (asked := self._asked) is not None:
            _settle(asked, HANGS)
        self._turn_away()
        self._inbox.put(None)  # for a thread that comes free later

    def _turn_away(self) -> None:
        """Answers whatever nobody will take up any more."""
        with contextlib.suppress(queue.Empty):
            while True:
                asked = self._inbox.get_nowait()
                if asked is not None:
                    _settle(asked[1], ENDED)

    def _run(self) -> None:
        self._session.plug_in()
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
                self._busy_since_s = self._clock.monotonic()
                self._answer(*asked)
            now_s = self._clock.monotonic()
            if now_s >= next_beat_s:
                self._busy_since_s = now_s
                self._beat()
                # After a stall the beat goes on from now: the time that passed is in the entry's own clocks.
                late = now_s >= next_beat_s + BEAT_S
                next_beat_s = (now_s if late else next_beat_s) + BEAT_S
            self._busy_since_s = None

    def _answer(self, intent: Intent, outcome: Future[Outcome]) -> None:
        self._asked = outcome
        try:
            _settle(outcome, self._session.enter(intent))
        except Exception as bug:
            # A bug in a rule must not end the record; the operator is told that this entry was not taken.
            self._session.report(words_of(bug))
            with contextlib.suppress(InvalidStateError):
                outcome.set_exception(bug)
        self._asked = None

    def _beat(self) -> None:
        try:
            self._session.beat()
        except Exception as bug:
            self._session.report(words_of(bug))


def _settle(asked: Future[Outcome], outcome: Outcome) -> None:
    with contextlib.suppress(InvalidStateError):  # told already that the disk hangs
        asked.set_result(outcome)
