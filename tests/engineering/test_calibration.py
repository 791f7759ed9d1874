"""The stated 80 % range holds the truth about 80 % of the time, over many random holes, with and without tags.

1,500 holes leave a standard error of one percentage point. The seed is fixed, so that the figures are repeatable.
"""

import random

import pytest

from tally.engineering.placement import Factor, top_range, top_range_after_tag
from tests.engineering.truth import DEPTH_M, MIDDLE, THEORY, Job, World, job

HOLES = 1500
PRIOR = Factor(1.15, 0.15)
METER = 0.02
TAG_M = DEPTH_M / 2


def coverage(world: World, *, tagged: bool) -> float:
    """Share of holes whose true top lies in the stated range."""
    chance = random.Random(20)
    held = _held_after_tag if tagged else _held
    return sum(held(job(world, chance)) for _ in range(HOLES)) / HOLES


def _held(true: Job) -> bool:
    """Half the theoretical annulus is pumped from the bottom."""
    out = 0.5 * THEORY.volume_m3(0, DEPTH_M)
    found = top_range(profile=THEORY, bottom_m=DEPTH_M, grout_out_m3=out, factor=PRIOR, meter_tolerance=METER)
    return found.high_m <= true.true_top_m(2 * MIDDLE, out) <= found.low_m


def _held_after_tag(true: Job) -> bool:
    """The grout is tagged where the rock changes, and most of the upper annulus is pumped after it."""
    at_tag = true.metered_m3(MIDDLE, 2 * MIDDLE)
    since = 0.75 * THEORY.volume_m3(0, TAG_M)
    found = top_range_after_tag(
        profile=THEORY,
        bottom_m=DEPTH_M,
        tag_depth_m=TAG_M,
        out_at_tag_m3=at_tag,
        grout_out_m3=at_tag + since,
        prior=PRIOR,
        meter_tolerance=METER,
    )
    return found.high_m <= true.true_top_m(MIDDLE, since) <= found.low_m


@pytest.mark.parametrize(
    ("world", "tagged"),
    [
        (World(), False),
        (World(halves=0.10), True),
        # Rough along the length: spread and resemblance speak of stretches of tens of metres, so that what roughness
        # leaves of itself in their means is a part of both, and the rest of each is smaller by as much.
        (World(hole=0.14, roughness=0.10), False),
        (World(hole=0.14, halves=0.07, roughness=0.10), True),
    ],
)
def test_the_range_holds_the_truth_as_often_as_it_says(world: World, tagged: bool) -> None:
    assert 0.75 <= coverage(world, tagged=tagged) <= 0.85


@pytest.mark.parametrize(
    ("world", "tagged", "share"),
    [
        # A hole twice as uncertain as the plan says: far too narrow without a tag, partly mended by one.
        (World(hole=0.30), False, 0.50),
        (World(hole=0.30, halves=0.10), True, 0.63),
        # Halves that both depart from a common rock, rather than one from the other.
        (World(hole=0.13, halves=0.10, alike=True), True, 0.76),
        # Rock above that resembles rock below half as well as assumed.
        (World(halves=0.20), True, 0.57),
        # A meter out by three times its tolerance: mostly hidden by the hole's own spread, and cancelled by a tag.
        (World(meter=0.06), False, 0.77),
        (World(meter=0.06, halves=0.10), True, 0.80),
        # Roughness of ± 20 % on top of all that the plan allows for: a tag then says less than it seems to.
        (World(roughness=0.20), False, 0.71),
        (World(roughness=0.20, halves=0.10), True, 0.52),
    ],
)
def test_pinned_coverage_under_a_wrong_model(world: World, tagged: bool, share: float) -> None:
    assert coverage(world, tagged=tagged) == pytest.approx(share, abs=0.03)
