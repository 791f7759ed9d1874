"""What the rest of the program may ask of any instrument, whatever wire it hangs on."""

import time
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from tally.meters.reading import Reading


class MeterState(StrEnum):
    """CLOSED: not running. OPENING: no reading yet. LIVE: readings arrive. STALE: open, but quiet. FAULT: no port."""

    CLOSED = "closed"
    OPENING = "opening"
    LIVE = "live"
    STALE = "stale"
    FAULT = "fault"


@dataclass(frozen=True)
class MeterStatus:
    """State of an instrument at one moment; `why` is in plain words, for the crew.

    `lines` counts the lines that gave readings since the start, `garbage` those that gave none, `left_out` readings
    that were more than could be kept.
    """

    state: MeterState
    why: str
    since_mono_s: float
    last_reading_mono_s: float | None = None
    lines: int = 0
    garbage: int = 0
    left_out: int = 0


class Clock(Protocol):
    """Seconds that only grow. A demonstration may let them run faster than the wall."""

    def monotonic(self) -> float: ...


class SystemClock:
    """The machine's own monotonic clock."""

    def monotonic(self) -> float:
        return time.monotonic()


class Source(Protocol):
    """An instrument that is read in the background; nothing here ever blocks for longer than `stop` is given."""

    channel: str

    def start(self) -> None: ...

    def stop(self, timeout_s: float = 1.0) -> None: ...

    def drain(self) -> list[Reading]: ...

    @property
    def status(self) -> MeterStatus: ...
