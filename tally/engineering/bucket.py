"""A meter against a bucket of known volume: its factor, how far its runs stray, and what that means for its volumes."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tally.engineering._check import finite, not_negative, positive

SPREAD_LIMIT = 0.01
"""Largest less smallest factor over their mean: common practice for a bucket test of a working meter."""


@dataclass(frozen=True, slots=True)
class BucketTest:
    """Runs of one meter: for each what it counted over what was in the bucket [1/m3 for pulses, else 1]."""

    factors: tuple[float, ...]

    @property
    def mean(self) -> float:
        """The meter's factor: K for a pulse counter [1/m3], shown over true volume for a totaliser [-]."""
        return math.fsum(self.factors) / len(self.factors)

    @property
    def deviation(self) -> float:
        """Sample standard deviation of the factors, in their unit; with n - 1, since the mean is their own."""
        mean = self.mean
        return math.sqrt(math.fsum((factor - mean) ** 2 for factor in self.factors) / (len(self.factors) - 1))

    @property
    def spread(self) -> float:
        """Largest less smallest factor over the mean [-]."""
        return (max(self.factors) - min(self.factors)) / self.mean

    @property
    def mean_error(self) -> float:
        """Half the 95 % interval of the mean, over the mean [-]: t times the deviation over the root of the runs."""
        runs = len(self.factors)
        return t_deviate(0.975, runs - 1) * self.deviation / math.sqrt(runs) / self.mean

    @property
    def next_error(self) -> float:
        """Half the range in which 80 % of further runs lie, over the mean [-]."""
        runs = len(self.factors)
        return t_deviate(0.9, runs - 1) * self.deviation * math.sqrt(1.0 + 1.0 / runs) / self.mean


def bucket_test(counted: Sequence[float], true_m3: Sequence[float]) -> BucketTest:
    """The factors of several runs.

    counted: pulses or metered volume, each more than 0; true_m3 [m3], in the bucket, each more than 0; as many of one
    as of the other, at least two.
    Source: K = pulses over volume (definition). Raises ValueError outside the range.
    """
    if len(counted) != len(true_m3) or len(counted) < 2:
        raise ValueError(
            f"counted = {len(counted)} runs, true_m3 = {len(true_m3)}: must be as many of each, two at least"
        )
    return BucketTest(
        tuple(
            positive(f"counted[{run}]", pulses) / positive(f"true_m3[{run}]", volume_m3)
            for run, (pulses, volume_m3) in enumerate(zip(counted, true_m3, strict=True))
        )
    )


def tolerance(test: BucketTest, bucket_error: float) -> float:
    """What a volume measured with this factor may be off: half its central 80 % range, as a plan's meter tolerance.

    test; bucket_error [-], half the central 80 % range of the bucket's own volume, 0 or more. Returns [-].
    Source: prediction interval of one more run (Student's t), the bucket's error added in squares (common practice).
    Raises ValueError outside the range.
    """
    return math.hypot(test.next_error, not_negative("bucket_error", bucket_error))


def t_deviate(probability: float, freedom: int) -> float:
    """The deviate of Student's t distribution that has `probability` below it.

    probability [-], at least 0.5 and under 1; freedom, degrees of freedom, 1 or more. Returns [-].
    Source: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.3 and 26.7.4 (from memory), solved by
    bisection. Raises ValueError outside the range.
    """
    if not 0.5 <= finite("probability", probability) < 1.0:
        raise ValueError(f"probability = {probability!r}: must be at least 0.5 and less than 1")
    if freedom < 1:
        raise ValueError(f"freedom = {freedom!r}: must be 1 or more")
    low, high = 0.0, math.pi / 2  # the angle whose tangent is t over the root of the freedom
    for _ in range(80):
        angle = (low + high) / 2
        low, high = (angle, high) if _central(angle, freedom) < 2.0 * probability - 1.0 else (low, angle)
    return math.tan((low + high) / 2) * math.sqrt(freedom)


def _central(angle: float, freedom: int) -> float:
    """The chance that t lies between plus and minus the root of `freedom` times the tangent of `angle`."""
    sine, cosine_squared = math.sin(angle), math.cos(angle) ** 2
    odd = freedom % 2
    term = math.cos(angle) if odd else 1.0
    total = 0.0 if freedom == 1 else term
    for number in range(3 if odd else 2, freedom - 1, 2):
        term *= cosine_squared * (number - 1) / number
        total += term
    return (angle + sine * total) * 2.0 / math.pi if odd else sine * total
