"""What the screens cost: from a key to the paint, when nobody touches anything, and over ten hours."""

import asyncio
import os
import resource
import statistics
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from tally.meters.simulator_process import SimulatorProcess
from tally.screens.app import TallyApp
from tests.bench.row import Bench, Row
from tests.demo_sessions.build import plan as demo_plan
from tests.demo_sessions.stage_hand import StageHand
from tests.live.small_job import plan_text
from tests.live.terminal import Terminal

KEYS = 200
IDLE_S = 20.0
HOURS = 10
LETTERS = [
    chr(code) for code in (*range(0x410, 0x450), *range(0x391, 0x3A2), *range(0x3A3, 0x3CA), *range(0x531, 0x557))
]
"""Each stands nowhere else on the screen, so that its paint is known by its bytes."""


@contextmanager
def _recording(*simulator: str) -> Iterator[Terminal]:
    """The program on a terminal, recording, with a simulated meter."""
    with tempfile.TemporaryDirectory() as folder, SimulatorProcess("--pty", *simulator) as meter:
        home = Path(folder)
        file = home / "plan.toml"
        file.write_text(plan_text(meter.port), encoding="utf-8")
        with Terminal("run", str(file), "--folder", str(home / "sessions"), home=home) as terminal:
            assert terminal.shows("SHOE DEPTH")
            assert terminal.shows("meter")
            yield terminal


def key_to_paint() -> Iterator[Row]:
    """A letter typed into a note until its cells come out of the program; the 99th of a hundred."""
    with _recording("--hz", "1000") as terminal:
        terminal.keys("n")
        assert terminal.shows("Esc back")
        spent: list[float] = []
        for place in range(KEYS):
            letter = LETTERS[place % len(LETTERS)]
            terminal.forget()
            begun = time.perf_counter()
            terminal.keys(letter)
            while letter not in terminal.text:
                time.sleep(0.0005)
            spent.append(time.perf_counter() - begun)
            terminal.keys("\x7f")
            time.sleep(0.02)
    worst_s = statistics.quantiles(spent, n=100)[98]
    yield Row("key to paint with 1,000 meter lines a second, p99 / 50 ms", worst_s, 0.050, 1.0)


def _cpu_s(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def idle() -> Iterator[Row]:
    """A share of one core, while nobody touches anything and the meter sends a line a second."""
    for what, key, most in (("casing", "F2", 0.05), ("grout", "F3", 0.15)):
        with _recording("--hz", "1") as terminal:
            terminal.keys(key)
            time.sleep(3.0)
            begun_s, cpu_s = time.perf_counter(), _cpu_s(terminal.process.pid)
            time.sleep(IDLE_S)
            share = (_cpu_s(terminal.process.pid) - cpu_s) / (time.perf_counter() - begun_s)
            yield Row(f"CPU of an idle {what} screen / one core", share, 1.0, most)


def _resident_mb() -> float:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * resource.getpagesize() / 1e6


def soak() -> Iterator[Row]:
    """Ten hours of pumping, an entry now and then, drawn as they go; memory of the last hour over that of the first."""
    yield asyncio.run(_soaked())


async def _soaked() -> Row:
    with tempfile.TemporaryDirectory() as folder:
        hand = StageHand(
            demo_plan("lost-returns"), Path(folder), datetime(2026, 5, 19, 7, 5, tzinfo=UTC), seed=3, total_l=0.0
        )

        class Feed:
            @property
            def snapshot(self) -> object:
                return hand.session.snapshot

        app = TallyApp(Feed())  # type: ignore[arg-type]
        used_mb: list[float] = []
        async with app.run_test(size=(80, 24)) as pilot:
            await pilot.press("f3")
            hand.pump(2.0)
            for _hour in range(HOURS):
                for minute in range(60):
                    hand.wait(60)
                    if minute % 20 == 0:
                        hand.session.report("a trouble that passes")
                    app.tick()
                    await pilot.pause(0)
                used_mb.append(_resident_mb())
        hand.session.close()
    return Row("memory after ten hours less after one / 10 MB", max(used_mb[-1] - used_mb[0], 0.001), 10.0, 1.0)


BENCHES: dict[str, Bench] = {"key-to-paint": key_to_paint, "idle": idle}
LONG: dict[str, Bench] = {"soak": soak}
"""Run only when named: they take minutes."""
