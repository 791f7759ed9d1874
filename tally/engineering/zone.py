"""Known zones of a hole, and what a stretch with zones in it takes of grout.

The model. Rock and meter together are one lognormal factor, the same along the stretch. Each zone adds a lognormal
factor of its own around 1, independent of the rock and of other zones, on the theoretical volume over its own interval:
the likely volume stays, its range widens. The volume that a stretch takes is then a sum of parts whose deviations are
independent; they are added in squares, each side of the median by its own:

    taken(z) = m V + sign(z) sqrt( (m V)^2 (e^(z s) - 1)^2  +  sum of (m V_k)^2 (e^(z s_k) - 1)^2 )

with m and s the rock's median and deviation of the logarithm, V the theoretical volume of the stretch, V_k what of it
lies in zone k, s_k that zone's deviation, z the standard normal deviate (0 likely, -1.28 and 1.28 the ends of the
central 80 %). Exact where one part alone varies: no zone, or one zone in rock and by a meter without spread. Between,
an approximation whose coverage the tests hold. With no spread at all it is theory; with no zones, factor times theory.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import NormalDist

from tally.engineering._check import between, finite, not_negative
from tally.engineering.factor import Factor
from tally.engineering.hole import Profile

FARTHEST_DEVIATE = 8.0
"""Past it a chance is 0 or 1 to fifteen digits."""
HALVINGS = 64


@dataclass(frozen=True, slots=True)
class Zone:
    """A stretch between two depths [m] that may take more or less grout than the rock beside it; what lies outside the
    hole counts nothing.

    spread [-] is half the central 80 % range of its own factor around 1.
    """

    top_m: float
    bottom_m: float
    spread: float

    def __post_init__(self) -> None:
        finite("top_m", self.top_m)
        if finite("bottom_m", self.bottom_m) <= self.top_m:
            raise ValueError(f"bottom_m = {self.bottom_m!r}: must be deeper than its top_m = {self.top_m!r}")
        not_negative("spread", self.spread)

    @property
    def sigma(self) -> float:
        """Standard deviation of the logarithm of its own factor [-]."""
        return Factor(1.0, self.spread).sigma

    def shared_m3(self, profile: Profile, top_m: float, bottom_m: float) -> float:
        """Theoretical volume [m3] that it shares with a stretch between two depths [m]."""
        upper_m, lower_m = max(top_m, self.top_m), min(bottom_m, self.bottom_m)
        return profile.volume_m3(upper_m, lower_m) if upper_m < lower_m else 0.0


class Uptake:
    """What the hole takes from a depth upward, by the meter: a distribution for every height. Made once, then read."""

    __slots__ = ("_bottom_m", "_factor", "_full_m3", "_profile", "_spans")

    def __init__(self, profile: Profile, *, bottom_m: float, factor: Factor, zones: Sequence[Zone] = ()) -> None:
        """profile: the annulus; bottom_m [m], within it; factor [-] of metered over theoretical volume beside the
        zones."""
        between("bottom_m", bottom_m, profile.top_m, profile.bottom_m)
        self._profile, self._bottom_m, self._factor = profile, bottom_m, factor
        self._full_m3 = profile.volume_m3(profile.top_m, bottom_m)
        # each zone by the theoretical volumes, from the bottom up, between which it lies
        self._spans = [
            (max(self._full_m3 - profile.volume_m3(profile.top_m, lower_m), 0.0), shared_m3, zone.sigma)
            for zone in zones
            if zone.spread and (shared_m3 := zone.shared_m3(profile, profile.top_m, bottom_m)) > 0.0
            for lower_m in (min(zone.bottom_m, bottom_m),)
        ]

    def volume_m3(self, top_m: float, deviate: float) -> float:
        """Volume by the meter that fills the stretch up to a depth.

        top_m [m], within the profile and no deeper than the bottom; deviate [-] of the standard normal, from -8 to 8: 0
        likely. Returns [m3].
        Source: this module's model. Raises ValueError outside the range.
        """
        between("deviate", deviate, -FARTHEST_DEVIATE, FARTHEST_DEVIATE)
        return self._taken_m3(self._profile.volume_m3(top_m, self._bottom_m), deviate)

    def top_m(self, out_m3: float, deviate: float) -> float:
        """Depth of the top of a volume by the meter; the profile's top when it is full.

        out_m3 [m3], 0 or more; deviate [-] of the standard normal, from -8 to 8: 0 likely, above it a
        lower top. Returns [m].
        Source: this module's model. Raises ValueError outside the range.
        """
        not_negative("out_m3", out_m3)
        between("deviate", deviate, -FARTHEST_DEVIATE, FARTHEST_DEVIATE)
        return self._profile.top_of_fill_m(self._bottom_m, self._theory_m3(out_m3, deviate))

    def chance_of_enough(self, top_m: float, supply_m3: float) -> float:
        """Probability that a volume by the meter fills the stretch up to a depth.

        top_m [m], within the profile and no deeper than the bottom; supply_m3 [m3], 0 or more. Returns [-], 0 to 1.
        Source: this module's model. Raises ValueError outside the range.
        """
        not_negative("supply_m3", supply_m3)
        theory_m3 = self._profile.volume_m3(top_m, self._bottom_m)
        return chance_of_at_most(lambda deviate: self._taken_m3(theory_m3, deviate), supply_m3)

    def _taken_m3(self, theory_m3: float, deviate: float) -> float:
        if not self._spans:
            return self._factor.at(deviate) * theory_m3
        likely_m3 = self._factor.median * theory_m3
        parts = [likely_m3 * math.expm1(deviate * self._factor.sigma)]
        for begins_m3, shared_m3, sigma in self._spans:
            inside_m3 = min(max(theory_m3 - begins_m3, 0.0), shared_m3)
            parts.append(self._factor.median * inside_m3 * math.expm1(deviate * sigma))
        return max(likely_m3 + math.copysign(math.hypot(*parts), deviate), 0.0)

    def _theory_m3(self, out_m3: float, deviate: float) -> float:
        """Theoretical volume that a metered one fills: halving, since what is taken rises with height."""
        if not self._spans:
            return out_m3 / self._factor.at(deviate)
        low_m3, high_m3 = 0.0, self._full_m3
        if self._taken_m3(high_m3, deviate) <= out_m3:
            return high_m3
        for _ in range(HALVINGS):
            middle_m3 = (low_m3 + high_m3) / 2.0
            if self._taken_m3(middle_m3, deviate) > out_m3:
                high_m3 = middle_m3
            else:
                low_m3 = middle_m3
        return low_m3


def chance_of_at_most(taken: Callable[[float], float], supply: float) -> float:
    """Probability that what is taken is no more than a supply.

    taken: a volume or count that rises with the standard normal deviate that it is asked at; supply [-], in the same
    measure. Returns [-], 0 to 1.
    Source: the standard normal distribution. Raises ValueError for a supply that is not finite.
    """
    finite("supply", supply)
    low, high = -FARTHEST_DEVIATE, FARTHEST_DEVIATE
    if taken(high) <= supply:
        return 1.0
    if taken(low) > supply:
        return 0.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        if taken(middle) > supply:
            high = middle
        else:
            low = middle
    return NormalDist().cdf(low)
