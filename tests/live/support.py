"""What the tests of the live session share: a clock to set, a meter that says what it is told, a disk that fails."""

import errno
import os
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Self, TypeVar

import pytest

from tally.job import events as ev
from tally.job.alarms.replay import disagreements
from tally.job.events import Entry
from tally.job.plan import Plan
from tally.live import session as session_module
from tally.live.clock import Clock
from tally.live.loading import load
from tally.live.session import Session
from tally.meters.reading import Reading
from tally.meters.source import MeterState, MeterStatus, Source
from tally.record.reader import Extent
from tally.record.writer import Writer
from tests.scenario import plan

L = 1e-3
Kind = TypeVar("Kind", bound=ev.Event)


@dataclass
class SetClock:
    """Shows what it was set to; `speed` has the recorder wait on the wall that much less."""

    now_s: float = 500.0
    at: datetime = datetime(2026, 5, 11, 12, 0, tzinfo=UTC)
    speed: float = 1.0

    def utc(self) -> datetime:
        return self.at

    def monotonic(self) -> float:
        return self.now_s

    def tick(self, seconds: float = 1.0) -> None:
        self.now_s += seconds
        self.at += timedelta(seconds=seconds)


@dataclass
class SaidMeter:
    """A meter whose readings and state the test sets."""

    clock: Clock
    port: str
    channel: str = "grout"
    state: MeterState = MeterState.CLOSED
    why: str = "not started"
    started: bool = False
    readings: list[Reading] = field(default_factory=list)

    def start(self) -> None:
        self.started, self.state, self.why = True, MeterState.OPENING, f"opening {self.port}"

    def stop(self, timeout_s: float = 1.0) -> None:
        self.started, self.state, self.why = False, MeterState.CLOSED, "stopped"

    def say(self, *totals_l: float) -> None:
        self.state, self.why = MeterState.LIVE, f"reading {self.port}"
        self.readings += [Reading(self.clock.monotonic(), "grout", "total_m3", total * L) for total in totals_l]

    def drain(self) -> list[Reading]:
        taken, self.readings = self.readings, []
        return taken

    @property
    def status(self) -> MeterStatus:
        return MeterStatus(self.state, self.why, self.clock.monotonic())


@dataclass
class Bench:
    """A session with everything around it in the test's hand."""

    folder: Path
    clock: SetClock = field(default_factory=SetClock)
    meters: list[SaidMeter] = field(default_factory=list)

    def make_meter(self, plan_: Plan, clock: Clock, on_raw: Callable[[str, float, bytes], None]) -> Source | None:
        if plan_.meter is None:
            return None
        self.meters.append(SaidMeter(clock, plan_.meter.port))
        return self.meters[-1]

    @property
    def meter(self) -> SaidMeter:
        return self.meters[-1]

    def opened(self, plan_: Plan | None = None) -> Session:
        session = Session.opened(plan_ or plan(), self.folder, self.clock, self.make_meter, boot="boot-1")
        session.plug_in()
        return session

    def resumed(self, path: Path) -> Session:
        session = Session.resumed(path, self.clock, self.make_meter, boot="boot-2")
        session.plug_in()
        return session

    def beat(self, session: Session, *totals_l: float) -> None:
        """A second passes, in which the meter says `totals_l`."""
        self.clock.tick()
        if totals_l:
            self.meter.say(*totals_l)
        session.beat()


class Disk:
    """Stands between the writer and the system; `full` refuses writes, `gate` holds an fsync back until it is set."""

    def __init__(self) -> None:
        self.full = False
        self.room = 1_000_000
        """Lines that may still be written before it is full."""
        self.gate = threading.Event()
        self.gate.set()
        self.reached = threading.Event()
        """Set when an fsync has begun."""

    def write(self, descriptor: int, data: bytes) -> int:
        if self.full or self.room <= 0:
            os.write(descriptor, data[: len(data) // 2])
            raise OSError(errno.ENOSPC, "full")
        self.room -= 1
        return os.write(descriptor, data)

    def fsync(self, descriptor: int) -> None:
        self.reached.set()
        assert self.gate.wait(20.0)
        os.fsync(descriptor)

    def install(self, monkeypatch: pytest.MonkeyPatch) -> None:
        disk = self

        class OnDisk(Writer):
            @classmethod
            def create(cls, path: Path, body: bytes, **_: Any) -> Self:
                return super().create(path, body, write=disk.write, fsync=disk.fsync)

            @classmethod
            def resume(cls, path: Path, extent: Extent, **_: Any) -> Self:
                return super().resume(path, extent, write=disk.write, fsync=disk.fsync)

        monkeypatch.setattr(session_module, "Writer", OnDisk)


def kept(session: Session) -> tuple[Entry, ...]:
    """The entries in the file: whole, numbered without a gap, their alarms those that a replay calls for."""
    loaded = load(session.path)
    assert not loaded.problems
    assert [entry.number for entry in loaded.entries] == list(range(1, len(loaded.entries) + 1))
    assert disagreements(loaded.entries) == []
    assert loaded.state == session.snapshot.state
    return loaded.entries


def of_kind(entries: tuple[Entry, ...], kind: type[Kind]) -> list[Kind]:
    return [entry.event for entry in entries if isinstance(entry.event, kind)]
