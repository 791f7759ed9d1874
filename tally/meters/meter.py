"""A meter on a port, read by a thread of its own that outlives whatever the port or the dialect does.

Other instruments may share the port (`Meter.beside`): it is opened once, and each hears every byte.
"""

import threading
import time
from collections.abc import Callable, Sequence

from tally.meters.backlog import Backlog
from tally.meters.dialect import Dialect
from tally.meters.hearing import Hearing
from tally.meters.reading import Reading
from tally.meters.source import Clock, MeterState, MeterStatus, SystemClock
from tally.meters.transport import Port, PortFault, is_device, open_port, port_signature

FIRST_WAIT_S = 0.5
LONGEST_WAIT_S = 10.0
LONGEST_NETWORK_WAIT_S = 1.5  # nothing shows that an address answers again, other than trying it
_LOOK_S = 0.1
_CHUNK = 4096

RawHook = Callable[[str, float, bytes], None]

__all__ = ["Beside", "Clock", "Meter", "MeterState", "MeterStatus", "RawHook"]


class Meter:
    """Reads `url` in the background from `start` to `stop`; opens it again, with growing waits, when it has gone.

    `on_raw` gets every chunk with its arrival time before it is decoded, and an empty chunk whenever the port has been
    opened. Waits between attempts run on the wall; how staleness is judged, `Hearing` says.
    """

    def __init__(
        self,
        channel: str,
        url: str,
        baud: int,
        dialect: Dialect,
        *,
        others: Sequence[Dialect] = (),
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
        self._opener = opener
        self.hearing = Hearing(
            channel,
            url,
            dialect,
            self._clock,
            others=others,
            stale_after_s=stale_after_s,
            stale_floor_wall_s=stale_floor_wall_s,
            backlog=backlog,
        )
        self._beside: tuple[Beside, ...] = ()
        self._thread: threading.Thread | None = None
        self._raw_trouble = ""

    def beside(
        self, channel: str, dialect: Dialect, *, others: Sequence[Dialect] = (), stale_after_s: float = 3.0
    ) -> "Beside":
        """Another instrument on the same port, not yet started. It hears nothing once this one is stopped."""
        hearing = Hearing(channel, self.url, dialect, self._clock, others=others, stale_after_s=stale_after_s)
        found = Beside(hearing, lambda: self.status)
        self._beside = (*self._beside, found)
        return found

    def start(self) -> None:
        if self._thread is not None:
            return
        self.hearing.begin(f"opening {self.url}")
        run = self.hearing.run
        self._thread = threading.Thread(target=self._run, args=(run,), name=f"meter {self.channel}", daemon=True)
        self._thread.start()

    def stop(self, timeout_s: float = 1.0) -> None:
        """Ends within `timeout_s`. A port that is stuck while opening is left to close itself when it comes free."""
        thread, self._thread = self._thread, None
        if thread is None:
            return
        self.hearing.end()
        thread.join(timeout_s)

    def drain(self) -> list[Reading]:
        return self.hearing.drain()

    @property
    def status(self) -> MeterStatus:
        return self.hearing.status

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
            self._failed(stop, _words(error))
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
            self._failed(stop, _words(error))
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
        mono_s = self._clock.monotonic()
        self._hand_over(mono_s, b"")
        self.hearing.opened(stop, mono_s)
        for other in self._beside:
            other.hearing.opened(other.hearing.run, mono_s)

    def _take(self, stop: threading.Event, data: bytes) -> None:
        mono_s = self._clock.monotonic()
        self._hand_over(mono_s, data)
        self.hearing.take(stop, mono_s, data, self._raw_trouble)
        for other in self._beside:
            other.hearing.take(other.hearing.run, mono_s, data, self._raw_trouble)

    def _failed(self, stop: threading.Event, why: str) -> None:
        self.hearing.publish(stop, MeterState.FAULT, why)
        if not stop.is_set():
            for other in self._beside:
                other.hearing.publish(other.hearing.run, MeterState.FAULT, why)

    def _hand_over(self, mono_s: float, data: bytes) -> None:
        """A raw log that fails must not stop the count; the status says so instead."""
        if self._on_raw is None:
            return
        try:
            self._on_raw(self.channel, mono_s, data)
            self._raw_trouble = ""
        except Exception as error:
            self._raw_trouble = f"the raw log is not being written: {error}"


class Beside:
    """An instrument that hears another one's port, which opens and closes it and has its bytes kept."""

    def __init__(self, hearing: Hearing, port: Callable[[], MeterStatus]) -> None:
        self.channel = hearing.channel
        self.hearing = hearing
        self._port = port

    def start(self) -> None:
        """It may come to a port that is open already, or has failed already."""
        if not self.hearing.run.is_set():
            return
        now = self._port()
        self.hearing.begin(now.why)
        if now.state is MeterState.FAULT:
            self.hearing.publish(self.hearing.run, MeterState.FAULT, now.why)

    def stop(self, timeout_s: float = 1.0) -> None:
        if not self.hearing.run.is_set():
            self.hearing.end()

    def drain(self) -> list[Reading]:
        return self.hearing.drain()

    @property
    def status(self) -> MeterStatus:
        return self.hearing.status


def _words(error: Exception) -> str:
    if isinstance(error, PortFault):
        return str(error)
    return f"the port failed: {type(error).__name__}: {error}"


def _close(port: Port) -> None:
    try:
        port.close()
    except Exception:  # it has gone already, or goes now
        return
