"""What the tests of the instruments share: a condition to wait for, a clock to set, a port made of bytes."""

import time
from collections.abc import Callable
from dataclasses import dataclass, field

PLAIN_LINE = b"T 001234.56 L R 62.10 L/min\r\n"


def wait_until(condition: Callable[[], bool], deadline_s: float = 8.0) -> bool:
    """Polls `condition`; False if it has not come true by the deadline."""
    end_s = time.monotonic() + deadline_s
    while not condition():
        if time.monotonic() > end_s:
            return False
        time.sleep(0.01)
    return True


@dataclass
class SetClock:
    """A clock that shows what it was set to."""

    now_s: float = 100.0

    def monotonic(self) -> float:
        return self.now_s


@dataclass
class BytesPort:
    """A port that gives `chunks` one after another and then fails with `end`, or stays silent."""

    chunks: list[bytes]
    end: Exception | None = None
    closed: bool = False
    written: list[bytes] = field(default_factory=list)

    def read(self, max_bytes: int) -> bytes:
        if self.chunks:
            return self.chunks.pop(0)
        if self.end is not None:
            raise self.end
        time.sleep(0.02)
        return b""

    def write(self, data: bytes) -> None:
        self.written.append(data)

    def close(self) -> None:
        self.closed = True
