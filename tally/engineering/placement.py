"""Placement: where the grout is, how much is still needed, and when returns are due.

The model. A real hole holds its theoretical annulus times a factor, the same along the stretch in question, known
only by its median (1 + the plan's allowance) and its spread. The meter reads the true volume times a factor of its
own around 1. Both are taken as lognormal, so that neither can be negative; their ratio, the metered volume over the
theoretical one, is lognormal too, with the squares of the log deviations added. A spread is half the width of the
central 80 % range. With zero spread all reduces to theory.

A tag measures that ratio below it, meter and all, so that the meter's bias needs no second allowance above: there the
prior and the measured ratio are blended by their precisions in logs, the measured one loosened by how far rock above
resembles rock below.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

from tally.engineering._check import between, finite, not_negative, one_of, positive
from tally.engineering.hole import Profile

Z_80 = 1.2815515655  # the standard normal deviate with 10 % above it
LINE_STARTS = ("water", "empty")


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
        return self.median * math.exp(-Z_80 * self.sigma) if self.spread else self.median

    @property
    def likely(self) -> float:
        """The median [-]."""
        return self.median

    @property
    def high(self) -> float:
        """The value [-] that 10 % lie over."""
        return self.median * math.exp(Z_80 * self.sigma) if self.spread else self.median

    @classmethod
    def of_sigma(cls, median: float, sigma: float) -> "Factor":
        """The factor [-] of a median and the standard deviation of its logarithm."""
        return cls(median, median * math.sinh(Z_80 * sigma))


@dataclass(frozen=True, slots=True)
class TopRange:
    """Depths [m] of the grout's top: low is the lowest top (deepest, the worst case), high the highest."""

    low_m: float
    likely_m: float
    high_m: float


@dataclass(frozen=True, slots=True)
class VolumeRange:
    """Volumes [m3]: small, likely and large."""

    low_m3: float
    likely_m3: float
    high_m3: float


@dataclass(frozen=True, slots=True)
class ReturnsWindow:
    """Fluid put into the annulus [m3] between whose values returns should appear at surface."""

    low_m3: float
    high_m3: float


def combined(factor: Factor, meter_tolerance: float) -> Factor:
    """The factor of metered over theoretical volume: the hole's and the meter's spread together.

    factor [-]; meter_tolerance [-], half the meter's central 80 % range, 0 or more and under 1.
    Source: variances of independent logarithms add (common practice). Raises ValueError outside the range.
    """
    meter = _meter(meter_tolerance)
    return Factor.of_sigma(factor.median, math.hypot(factor.sigma, meter.sigma)) if meter.spread else factor


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


def out_of_tremie_m3(*, pumped_m3: float, line_m3: float, line_starts: str) -> float:
    """Grout that has left the tremie: what was pumped less what fills the line, whatever the line held before.

    pumped_m3 [m3] and line_m3 [m3], 0 or more; line_starts: water or empty. Returns [m3].
    Source: common practice. Raises ValueError outside the range.
    """
    not_negative("pumped_m3", pumped_m3)
    not_negative("line_m3", line_m3)
    one_of("line_starts", line_starts, LINE_STARTS)
    return max(0.0, pumped_m3 - line_m3)


def into_annulus_m3(*, pumped_m3: float, line_m3: float, line_starts: str, standing_water_m3: float = 0.0) -> float:
    """Fluid, water or grout, that has been put into the annulus: a line full of water pushes that in first.

    pumped_m3 [m3] and line_m3 [m3], 0 or more; line_starts: water or empty; standing_water_m3 [m3] that an empty line
    holds because it hangs in water, 0 to line_m3: only its air delays. Returns [m3].
    Source: common practice. Raises ValueError outside the range.
    """
    not_negative("pumped_m3", pumped_m3)
    not_negative("line_m3", line_m3)
    one_of("line_starts", line_starts, LINE_STARTS)
    between("standing_water_m3", standing_water_m3, 0.0, line_m3)
    return pumped_m3 if line_starts == "water" else max(0.0, pumped_m3 - (line_m3 - standing_water_m3))


def top_range(
    *, profile: Profile, bottom_m: float, grout_out_m3: float, factor: Factor, meter_tolerance: float
) -> TopRange:
    """Top of the grout that fills the annulus from a depth upward.

    profile: the annulus; bottom_m [m], within it; grout_out_m3 [m3] by the meter, 0 or more; factor [-] of hole size;
    meter_tolerance [-], 0 or more and under 1.
    Source: this module's model. Raises ValueError outside the range.
    """
    not_negative("grout_out_m3", grout_out_m3)
    return _tops(profile, bottom_m, grout_out_m3, combined(factor, meter_tolerance))


def measured_factor(
    *, profile: Profile, bottom_m: float, tag_depth_m: float, out_m3: float, resemblance: float = 0.10
) -> Factor:
    """What a tag says of the hole: metered volume over theory below it, with the spread at which it speaks for the
    rock above.

    profile: the annulus; bottom_m [m], within it; tag_depth_m [m], above bottom_m; out_m3 [m3] by the meter, more
    than 0; resemblance [-], half the central 80 % range of rock above over rock below, 0 or more.
    Source: this module's model; the default resemblance is common practice. Raises ValueError outside the range.
    """
    positive("out_m3", out_m3)
    not_negative("resemblance", resemblance)
    theory_m3 = profile.volume_m3(tag_depth_m, bottom_m)
    if theory_m3 <= 0.0:
        raise ValueError(f"tag_depth_m = {tag_depth_m!r}: must be above bottom_m = {bottom_m!r}")
    median = out_m3 / theory_m3
    return Factor(median, median * resemblance)


def top_range_after_tag(
    *,
    profile: Profile,
    bottom_m: float,
    tag_depth_m: float,
    out_at_tag_m3: float,
    grout_out_m3: float,
    prior: Factor,
    meter_tolerance: float,
    resemblance: float = 0.10,
    project: bool = True,
) -> TopRange:
    """Top of the grout after its top was tagged: what was pumped since rises from the tag.

    profile: the annulus; bottom_m [m] of the stage, within it; tag_depth_m [m], within it; out_at_tag_m3
    [m3] and grout_out_m3 [m3] by the meter, at the tag and now, now no less; prior [-] factor; meter_tolerance [-], 0
    or more and under 1; resemblance [-], 0 or more; project: False where the loss was a fracture, which says nothing
    of the rock above, so that the prior stands there.
    Source: this module's model. Raises ValueError outside the range.
    """
    between("bottom_m", bottom_m, profile.top_m, profile.bottom_m)
    between("tag_depth_m", tag_depth_m, profile.top_m, profile.bottom_m)
    not_negative("out_at_tag_m3", out_at_tag_m3)
    if finite("grout_out_m3", grout_out_m3) < out_at_tag_m3:
        raise ValueError(f"grout_out_m3 = {grout_out_m3!r}: must be no less than out_at_tag_m3 = {out_at_tag_m3!r}")
    above = combined(prior, meter_tolerance)
    if project and out_at_tag_m3 > 0.0 and tag_depth_m < bottom_m and above.spread:
        measured = measured_factor(
            profile=profile, bottom_m=bottom_m, tag_depth_m=tag_depth_m, out_m3=out_at_tag_m3, resemblance=resemblance
        )
        above = blended(above, measured)
    return _tops(profile, tag_depth_m, grout_out_m3 - out_at_tag_m3, above)


def _tops(profile: Profile, bottom_m: float, volume_m3: float, factor: Factor) -> TopRange:
    return TopRange(
        low_m=profile.top_of_fill_m(bottom_m, volume_m3 / factor.high),
        likely_m=profile.top_of_fill_m(bottom_m, volume_m3 / factor.median),
        high_m=profile.top_of_fill_m(bottom_m, volume_m3 / factor.low),
    )


def _meter(meter_tolerance: float) -> Factor:
    if not 0.0 <= finite("meter_tolerance", meter_tolerance) < 1.0:
        raise ValueError(f"meter_tolerance = {meter_tolerance!r}: must be 0 or more and less than 1 (0.02 is 2 %)")
    return Factor(1.0, meter_tolerance)


def returns_window(
    *,
    profile: Profile,
    fluid_level_m: float,
    factor: Factor,
    meter_tolerance: float,
    bore_area_m2: float = 0.0,
    ground_drinks: bool,
    bottom_m: float | None = None,
) -> ReturnsWindow:
    """Fluid to be put into the annulus before it shows at surface: the air above the fluid must fill first.

    profile: the annulus; fluid_level_m [m], 0 or less when the hole stands full, so that returns are due at once;
    factor [-] of hole size; meter_tolerance [-], 0 or more and under 1; bore_area_m2 [m2] of a casing whose open shoe
    lets the bore fill as well, else 0; ground_drinks: the formation takes the displaced water, so that only grout
    will show, and at latest when it has filled the whole annulus; bottom_m [m] of the stage, the profile's own if not
    given.
    Source: common practice, worked out in this module. Raises ValueError outside the range.
    """
    finite("fluid_level_m", fluid_level_m)
    not_negative("bore_area_m2", bore_area_m2)
    bottom_m = profile.bottom_m if bottom_m is None else bottom_m
    both, meter = combined(factor, meter_tolerance), _meter(meter_tolerance)
    dry_to_m = min(max(fluid_level_m, profile.top_m), bottom_m)  # a level below the stage leaves all of it dry
    air_m3 = profile.volume_m3(profile.top_m, dry_to_m)
    bore_m3 = bore_area_m2 * (dry_to_m - profile.top_m)
    latest_m3 = profile.volume_m3(profile.top_m, bottom_m) if ground_drinks else air_m3
    return ReturnsWindow(
        low_m3=both.low * air_m3 + meter.low * bore_m3,
        high_m3=both.high * latest_m3 + meter.high * bore_m3,
    )


def still_needed_m3(
    *, profile: Profile, bottom_m: float, top_m: float, grout_out_m3: float, factor: Factor, meter_tolerance: float
) -> VolumeRange:
    """Volume still to leave the tremie until the grout stands at a wanted top.

    profile: the annulus; bottom_m [m] and the wanted top_m [m], within it; grout_out_m3 [m3] by the meter, 0 or more;
    factor [-] of hole size; meter_tolerance [-], 0 or more and under 1. Returns [m3]. After a tag, give its depth as
    the bottom, what came out since, and the factor blended from it.
    Source: this module's model. Raises ValueError outside the range.
    """
    not_negative("grout_out_m3", grout_out_m3)
    both, theory_m3 = combined(factor, meter_tolerance), profile.volume_m3(top_m, bottom_m)
    low_m3, likely_m3, high_m3 = (max(0.0, f * theory_m3 - grout_out_m3) for f in (both.low, both.median, both.high))
    return VolumeRange(low_m3, likely_m3, high_m3)


def chance_of_enough(
    *,
    profile: Profile,
    bottom_m: float,
    top_m: float,
    grout_out_m3: float,
    aboard_m3: float,
    factor: Factor,
    meter_tolerance: float,
) -> float:
    """Probability that what is out and what is aboard fill the annulus to a wanted top.

    profile: the annulus; bottom_m [m] and top_m [m], within it; grout_out_m3 [m3] and aboard_m3 [m3], 0 or more;
    factor [-] of hole size; meter_tolerance [-], 0 or more and under 1. Returns [-], 0 to 1.
    Source: the normal distribution of this module's model in logs. Raises ValueError outside the range.
    """
    supply_m3 = not_negative("grout_out_m3", grout_out_m3) + not_negative("aboard_m3", aboard_m3)
    both, theory_m3 = combined(factor, meter_tolerance), profile.volume_m3(top_m, bottom_m)
    if theory_m3 == 0.0:
        return 1.0
    if supply_m3 == 0.0:
        return 0.0
    if both.spread == 0.0:
        return 1.0 if supply_m3 >= both.median * theory_m3 else 0.0
    return NormalDist().cdf(math.log(supply_m3 / (both.median * theory_m3)) / both.sigma)


def time_to_pump_s(*, volume_m3: float, flow_m3_s: float) -> float:
    """Time that a volume takes at a rate.

    volume_m3 [m3], 0 or more; flow_m3_s [m3/s], more than 0. Returns [s].
    Source: arithmetic. Raises ValueError outside the range.
    """
    return not_negative("volume_m3", volume_m3) / positive("flow_m3_s", flow_m3_s)


def tremie_cover_m(*, tip_depth_m: float, lowest_top_m: float) -> float:
    """How far the tremie's end is buried below the lowest likely top; negative when it hangs above the grout.

    tip_depth_m [m]; lowest_top_m [m], the deepest likely top. Returns [m].
    Source: the end stays submerged (Minn. Rules 4725.3050; Md. 26.04.04.20). Raises ValueError for what is not finite.
    """
    return finite("tip_depth_m", tip_depth_m) - finite("lowest_top_m", lowest_top_m)


def sections_that_may_be_pulled(
    *, section_lengths_m: Sequence[float], tip_depth_m: float, lowest_top_m: float, minimum_cover_m: float = 1.5
) -> int:
    """Whole tremie sections that can come off the top with the end still covered.

    section_lengths_m [m] from the top down, each more than 0; tip_depth_m [m]; lowest_top_m [m], the deepest likely
    top; minimum_cover_m [m], 0 or more.
    Source: common practice (cover of at least 1.5 m). Raises ValueError outside the range.
    """
    spare_m = tremie_cover_m(tip_depth_m=tip_depth_m, lowest_top_m=lowest_top_m) - not_negative(
        "minimum_cover_m", minimum_cover_m
    )
    count = 0
    for index, length_m in enumerate(section_lengths_m):
        spare_m -= positive(f"section_lengths_m[{index}]", length_m)
        if spare_m < -1e-9:
            break
        count += 1
    return count


def top_after_pulling_m(*, profile_without: Profile, top_m: float, metal_m3: float) -> float:
    """Top of the grout after pipe that stood in it was withdrawn: it falls by the metal's volume.

    profile_without: the annulus without that pipe; top_m [m] before, within it; metal_m3 [m3] that was below the top,
    0 or more. Returns [m].
    Source: geometry. Raises ValueError outside the range and where the metal is more than the hole holds below the
    top.
    """
    below_m3 = profile_without.volume_m3(top_m, profile_without.bottom_m) - not_negative("metal_m3", metal_m3)
    if below_m3 < 0.0:
        raise ValueError(f"metal_m3 = {metal_m3!r}: must be no more than the hole holds below top_m = {top_m!r}")
    return profile_without.top_of_fill_m(profile_without.bottom_m, below_m3)
