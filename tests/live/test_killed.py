"""Killed without warning, again and again, while a meter runs: every entry that was answered as saved is there."""

import os
import random
import signal
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from tally.job import events as ev
from tally.live.loading import load
from tally.meters.simulator_process import SimulatorProcess
from tests.live.terminal import ROOT
from tests.meters.support import wait_until

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and SIGKILL")


class Victim:
    """The program of `tests.live.killed`, and what it printed."""

    def __init__(self, folder: Path, port: str) -> None:
        self.printed: list[str] = []
        self._child = 0
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.live.killed", str(folder), port],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT,
        )  # fmt: skip
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        assert self._process.stdout is not None
        for line in self._process.stdout:
            self.printed.append(line.rstrip("\n"))

    def round(self, words: str, least: int, *, heard: bool) -> dict[int, str]:
        """Starts a recorder, kills it once it has answered `least` notes and heard its meter; what it had answered."""
        assert self._process.stdin is not None
        begun = len(self.printed)
        self._process.stdin.write(words + "\n")
        self._process.stdin.flush()
        assert wait_until(lambda: len(self.printed) > begun + least, 60.0), self.printed[begun:]
        self._child = int(next(line for line in self.printed[begun:] if line.startswith("pid ")).split()[1])
        assert not heard or wait_until(lambda: "heard" in self.printed[begun:], 60.0), self.printed[begun:]
        self._kill()
        assert wait_until(lambda: self.printed[-1] == "ended", 20.0), self.printed[-3:]
        answers = [line.partition(" ") for line in self.printed[begun:] if line[:1].isdigit()]
        return {int(number): text for number, _, text in answers}

    def _kill(self) -> None:
        if self._child:
            os.kill(self._child, signal.SIGKILL)
            self._child = 0

    def end(self) -> None:
        self._kill()
        assert self._process.stdin is not None
        self._process.stdin.close()
        self._process.wait(20.0)


def killed(folder: Path, rounds: int) -> None:
    chance = random.Random(11)
    answered: dict[int, str] = {}
    before = b""
    with SimulatorProcess("--listen", "127.0.0.1:0", "--speed", "20", "--start-total", "731.25") as meter:
        meter.command("rate 60")
        victim = Victim(folder, meter.port)
        try:
            for number in range(rounds):
                answered |= victim.round(f"round {number}", chance.choice([1, 2, 5, 20]), heard=number % 3 < 2)
                (path,) = folder.glob("*.jsonl")
                data = path.read_bytes()
                assert data.startswith(before), "what was there before is never touched"
                before = data[: data.rfind(b"\n") + 1]
        finally:
            victim.end()
    day = load(path)
    assert day.problems == ()
    notes = {entry.number: entry.event.text for entry in day.entries if isinstance(entry.event, ev.NoteWritten)}
    assert notes.items() >= answered.items()
    assert len(notes) <= len(answered) + rounds  # one at most was under way at each kill
    totals = [
        total
        for entry in day.entries
        if isinstance(entry.event, ev.Heartbeat)
        for samples in entry.event.samples
        for total in samples.values
    ]
    assert totals == sorted(totals) and len(totals) > rounds / 2
    assert sum(isinstance(entry.event, ev.SessionResumed) for entry in day.entries) == rounds - 1


def test_killed_five_times_with_a_meter_running(tmp_path: Path) -> None:
    killed(tmp_path, 5)


@pytest.mark.long
def test_killed_three_hundred_times_with_a_meter_running(tmp_path: Path) -> None:
    killed(tmp_path, 300)
