"""Saving, opening and checking a session."""

import hashlib
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from functools import partial
from pathlib import Path

from tally.job import events as ev
from tally.job.coding import encoded
from tally.job.events import Entry
from tally.job.intents import WriteNote
from tally.live.clock import SystemClock
from tally.live.loading import open_session
from tally.live.session import Session
from tally.record.verify import verify
from tally.record.writer import Writer
from tests.bench.row import CPU, Bench, Row, Size, in_turn_s
from tests.scenario import Day, grouting_day, plan

HERTZ = 10
HOURS = 12
"""A long day: 432,000 readings."""
ROOT = Path(__file__).resolve().parents[2]
MOST_CPU_S = 0.3e-3
LEAST_MB_S = 100.0


def saving() -> Iterator[Row]:
    """An operator's entry, decided, saved and applied, against the bare system calls on the same file system."""
    with tempfile.TemporaryDirectory(dir=".") as folder:
        session = Session.opened(plan(meter=None), Path(folder), SystemClock(), lambda *_: None)
        bare = os.open(Path(folder) / "bare", os.O_RDWR | os.O_APPEND | os.O_CREAT)
        line = b"x" * 300 + b"\n"

        def write() -> None:
            os.write(bare, line)
            os.fsync(bare)

        on = file_system(Path(folder))
        ours_s, baseline_s = in_turn_s(lambda: session.enter(WriteNote("rain")), write, 200)
        ours_cpu_s, write_cpu_s = in_turn_s(lambda: session.enter(WriteNote("rain")), write, 200, CPU)
        session.close()
        os.close(bare)
    yield Row(f"saving an entry / write + fsync ({on})", ours_s, baseline_s, 2.0)
    yield Row("its CPU time beside theirs / 0.3 ms", ours_cpu_s - write_cpu_s, MOST_CPU_S, 1.0)


def file_system(path: Path) -> str:
    """The kind of file system that `path` is on, as far as the system tells."""
    mounts = Path("/proc/mounts")
    if not mounts.exists():
        return "file system unknown"
    rows = [line.split() for line in mounts.read_text().splitlines()]
    return max((row[1], row[2]) for row in rows if path.resolve().is_relative_to(row[1]))[1]


def long_session(path: Path, hours: float) -> int:
    """A session with readings ten times a second in `path`; their number."""
    day: Day = grouting_day(alarms=False)
    writer = Writer.create(path, encoded(day.entries[0]), fsync=lambda _: None)
    for entry in day.entries[1:]:
        writer.append(encoded(entry))
    number, readings = len(day.entries), 0
    before_s = tuple(round(1 - tenth / HERTZ, 1) for tenth in range(HERTZ))
    for second in range(round(hours * 3600)):
        values = tuple(round(1.0 + (second + tenth / HERTZ) * 1e-4, 6) for tenth in range(HERTZ))
        samples = ev.Samples(channel="grout", quantity="total_m3", before_s=before_s, values=values)
        number, readings = number + 1, readings + HERTZ
        beat = ev.Heartbeat(samples=(samples,))
        writer.append(encoded(Entry(number=number, at=day.at, mono_s=day.mono_s + second, who=day.who, event=beat)))
    writer.close()
    return readings


def opening() -> Iterator[Row | Size]:
    """Twelve hours at ten readings a second: opened and folded, in a process of its own for the memory."""
    with tempfile.TemporaryDirectory(dir=".") as folder:
        path, tenth = Path(folder) / "long.jsonl", Path(folder) / "tenth.jsonl"
        readings = long_session(path, HOURS)
        long_session(tenth, HOURS / 10)
        lines = [json.dumps({"t": number / HERTZ, "total_m3": 1.0 + number * 1e-5}) for number in range(readings)]
        ours_s, baseline_s = in_turn_s(
            partial(open_session, path), lambda: [json.loads(line) for line in lines], 3, CPU
        )
        yield Row(f"open and fold {readings:,} readings / json.loads of each", ours_s, baseline_s, 0.5)
        long_s, short_s = in_turn_s(partial(open_session, path), partial(open_session, tenth), 3, CPU)
        yield Row("ten times the session / one", long_s, short_s, 11.0)
        bare_mb, long_mb, short_mb = peak_mb("pass"), peak_mb(OPEN, path), peak_mb(OPEN, tenth)
        yield Size("memory at most while opening it / bare interpreter", long_mb, bare_mb, 150.0)
        yield Size("the same / for a tenth of the session", long_mb, short_mb, 20.0)


OPEN = """
import sys
from pathlib import Path
from tally.live.loading import open_session
opened = open_session(Path(sys.argv[1]))
"""
PEAK = """
from pathlib import Path
print(next(line.split()[1] for line in Path("/proc/self/status").read_text().splitlines() if line.startswith("VmHWM")))
"""


def peak_mb(script: str, *arguments: Path) -> float:
    """The most memory that a process of its own had; `ru_maxrss` would count whoever started it."""
    done = subprocess.run(
        [sys.executable, "-c", script + PEAK, *map(str, arguments)], cwd=ROOT, check=True, capture_output=True
    )
    return int(done.stdout) * 1024 / 1e6


def checking() -> Iterator[Row]:
    """The digest chain alone, nothing parsed; by processor time, which a busy machine stretches less."""
    with tempfile.TemporaryDirectory(dir=".") as folder:
        path = Path(folder) / "long.jsonl"
        long_session(path, 2.0)
        data = path.read_bytes()
        ours_s, baseline_s = in_turn_s(partial(verify, path), lambda: hashlib.sha256(data).digest(), 7, CPU)
    size = f"{len(data) / 1e6:.1f} MB"
    yield Row(f"check {size} / at {LEAST_MB_S:g} MB/s", ours_s, len(data) / (LEAST_MB_S * 1e6), 1.0)
    yield Row(f"check {size} / one sha256 over the same bytes", ours_s, baseline_s)


BENCHES: dict[str, Bench] = {"saving": saving, "opening": opening, "checking": checking}
