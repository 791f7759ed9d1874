"""What is heard of one instrument on a port, and how it is: bytes to readings, and a state that needs no thread."""

import threading
import time
from collections.abc import Sequence
from dataclasses import replace

from tally.meters.backlog import Backlog
from tally.meters.decoder import Decoder
from tally.meters.dialect import Dialect
from tally.meters.reading import Reading
from tally.meters.source import Clock, MeterState, MeterStatus


class Hearing:
    """One instrument's share of what a port sends. `others` are the dialects of those beside it on the port.

    Staleness runs on `clock`; where that runs faster than the wall, `stale_floor_wall_s` keeps a short hiccup of this
    machine from passing for a silent meter.
    """

    def __init__(
        self,
        channel: str,
        url: str,
        dialect: Dialect,
        clock: Clock,
        *,
        others: Sequence[Dialect] = (),
        stale_after_s: float = 3.0,
        stale_floor_wall_s: float = 1.0,
        backlog: Backlog | None = None,
    ) -> None:
        self.channel = channel
        self._url = url
        self._clock = clock
        self._stale_after_s = stale_after_s
        self._stale_floor_wall_s = stale_floor_wall_s
        self._backlog = backlog or Backlog()
        self.decoder = Decoder(channel, dialect, others)
        self._lock = threading.Lock()
        self._stop = threading.Event()
        self._stop.set()
        self._heard(clock.monotonic())
        self._status = MeterStatus(MeterState.CLOSED, "not started", self._heard_mono_s)

    def begin(self, why: str) -> None:
        """From here on what the port does is told."""
        self._stop = threading.Event()
        self.publish(self._stop, MeterState.OPENING, why)

    def end(self) -> None:
        """The last word: nothing that the port does later is told any more."""
        with self._lock:
            self._stop.set()
            self._status = replace(
                self._status, state=MeterState.CLOSED, why="stopped", since_mono_s=self._clock.monotonic()
            )

    @property
    def run(self) -> threading.Event:
        """This run's end; what is told of an earlier run is not heard."""
        return self._stop

    def drain(self) -> list[Reading]:
        """All readings since the last call; far behind, thinned to what still gives the same volume."""
        return self._backlog.take()

    @property
    def status(self) -> MeterStatus:
        """The state at this moment. Staleness is judged here, so that it shows even if the port's thread hangs."""
        status = self._status
        if status.state not in (MeterState.OPENING, MeterState.LIVE) or self._stop.is_set():
            return status
        quiet_s = self._clock.monotonic() - self._heard_mono_s
        if quiet_s <= self._stale_after_s or time.monotonic() - self._heard_wall_s <= self._stale_floor_wall_s:
            return status
        since_s = self._heard_mono_s + self._stale_after_s
        return replace(status, state=MeterState.STALE, why=self._quiet_words(quiet_s), since_mono_s=since_s)

    def _quiet_words(self, quiet_s: float) -> str:
        trouble = self.decoder.last_trouble
        if trouble and self.decoder.garbage > self._garbage_before:
            return f"{self._url}: lines arrive but none can be read; {trouble.why}: {trouble.text}"
        return f"{self._url}: no reading for {quiet_s:.0f} s"

    def opened(self, run: threading.Event, mono_s: float) -> None:
        """The port was opened: what was begun before it is not joined to what comes."""
        self._heard(mono_s)
        self.decoder.feed(mono_s, b"")
        self.publish(run, MeterState.OPENING, f"{self._url} is open, waiting for the first line")

    def _heard(self, mono_s: float) -> None:
        """The port was opened or gave a reading: from here on it is quiet."""
        self._heard_mono_s = mono_s
        self._heard_wall_s = time.monotonic()
        self._garbage_before = self.decoder.garbage

    def take(self, run: threading.Event, mono_s: float, data: bytes, trouble: str = "") -> None:
        """Bytes that arrived; `trouble` is what is wrong beside them."""
        readings = self.decoder.feed(mono_s, data)
        if readings:
            self._backlog.put(readings)
            self._heard(mono_s)
            self.publish(run, MeterState.LIVE, trouble or f"reading {self._url}", mono_s)
        else:
            self.publish(run, self._status.state, self._status.why)

    def publish(self, run: threading.Event, state: MeterState, why: str, read_mono_s: float | None = None) -> None:
        with self._lock:
            if run.is_set():
                return  # the last word belongs to `end`
            old = self._status
            self._status = MeterStatus(
                state,
                why,
                old.since_mono_s if old.state is state else self._clock.monotonic(),
                old.last_reading_mono_s if read_mono_s is None else read_mono_s,
                self.decoder.lines,
                self.decoder.garbage,
                self._backlog.coalesced,
            )
