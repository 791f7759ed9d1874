"""Many small invented sessions, written as lines: a casing run, a stage, a tag that tells how much grout was lost."""

import math
import random
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from tally.job import events as ev
from tally.job.coding import encoded
from tally.job.events import Entry
from tests.record.sessions import chained
from tests.scenario import JOINT_M, JOINTS, plan

ANNULUS_M2 = math.pi / 4 * (0.250**2 - 0.168275**2)
ALLOWANCE = 0.15
LINE_M3 = 0.040
RIGS = ("Rig A", "Rig B", "Rig C")
FIRST = datetime(2026, 1, 5, 8, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Given:
    """What the generator put into a session."""

    rig: str
    at: datetime
    tag_m: float
    lost_m3: float

    @property
    def pumped_m3(self) -> float:
        """Line, annulus below the tag with its allowance, and what was lost."""
        return LINE_M3 + ANNULUS_M2 * (60.0 - self.tag_m) * (1 + ALLOWANCE) + self.lost_m3


def given(count: int, seed: int = 7) -> list[Given]:
    """Over a year, by three rigs; a third of them lost nothing."""
    rng = random.Random(seed)
    found = []
    for number in range(count):
        lost_m3 = rng.choice([0.0, rng.uniform(0.02, 0.6), rng.uniform(0.02, 0.3)])
        at = FIRST + timedelta(days=360.0 * number / count, seconds=number)
        found.append(Given(rng.choice(RIGS), at, rng.uniform(5.0, 40.0), lost_m3))
    return found


def write(folder: Path, of: Given, *, beats: int = 10) -> Path:
    """The session as a file. Its meter counts evenly over `beats` seconds."""
    path = folder / f"{of.at:%Y-%m-%d-%H%M%S}-{of.rig[-1].lower()}.jsonl"
    path.write_bytes(b"".join(chained(tuple(map(encoded, entries(of, beats))))))
    return path


def entries(of: Given, beats: int) -> Iterator[Entry]:
    for number, (event, after_s) in enumerate(_events(of, beats), start=1):
        at = of.at + timedelta(seconds=after_s)
        yield Entry(number=number, at=at, mono_s=100.0 + after_s, who="Driller A", event=event)


def _events(of: Given, beats: int) -> Iterator[tuple[ev.AnyEvent, float]]:
    opening = plan(crew={"rig": of.rig}, casing={"shoe": "float"})
    yield ev.SessionOpened(plan=opening, program="test", calculation=ev.CALCULATION, boot=f"run-{of.at:%j%H%M%S}"), 0.0
    for place in range(JOINTS):
        yield ev.JointAdded(length_m=JOINT_M, typed="5.05 m"), 60.0 * (place + 1)
    begun_s = 60.0 * JOINTS + 1
    yield ev.CasingLanded(on="rock"), begun_s
    yield ev.MeterChanged(channel="grout", condition="LIVE"), begun_s
    yield _beat(0.0), begun_s
    yield ev.StageStarted(stage=0, bottom_m=60.0, top_m=0.0), begun_s
    yield ev.BatchMixed(bags=40, water_m3=0.788, typed="40"), begun_s
    for second in range(1, beats + 1):
        yield _beat(of.pumped_m3 * second / beats), begun_s + second
    ended_s = begun_s + beats + 1
    yield ev.TopTagged(depth_m=of.tag_m, typed="by tape", lost=of.lost_m3 > 0), ended_s
    yield ev.StageEnded(outcome="left to set"), ended_s + 1
    yield ev.SessionClosed(), ended_s + 2


def _beat(total_m3: float) -> ev.Heartbeat:
    samples = ev.Samples(channel="grout", quantity="total_m3", before_s=(0.1,), values=(round(total_m3, 6),))
    return ev.Heartbeat(samples=(samples,))
