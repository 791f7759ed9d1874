"""The recorder: a session in a thread of its own, beating once a second.

Screens draw snapshots and send intents; a screen that hangs or fails does not stop the record.
"""

from __future__ import annotations

import queue
import threading
from concurrent.futures import Future
from pathlib import Path

from tally.job.intents import Intent
from tally.job.plan import Plan
from tally.live.clock import Clock
from tally.live.session import MeterMaker, NotSaved, Outcome, Session, Snapshot

BEAT_S = 1.0
ENDED = NotSaved("the recorder has stopped; `tally run` takes the session up again")


class Recorder:
    """Runs `session` from `start` to `stop`."""

    def __init__(self, session: Session, clock: Clock) -> None:
        self._session, self._clock = session, clock
        self._inbox: queue.SimpleQueue[tuple[Intent, Future[Outcome]] | None] = queue.SimpleQueue()
        self._thread = threading.Thread(target=self._run, name="recorder", daemon=True)
        self._ended = False

    @classmethod
    def opened(cls, plan: Plan, folder: Path, clock: Clock, make_meter: MeterMaker) -> Recorder:
        """A new session in `folder`; raises `RecordFault`."""
        return cls(Session.opened(plan, folder, clock, make_meter), clock)

    @classmethod
    def resumed(cls, path: Path, clock: Clock, make_meter: MeterMaker) -> Recorder:
        """The session in `path`, taken up where it was; raises `RecordFault`."""
        return cls(Session.resumed(path, clock, make_meter), clock)

    @property
    def path(self) -> Path:
        return self._session.path

    @property
    def snapshot(self) -> Snapshot:
        return self._session.snapshot

    def start(self) -> None:
        self._thread.start()

    def submit(self, intent: Intent) -> Future[Outcome]:
        """Asks for `intent`; the future holds what came of it, once that is on the disk."""
        outcome: Future[Outcome] = Future()
        if self._ended:
            outcome.set_result(ENDED)
        else:
            self._inbox.put((intent, outcome))
        return outcome

    def stop(self, timeout_s: float = 2.0) -> None:
        """Ends the thread and lets go of the session; what still waits is told so."""
        self._ended = True
        self._inbox.put(None)
        if self._thread.is_alive():
            self._thread.join(timeout_s)
        if not self._thread.is_alive():
            self._session.close()
        while True:
            try:
                asked = self._inbox.get_nowait()
            except queue.Empty:
                return
            if asked is not None:
                asked[1].set_result(ENDED)

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
                self._answer(*asked)
            now_s = self._clock.monotonic()
            if now_s >= next_beat_s:
                self._beat()
                # After a stall the beat goes on from now: the time that passed is in the entry's own clocks.
                next_beat_s = max(next_beat_s + BEAT_S, now_s)

    def _answer(self, intent: Intent, outcome: Future[Outcome]) -> None:
        try:
            outcome.set_result(self._session.enter(intent))
        except Exception as bug:
            # A bug in a rule must not end the record; the operator is told that this entry was not taken.
            self._session.report(_words(bug))
            outcome.set_exception(bug)

    def _beat(self) -> None:
        try:
            self._session.beat()
        except Exception as bug:
            self._session.report(_words(bug))


def _words(bug: Exception) -> str:
    return f"an error in the program, please report it: {type(bug).__name__}: {bug}"
