"""Going to any moment of a replay, and what a session ten times as long costs: `python -m tests.bench seek`."""

import random
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

from tally.job import events as ev
from tally.job.coding import encoded
from tally.job.events import Entry
from tally.live.loading import shelved
from tally.live.player import Player
from tally.record.writer import Writer
from tests.bench.row import Bench, Row, Size, median_s
from tests.scenario import grouting_day

ROOT = Path(__file__).resolve().parents[2]
HOURS, HERTZ = 12, 10
SEEKS = 60
MEMORY = """
import resource, sys
from pathlib import Path
from tally.live.loading import shelved
from tally.live.player import Player
loaded = shelved(Path(sys.argv[1]))
player = Player(loaded.entries, survey=loaded.survey)
player.to_end()
for share in (0.1, 0.9, 0.5, 0.0, 0.999):
    player.seek_share(share)
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def long_session(path: Path, hours: int) -> Path:
    """A session of `hours` with its meter read ten times a second, an entry every five minutes."""
    day = grouting_day()
    writer = Writer.create(path, encoded(day.entries[0]), fsync=lambda _: None)
    for entry in day.entries[1:]:
        writer.append(encoded(entry))
    number, before_s = len(day.entries), tuple(round(1 - tenth / HERTZ, 1) for tenth in range(HERTZ))
    for second in range(hours * 3600):
        values = tuple(round((second + tenth / HERTZ) * 1e-5, 6) for tenth in range(HERTZ))
        samples = ev.Samples(channel="grout", quantity="total_m3", before_s=before_s, values=values)
        event: ev.AnyEvent = ev.Heartbeat(samples=(samples,))
        if second % 300 == 299:
            event = ev.NoteWritten(text="five minutes more")
        number += 1
        at, mono_s = day.at + timedelta(seconds=second), day.mono_s + second
        writer.append(encoded(Entry(number=number, at=at, mono_s=mono_s, who=day.who, event=event)))
    writer.close()
    return path


def seeking() -> Iterator[Row]:
    """Once opened, to sixty random moments of twelve hours: the median and the slowest against 50 ms."""
    with tempfile.TemporaryDirectory(dir=".") as folder:
        loaded = shelved(long_session(Path(folder) / "day.jsonl", HOURS))
        player = Player(loaded.entries, survey=loaded.survey)
        player.to_end()
        rng = random.Random(5)
        spent = []
        for _ in range(SEEKS):
            share = rng.random()
            player.seek_share(rng.random())
            spent.append(median_s(lambda share=share: _there_and_away(player, share), 1))  # type: ignore[misc]
        spent.sort()
        yield Row(f"seek in {player.count:,} entries, median / 50 ms", spent[len(spent) // 2] / 2, 0.05, 1.0)
        yield Row(f"seek in {player.count:,} entries, slowest / 50 ms", spent[-1] / 2, 0.05, 1.0)


def _there_and_away(player: Player, share: float) -> None:
    player.seek_share(share)
    player.seek_share((share + 0.5) % 1.0)


def remembering() -> Iterator[Size]:
    """Peak memory of a replay: ten times the session may cost 20 MB more."""
    peaks = []
    for hours in (HOURS, 10 * HOURS):
        with tempfile.TemporaryDirectory(dir=".") as folder:
            path = long_session(Path(folder) / "day.jsonl", hours)
            done = subprocess.run([sys.executable, "-c", MEMORY, str(path)], capture_output=True, text=True, check=True,
                                  cwd=ROOT)  # fmt: skip
            peaks.append(int(done.stdout) / 1024)
    yield Size(f"replay of {10 * HOURS} h / of {HOURS} h", peaks[1], peaks[0], 20.0)


BENCHES: dict[str, Bench] = {"seek": seeking, "replay-memory": remembering}
