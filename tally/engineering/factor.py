"""A factor on a volume that is known only by its likely value and how far it may stray: the hole's, the meter's, both.

Factors are lognormal: never negative, and in logarithms they add. A spread is half the width of the central 80 % range.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

from tally.engineering._check import finite, not_negative, positive

Z_80 = 1.2815515655  # the standard normal deviate with 10 % above it


@dataclass(frozen=True, slots=True)
class Factor:
    """A positive factor [-] on a volume: its median and half the width of its central 80 % range."""

    median: float
    spread: float = 0.0

    def __post_init__(self) -> None:
        positive("median", self.median)
        not_negative("spread", self.spread)

    @property
    def sigma(self) -> float:
        """Standard deviation of its logarithm [-]."""
        return math.asinh(self.spread / self.median) / Z_80

    @property
    def low(self) -> float:
        """The value [-] that 10 % lie under."""
        return self.at(-Z_80)

    @property
    def likely(self) -> float:
        """The median [-]."""
        return self.median

    @property
    def high(self) -> float:
        """The value [-] that 10 % lie over."""
        return self.at(Z_80)

    def at(self, deviate: float) -> float:
        """The value [-] at a standard normal deviate [-]."""
        return self.median * math.exp(deviate * self.sigma) if self.spread else self.median

    @classmethod
    def of_sigma(cls, median: float, sigma: float) -> "Factor":
        """The factor [-] of a median and the standard deviation of its logarithm."""
        return cls(median, median * math.sinh(Z_80 * sigma))


def meter_factor(meter_tolerance: float) -> Factor:
    """What a meter reads over what passed it: around 1, with its tolerance as spread.

    meter_tolerance [-], half the central 80 % range, 0 or more and under 1.
    Source: common practice. Raises ValueError outside the range.
    """
    if not 0.0 <= finite("meter_tolerance", meter_tolerance) < 1.0:
        raise ValueError(f"meter_tolerance = {meter_tolerance!r}: must be 0 or more and less than 1 (0.02 is 2 %)")
    return Factor(1.0, meter_tolerance)


@lru_cache(maxsize=64)
def combined(factor: Factor, meter_tolerance: float) -> Factor:
    """The factor of metered over theoretical volume: the hole's and the meter's spread together.

    factor [-]; meter_tolerance [-], half the meter's central 80 % range, 0 or more and under 1.
    Source: variances of independent logarithms add (common practice). Raises ValueError outside the range.
    """
    return widened(factor, meter_factor(meter_tolerance).spread)


def widened(factor: Factor, spread: float) -> Factor:
    """A factor times an independent one around 1.

    factor [-]; spread [-], half the central 80 % range of the other, 0 or more.
    Source: variances of independent logarithms add (common practice). Raises ValueError outside the range.
    """
    other = Factor(1.0, spread)
    return Factor.of_sigma(factor.median, math.hypot(factor.sigma, other.sigma)) if spread else factor


def blended(prior: Factor, measured: Factor) -> Factor:
    """Two estimates of one factor, weighted by their precision in logs; one without spread stands alone.

    prior [-]; measured [-].
    Source: the product of two normal densities (common practice). Raises ValueError when neither has spread and they
    differ.
    """
    if measured.spread == 0.0:
        if prior.spread == 0.0 and prior.median != measured.median:
            raise ValueError(
                f"measured = {measured.median!r}: contradicts prior = {prior.median!r}; one must have a spread"
            )
        return measured
    if prior.spread == 0.0:
        return prior
    weight_prior, weight_measured = prior.sigma**-2, measured.sigma**-2
    weight = weight_prior + weight_measured
    log_median = (weight_prior * math.log(prior.median) + weight_measured * math.log(measured.median)) / weight
    return Factor.of_sigma(math.exp(log_median), weight**-0.5)
