"""Saving, opening and checking a session."""

import hashlib
import json
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

from tally.job import events as ev
from tally.job import fold
from tally.job.events import Entry, decoded, encoded
from tally.job.intents import WriteNote
from tally.live.clock import SystemClock
from tally.live.session import Session
from tally.record.reader import read
from tally.record.verify import verify
from tally.record.writer import Writer
from tests.bench.row import Bench, Row, in_turn_s
from tests.scenario import Day, grouting_day, plan

HOURS = 1
HERTZ = 10


def saving() -> Iterator[Row]:
    """An operator's entry, decided, saved and applied, against the bare system calls on the same file system."""
    with tempfile.TemporaryDirectory(dir=".") as folder:
        session = Session.opened(plan(meter=None), Path(folder), SystemClock(), lambda *_: None)
        bare = os.open(Path(folder) / "bare", os.O_RDWR | os.O_APPEND | os.O_CREAT)
        line = b"x" * 300 + b"\n"

        def write() -> None:
            os.write(bare, line)
            os.fsync(bare)

        ours_s, baseline_s = in_turn_s(lambda: session.enter(WriteNote("rain")), write, 200)
        session.close()
        os.close(bare)
    yield Row("saving an entry / write + fsync", ours_s, baseline_s, 2.0)


def _long_session(folder: Path) -> tuple[Path, int]:
    """A session of `HOURS` with readings ten times a second; its path and the number of readings."""
    day: Day = grouting_day(alarms=False)
    path = folder / "long.jsonl"
    writer = Writer.create(path, encoded(day.entries[0]), fsync=lambda _: None)
    for entry in day.entries[1:]:
        writer.append(encoded(entry))
    number, readings = len(day.entries), 0
    for second in range(HOURS * 3600):
        values = tuple(round(1.0 + (second + tenth / HERTZ) * 1e-4, 6) for tenth in range(HERTZ))
        beat = ev.Heartbeat(
            samples=(
                ev.Samples(
                    channel="grout",
                    quantity="total_m3",
                    before_s=tuple(round(1 - tenth / HERTZ, 1) for tenth in range(HERTZ)),
                    values=values,
                ),
            )
        )
        number, readings = number + 1, readings + HERTZ
        at, mono_s = day.at, day.mono_s + second
        writer.append(encoded(Entry(number=number, at=at, mono_s=mono_s, who=day.who, event=beat)))
    writer.close()
    return path, readings


def opening() -> Iterator[Row]:
    with tempfile.TemporaryDirectory(dir=".") as folder:
        path, readings = _long_session(Path(folder))
        lines = [json.dumps({"t": number / HERTZ, "total_m3": 1.0 + number * 1e-5}) for number in range(readings)]

        def fold_it() -> None:
            fold.folded(decoded(line.body) for line in read(path).lines)

        ours_s, baseline_s = in_turn_s(fold_it, lambda: [json.loads(line) for line in lines], 5)
        yield Row(f"open and fold {readings:,} readings / json.loads of each", ours_s, baseline_s, 0.5)
        data = path.read_bytes()
        ours_s, baseline_s = in_turn_s(lambda: verify(path), lambda: hashlib.sha256(data).digest(), 5)
        yield Row(f"check {len(data) / 1e6:.1f} MB / sha256 of the same bytes", ours_s, baseline_s)


BENCHES: dict[str, Bench] = {"saving": saving, "opening": opening}
