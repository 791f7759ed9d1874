"""From a command given to the first painted screen, and to the one to work on, on a terminal of its own.

The bare app, which imports pydantic too, and every command run in turn, each in a fresh process, so that a busy moment
falls on all of them.
"""

import fcntl
import os
import pty
import re
import select
import statistics
import struct
import subprocess
import sys
import tempfile
import termios
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from tally.planfile import example
from tests.bench import paper
from tests.bench.row import Bench, Row
from tests.live.terminal import ROOT, environment

BARE = """
import pydantic
from textual.app import App
from textual.widgets import Static
class Bare(App):
    def compose(self):
        yield Static("bare frame")
Bare().run()
"""
TURNS = 7
DEADLINE_S = 60.0
MOST = 1.5
WORKING = "SHOE DEPTH|PUMPED"
_SEQUENCE = re.compile(rb"\x1b\[[0-?]*[ -/]*[@-~]|\x1b[()][0-9A-B]|\x1b[=>78]")


@dataclass(frozen=True, slots=True)
class Command:
    """What is measured: its name, what is run, and a pattern of each screen that is waited for."""

    name: str
    arguments: tuple[str, ...]
    screens: tuple[str, ...]


def _commands(home: Path) -> list[Command]:
    (home / "plan.toml").write_text(example(), encoding="utf-8")
    day = (ROOT / "demo_sessions" / "one-clean-day" / "session.jsonl").read_bytes()
    (home / "whole.jsonl").write_bytes(day)
    lines = day.splitlines(keepends=True)
    (home / "open.jsonl").write_bytes(b"".join(lines[: len(lines) // 2]))
    tally = ("-m", "tally")
    return [
        Command("tally", tally, ("which job",)),
        Command("tally demo", (*tally, "demo"), ("not recording yet", WORKING)),
        Command("tally run PLAN", (*tally, "run", "plan.toml"), ("not recording yet", WORKING)),
        Command("tally run SESSION", (*tally, "run", "open.jsonl"), ("not recording yet", WORKING)),
        Command("tally replay SESSION", (*tally, "replay", "whole.jsonl"), ("REPLAY", WORKING)),
        Command("tally watch SESSION", (*tally, "watch", "whole.jsonl"), ("WATCHING", WORKING)),
    ]


def painted_s(home: Path, command: Command) -> list[float]:
    """When each of the command's screens had come out of the program, in seconds from its start."""
    master, slave = pty.openpty()
    fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    compiled = environment(home)
    del compiled["PYTHONDONTWRITEBYTECODE"]  # as it is on every start but the very first
    begun_s = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, *command.arguments], stdin=slave, stdout=slave, stderr=slave, cwd=home, env=compiled,
        start_new_session=True,
    )  # fmt: skip
    os.close(slave)
    try:
        return list(_seen(master, begun_s, command))
    finally:
        process.terminate()
        process.wait()
        os.close(master)


def _seen(master: int, begun_s: float, command: Command) -> Iterator[float]:
    written = b""
    for screen in command.screens:
        while not re.search(screen, _SEQUENCE.sub(b"", written).decode("utf-8", "replace")):
            ready, _, _ = select.select([master], [], [], DEADLINE_S)
            assert ready, f"{command.name} did not paint {screen} within {DEADLINE_S} s"
            written += os.read(master, 65_536)
        yield time.perf_counter() - begun_s


def _medians(runs: Sequence[Sequence[float]]) -> list[float]:
    return [statistics.median(of_screen) for of_screen in zip(*runs, strict=True)]


def painting() -> Iterator[Row]:
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        bare = Command("bare", ("-c", BARE), ("bare frame",))
        commands = _commands(home)
        runs: dict[str, list[list[float]]] = {command.name: [] for command in (bare, *commands)}
        for turn in range(TURNS + 1):
            for command in (bare, *commands):
                spent = painted_s(home, command)
                if turn:  # the first of each is not counted
                    runs[command.name].append(spent)
    (baseline_s,) = _medians(runs[bare.name])
    for command in commands:
        first_s, *then = _medians(runs[command.name])
        yield Row(f"{command.name}, first screen / bare Textual", first_s, baseline_s, MOST)
        for working_s in then:
            yield Row(f"{command.name}, working screen / the same", working_s, baseline_s)


BENCHES: dict[str, Bench] = {"start": painting, **paper.BENCHES}
