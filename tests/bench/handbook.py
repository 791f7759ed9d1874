"""The arithmetic that runs with every redraw."""

import bisect
import random
from collections.abc import Iterator

from tally.engineering.hole import Profile, Segment
from tally.job.alarms.due import due
from tally.job.order import Wanted, best
from tally.job.view.alarms import alarms
from tally.job.view.casing import casing
from tally.job.view.grout import grout
from tally.job.view.header import header
from tally.job.view.hole import hole
from tests.bench.row import Bench, Row, in_turn_s, median_s
from tests.scenario import grouting_day

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
        9,
    )
    yield Row("depth for a volume, 10,000 points / one bisect", ours_s / LOOKS, baseline_s / LOOKS, 20.0)


def views() -> Iterator[Row]:
    """All that a tick works out, as a share of the second that it has (the baseline is that second)."""
    day = grouting_day(alarms=True)
    day.tremie(57.0)
    day.batch(10)
    day.pump(0.7, seconds=60)
    state = day.state
    looked = (header, casing, grout, hole, alarms)
    yield Row("all views of one state / one second", median_s(lambda: [look(state) for look in looked], 50), 1.0, 0.005)
    yield Row("alarm rules on one state / one second", median_s(lambda: due(state), 50), 1.0, 0.005)


def landing() -> Iterator[Row]:
    """Forty joints taped to the millimetre, welds kept clear in two places (the baseline is the second wanted)."""
    rack_m = [5.8 + (place * 7919 % 83) / 1000 for place in range(40)]
    need_mm = round(sum(rack_m[:38]) * 1000) - 900
    barred = (need_mm - 8_800, need_mm - 7_600), (need_mm - 1_000, need_mm)
    wanted = Wanted(0.3, 0.002, need_mm, need_mm + 100, barred)
    yield Row("order of forty joints / one second", median_s(lambda: best(rack_m, wanted), 5), 1.0, 1.0)


BENCHES: dict[str, Bench] = {"landing": landing, "depths": depths, "views": views}
