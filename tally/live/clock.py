"""Where time comes from: the machine, or a demonstration that lets it run faster."""

from __future__ import annotations

import os
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Protocol
from zoneinfo import available_timezones


class Clock(Protocol):
    """Both clocks of an entry, and how fast they run against the wall."""

    speed: float

    def utc(self) -> datetime: ...

    def monotonic(self) -> float: ...


class SystemClock:
    """The machine's own."""

    speed = 1.0

    def utc(self) -> datetime:
        return datetime.now(UTC)

    def monotonic(self) -> float:
        return time.monotonic()


def zone_name() -> str:
    """The machine's time zone by its IANA name, to be offered; empty where the system does not say."""
    said = os.environ.get("TZ", "").lstrip(":")
    if not said:
        try:
            said = Path("/etc/localtime").resolve(strict=True).as_posix().partition("zoneinfo/")[2]
        except OSError:
            return ""
    return said if said in available_timezones() else ""


class FastClock:
    """Starts at a given instant and runs `speed` times as fast as the wall: for demonstrations only."""

    def __init__(self, speed: float, starts: datetime | None = None) -> None:
        self.speed = speed
        self._utc = starts or datetime.now(UTC)
        self._wall_s = time.monotonic()

    def monotonic(self) -> float:
        return self._wall_s + (time.monotonic() - self._wall_s) * self.speed

    def utc(self) -> datetime:
        return self._utc + timedelta(seconds=(time.monotonic() - self._wall_s) * self.speed)
