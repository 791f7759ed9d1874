"""The plan's meter as events: what it sent, how it is, and its bytes in the raw log."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from tally.job import events as ev
from tally.job.plan import Plan
from tally.job.state import Flow
from tally.live.clock import Clock
from tally.live.sampling import Sampler
from tally.meters.source import Source
from tally.record.raw_log import RawLog

MeterMaker = Callable[[Plan, Clock, Callable[[str, float, bytes], None]], Source | None]
"""(plan, clock, hook for raw bytes) -> the plan's meter, not yet started."""


class Listener:
    """Listens to one meter at a time. Tells events in the order in which they were true; saves none of them."""

    def __init__(self, raw_path: Path, clock: Clock, make_meter: MeterMaker) -> None:
        self._raw_path, self._clock, self._make_meter = raw_path, clock, make_meter
        self._sampler = Sampler(None, None)
        self._meter: Source | None = None
        self._raw: RawLog | None = None
        self._condition = ""
        """As it was last told."""
        self.plugged = False

    @property
    def raw_trouble(self) -> str:
        return (self._raw.fault or "") if self._raw is not None else ""

    def plug_in(self, plan: Plan, flow: Flow) -> list[ev.AnyEvent]:
        """Starts the meter that the plan names, in place of the one before."""
        told: list[ev.AnyEvent] = []
        if self.plugged:
            self._unplug()
            told += self._change("CLOSED", "the plan names another meter now")
        else:
            self._condition = flow.condition
        self.plugged = True
        self._sampler = Sampler(plan.meter, flow.last_total_m3)
        if plan.meter is None:
            return told
        if self._raw is None:
            self._raw = RawLog(self._raw_path)
        try:
            self._meter = self._make_meter(plan, self._clock, self._keep_raw)
            if self._meter is not None:
                self._meter.start()
        except Exception as fault:
            # The job goes on without its meter, on typed volumes, and says why.
            self._meter = None
            told += self._change("FAULT", f"the meter cannot be started: {fault}")
        return told

    def hear(self) -> list[ev.AnyEvent]:
        """One heartbeat, with what was sent since the last, among changes of the meter's condition."""
        if self._meter is None:
            return [*self._sampler.events([], self._clock.monotonic())]
        readings, status = self._meter.drain(), self._meter.status
        told: list[ev.AnyEvent] = []
        if readings:
            told += self._change("LIVE", status.why if status.state.name == "LIVE" else "readings arrive")
        told += self._sampler.events(readings, self._clock.monotonic())
        return told + self._change(status.state.name, status.why)

    def close(self) -> None:
        self._unplug()
        if self._raw is not None:
            self._raw.close()

    def _unplug(self) -> None:
        if self._meter is not None:
            self._meter.stop(0.5)
            self._meter = None

    def _change(self, condition: str, why: str) -> list[ev.AnyEvent]:
        if condition == self._condition:
            return []
        self._condition = condition
        changed = {"channel": "grout", "condition": condition, "why": why[:500]}
        return [ev.MeterChanged.model_validate(changed)]

    def _keep_raw(self, channel: str, mono_s: float, data: bytes) -> None:
        if self._raw is not None:
            self._raw.write(channel, mono_s, self._clock.utc(), data)
