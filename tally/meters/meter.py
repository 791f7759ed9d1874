"""A meter on a port, read by a thread of its own that outlives whatever the port or the dialect does."""

import threading
import time
from collections.abc import Callable
from dataclasses import replace

from tally.meters.backlog import Backlog
from tally.meters.decoder import Decoder
from tally.meters.dialect import Dialect
from tally.meters.reading import Reading
from tally.meters.source import Clock, MeterState, MeterStatus, SystemClock
from tally.meters.transport import Port, PortFault, is_device, open_port, port_signature

FIRST_WAIT_S = 0.5
LONGEST_WAIT_S = 10.0
LONGEST_NETWORK_WAIT_S = 1.5  # nothing shows that an address answers again, other than trying it
_LOOK_S = 0.1
_CHUNK = 4096

RawHook = Callable[[str, float, bytes], None]

__all__ = ["Clock", "Meter", "MeterState", "MeterStatus", "RawHook"]


class Meter:
    """Reads `url` in the background from `start` to `stop`; opens it again, with growing waits, when it has gone.

    `on_raw` gets every chunk with its arrival time before it is decoded, and an empty chunk whenever the port has been
    opened. Waits between attempts run on the wall, staleness on `clock`; where that runs faster than the wall,
    `stale_floor_wall_s` keeps a short hiccup of this machine from passing for a silent meter.
    """

    def __init__(
        self,
        channel: str,
        url: str,
        baud: int,
        dialect: Dialect,
        *,
        clock: Clock | None = None,
        on_raw: RawHook | None = None,
        stale_after_s: float = 3.0,
        stale_floor_wall_s: float = 1.0,
        opener: Callable[[str, int], Port] = open_port,
        backlog: Backlog | None = None,
    ) -> None:
        self.channel = channel
        self.url = url
        self.baud = baud
        self._clock: Clock = clock or SystemClock()
        self._on_raw = on_raw
        self._stale_after_s = stale_after_s
        self._stale_floor_wall_s = stale_floor_wall_s
        self._opener = opener
        self._backlog = backlog or Backlog()
        self._decoder = Decoder(channel, dialect)
        self._lock = threading.Lock()
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._raw_trouble = ""
        self._heard(self._clock.monotonic())
        self._status = MeterStatus(MeterState.CLOSED, "not started", self._heard_mono_s)

    def start(self) -> None:
        if self._thread is not None:
            return
        self._stop = threading.Event()
        self._publish(self._stop, MeterState.OPENING, f"opening {self.url}")
        self._thread = threading.Thread(target=self._run, args=(self._stop,), name=f"meter {self.channel}", daemon=True)
        self._thread.start()

    def stop(self, timeout_s: float = 1.0) -> None:
        """Ends within `timeout_s`. A port that is stuck while opening is left to close itself when it comes free."""
        thread, self._thread = self._thread, None
        if thread is None:
            return
        with self._lock:
            self._stop.set()
            self._status = replace(
                self._status, state=MeterState.CLOSED, why="stopped", since_mono_s=self._clock.monotonic()
            )
        thread.join(timeout_s)

    def drain(self) -> list[Reading]:
        """All readings since the last call; far behind, thinned to what still gives the same volume."""
        return self._backlog.take()

    @property
    def status(self) -> MeterStatus:
        """The state at this moment. Staleness is judged here, so that it shows even if the thread hangs."""
        status = self._status
        if status.state not in (MeterState.OPENING, MeterState.LIVE) or self._thread is None:
            return status
        quiet_s = self._clock.monotonic() - self._heard_mono_s
        if quiet_s <= self._stale_after_s or time.monotonic() - self._heard_wall_s <= self._stale_floor_wall_s:
            return status
        since_s = self._heard_mono_s + self._stale_after_s
        return replace(status, state=MeterState.STALE, why=self._quiet_words(quiet_s), since_mono_s=since_s)

    def _quiet_words(self, quiet_s: float) -> str:
        trouble = self._decoder.last_trouble
        if trouble and self._decoder.garbage > self._garbage_before:
            return f"{self.url}: lines arrive but none can be read; {trouble.why}: {trouble.text}"
        return f"{self.url}: no reading for {quiet_s:.0f} s"

    def _run(self, stop: threading.Event) -> None:
        wait_s = FIRST_WAIT_S
        longest_s = LONGEST_WAIT_S if is_device(self.url) else LONGEST_NETWORK_WAIT_S
        while not stop.is_set():
            before = port_signature(self.url)
            heard = self._attend(stop)
            wait_s = FIRST_WAIT_S if heard else wait_s
            self._pause(stop, wait_s, before)
            wait_s = min(wait_s * 2, longest_s)

    def _attend(self, stop: threading.Event) -> bool:
        """Opens the port and listens until it fails or `stop` is set; True if anything was heard."""
        try:
            port = self._opener(self.url, self.baud)
        except Exception as error:
            self._publish(stop, MeterState.FAULT, _words(error))
            return False
        heard = False
        try:
            if not stop.is_set():
                self._opened(stop)
            while not stop.is_set():
                data = port.read(_CHUNK)
                if data:
                    heard = True
                    self._take(stop, data)
        except Exception as error:
            self._publish(stop, MeterState.FAULT, _words(error))
        finally:
            _close(port)
        return heard

    def _pause(self, stop: threading.Event, wait_s: float, before: tuple[int, ...] | None) -> None:
        """Waits, but not on when the device has come back meanwhile."""
        started_s = time.monotonic()
        while not stop.wait(_LOOK_S):
            waited_s = time.monotonic() - started_s
            if waited_s >= wait_s or (waited_s >= FIRST_WAIT_S and port_signature(self.url) != before):
                return

    def _opened(self, stop: threading.Event) -> None:
        self._heard(self._clock.monotonic())
        self._hand_over(self._heard_mono_s, b"")
        self._decoder.feed(self._heard_mono_s, b"")
        self._publish(stop, MeterState.OPENING, f"{self.url} is open, waiting for the first line")

    def _heard(self, mono_s: float) -> None:
        """The port was opened or gave a reading: from here on it is quiet."""
        self._heard_mono_s = mono_s
        self._heard_wall_s = time.monotonic()
        self._garbage_before = self._decoder.garbage

    def _take(self, stop: threading.Event, data: bytes) -> None:
        mono_s = self._clock.monotonic()
        self._hand_over(mono_s, data)
        readings = self._decoder.feed(mono_s, data)
        if readings:
            self._backlog.put(readings)
            self._heard(mono_s)
            self._publish(stop, MeterState.LIVE, self._raw_trouble or f"reading {self.url}", mono_s)
        else:
            self._publish(stop, self._status.state, self._status.why)

    def _hand_over(self, mono_s: float, data: bytes) -> None:
        """A raw log that fails must not stop the count; the status says so instead."""
        if self._on_raw is None:
            return
        try:
            self._on_raw(self.channel, mono_s, data)
            self._raw_trouble = ""
        except Exception as error:
            self._raw_trouble = f"the raw log is not being written: {error}"

    def _publish(self, stop: threading.Event, state: MeterState, why: str, read_mono_s: float | None = None) -> None:
        with self._lock:
            if stop.is_set():
                return  # the last word belongs to `stop`
            old = self._status
            self._status = MeterStatus(
                state,
                why,
                old.since_mono_s if old.state is state else self._clock.monotonic(),
                old.last_reading_mono_s if read_mono_s is None else read_mono_s,
                self._decoder.lines,
                self._decoder.garbage,
                self._backlog.coalesced,
            )


def _words(error: Exception) -> str:
    if isinstance(error, PortFault):
        return str(error)
    return f"the port failed: {type(error).__name__}: {error}"


def _close(port: Port) -> None:
    try:
        port.close()
    except Exception:  # it has gone already, or goes now
        return
