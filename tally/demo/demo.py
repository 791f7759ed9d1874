"""Sets the demonstration up and takes it down: plan, simulated meter in its own process, recorder, crew."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from importlib import resources
from pathlib import Path

from tally.demo.crew import DemoFeed
from tally.job.plan import Plan
from tally.live.clock import FastClock
from tally.live.instruments import grout_meter
from tally.live.recorder import Recorder
from tally.meters.simulator_process import SimulatorProcess
from tally.planfile import read_text


def plan_text() -> str:
    """The demonstration's plan file, as a person would write it."""
    return resources.files("tally.demo").joinpath("plan.toml").read_text(encoding="utf-8")


def plan() -> Plan:
    found = read_text(plan_text(), "the demonstration's plan.toml")
    if isinstance(found, list):
        raise AssertionError("; ".join(map(str, found)))
    return found


@contextmanager
def demonstration(
    folder: Path, speed: float, touching: Callable[[], AbstractContextManager[None]] = nullcontext
) -> Iterator[tuple[Recorder, DemoFeed]]:
    """A job under way at `speed` times the wall, recorded in `folder`. `touching` goes round the opening of the
    session, and may keep it from being opened by raising something of its own."""
    # A pseudo-terminal is a real device node; where the system has none, a port on this machine does.
    where = ("--pty",) if os.name == "posix" else ("--listen", "127.0.0.1:0")
    meter = SimulatorProcess(*where, "--speed", f"{speed:g}", "--start-total", "1204.5", "--rate-noise", "0.02")
    meter.launch()  # it starts while the plan is read
    try:
        planned = plan()
        assert planned.meter is not None
        job = planned.model_copy(update={"meter": planned.meter.model_copy(update={"port": meter.start()})})
        with touching():
            recorder = Recorder.opened(job, folder, FastClock(speed), grout_meter)
        feed = DemoFeed(recorder, meter, speed)
        recorder.start()
        feed.start()
        try:
            yield recorder, feed
        finally:
            feed.stop()
            recorder.stop()
    finally:
        meter.stop()
