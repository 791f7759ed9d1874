"""The arithmetic that runs with every redraw, in processor time."""

import bisect
import math
import random
from collections.abc import Callable, Iterator
from functools import partial

from tally.engineering.hole import Profile, Segment
from tally.job import events as ev
from tally.job.alarms.due import due
from tally.job.order import Wanted, best
from tally.job.state import State
from tally.job.view.alarms import alarms, standing
from tally.job.view.casing import casing
from tally.job.view.grout import grout
from tally.job.view.header import header
from tally.job.view.hole import hole
from tally.screens.drawing import drawing
from tests.bench.row import CPU, Bench, Row, in_turn_s, median_s
from tests.scenario import Day, grouting_day, plan

POINTS = 10_000
LOOKS = 2_000


def depths() -> Iterator[Row]:
    """Depth for a volume in a hole logged at ten thousand depths, against one bisection of as many numbers."""
    rng = random.Random(3)
    widths = [rng.uniform(0.22, 0.30) for _ in range(POINTS + 1)]
    step_m = 100.0 / POINTS
    profile = Profile.compile([Segment(i * step_m, (i + 1) * step_m, widths[i], widths[i + 1]) for i in range(POINTS)])
    whole_m3 = profile.volume_m3(0.0, 100.0)
    volumes = [rng.uniform(0.0, whole_m3) for _ in range(LOOKS)]
    numbers = sorted(volumes * (POINTS // LOOKS))
    ours_s, baseline_s = in_turn_s(
        lambda: [profile.top_of_fill_m(100.0, volume) for volume in volumes],
        lambda: [bisect.bisect(numbers, volume) for volume in volumes],
        25,
        CPU,
    )
    yield Row("depth for a volume, 10,000 points / one bisect", ours_s / LOOKS, baseline_s / LOOKS, 20.0)


def logged_day() -> Day:
    """Sixty joints landed in a hole logged at ten thousand depths and with two zones; the tremie has been pulled, the
    top tagged, and half of the grout is in: as much to work out as a screen ever has."""
    step_m, drawn = 300.0 / POINTS, random.Random(7)
    log = [
        {"depth_m": step_m * i, "diameter_m": 0.25 + 0.02 * math.sin(i / 90.0) + drawn.uniform(0.0, 0.02)}
        for i in range(POINTS)
    ]
    zones = [
        {"top_m": top_m, "bottom_m": top_m + 4.0, "kind": kind} for top_m, kind in ((80.0, "void"), (160.0, "loss"))
    ]
    day = Day(
        plan(
            hole={
                "sections": [{"top_m": 0.0, "bottom_m": 300.0, "diameter_m": 0.250}],
                "log": log,
                "zones": zones,
                "drinks_water": None,
            },
            casing={"target_shoe_depth_m": 299.0, "rack_m": [5.0] * 60},
            tremie={"sections": 100},
            stages=[{"name": "all", "bottom_m": 300.0, "top_m": 0.0, "mix": "neat", "method": "tremie"}],
            aboard={"bags": 500, "water_m3": 12.0},
        ),
        alarms=True,
    )
    day.joints([5.0] * 60)
    day.record(ev.CutOffMade(length_m=0.2, typed="0.2 m"))
    day.landed()
    day.metered()
    day.tremie(297.0)
    day.stage(0, bottom_m=300.0, top_m=0.0)
    for _ in range(10):
        day.batch(20)
        day.pump(0.6, seconds=60)
    day.tag(140.0)
    day.tremie(210.0)
    day.pump(0.1, seconds=5)
    return day


def views() -> Iterator[Row]:
    """All that a tick works out, as a share of the second that it has (the baseline is that second)."""
    small = grouting_day(alarms=True)
    small.tremie(57.0)
    small.batch(10)
    small.pump(0.7, seconds=60)
    large = logged_day()
    for name, state in (("12 joints", small.state), (f"60 joints, {POINTS:,} log points", large.state)):
        yield Row(f"every view, {name} / a second", median_s(partial(_looked, state), 50, CPU), 1.0, 0.005)
        yield Row(f"alarm rules, {name} / a second", median_s(partial(due, state), 50, CPU), 1.0, 0.005)
    tips_m = iter([100.0 + 0.37 * number for number in range(100)])

    def after_a_pull() -> None:
        large.tremie(next(tips_m))
        _looked(large.state)

    yield Row("tremie moved, its alarms, every view / a second", median_s(after_a_pull, 30, CPU), 1.0, 0.01)


def _looked(state: State) -> None:
    """Every view that a screen draws of one state, and the hole's drawing as text."""
    looks: tuple[Callable[[State], object], ...] = (header, casing, grout, alarms, standing)
    for look in looks:
        look(state)
    drawing(hole(state), 40, 40, "metric")


def landing() -> Iterator[Row]:
    """Forty joints taped to the millimetre, welds kept clear in two places (the baseline is the second wanted)."""
    rack_m = [5.8 + (place * 7919 % 83) / 1000 for place in range(40)]
    need_mm = round(sum(rack_m[:38]) * 1000) - 900
    barred = (need_mm - 8_800, need_mm - 7_600), (need_mm - 1_000, need_mm)
    wanted = Wanted(0.3, 0.002, need_mm, need_mm + 100, barred)
    yield Row("order of forty joints / one second", median_s(lambda: best(rack_m, wanted), 5, CPU), 1.0, 1.0)


BENCHES: dict[str, Bench] = {"landing": landing, "depths": depths, "views": views}
