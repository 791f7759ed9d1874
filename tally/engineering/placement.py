"""Placement: where the grout is, how much is still needed, and when returns are due.

The model. A real hole holds its theoretical annulus times a factor, the same along the stretch in question, known
only by its median (1 + the plan's allowance) and its spread. The meter reads the true volume times a factor of its
own around 1. Both are taken as lognormal, so that neither can be negative; their ratio, the metered volume over the
theoretical one, is lognormal too, with the squares of the log deviations added. A spread is half the width of the
central 80 % range. With zero spread all reduces to theory.

A tag measures that ratio below it: see `tag`, which states what it says of the rock above. Known zones (fracture, void,
washout, loss) widen the range over their own intervals and leave the likely volume: see `zone`, which states how.

The spreads speak of stretches of tens of metres. Over random holes that keep to this model the stated range holds the
truth 75 to 85 % of the time; where the ground is rougher than the plan allows, less: the tests hold both figures.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from tally.engineering._check import between, finite, not_negative, one_of, positive
from tally.engineering.factor import Z_80 as Z_80
from tally.engineering.factor import Factor as Factor
from tally.engineering.factor import blended as blended
from tally.engineering.factor import combined as combined
from tally.engineering.factor import meter_factor as meter_factor
from tally.engineering.factor import widened as widened
from tally.engineering.hole import Profile
from tally.engineering.tremie import sections_that_may_be_pulled as sections_that_may_be_pulled
from tally.engineering.tremie import top_after_pulling_m as top_after_pulling_m
from tally.engineering.tremie import tremie_cover_m as tremie_cover_m
from tally.engineering.zone import Uptake as Uptake
from tally.engineering.zone import Zone as Zone
from tally.engineering.zone import chance_of_at_most as chance_of_at_most

LINE_STARTS = ("water", "empty")


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
    *,
    profile: Profile,
    bottom_m: float,
    grout_out_m3: float,
    factor: Factor,
    meter_tolerance: float,
    zones: Sequence[Zone] = (),
) -> TopRange:
    """Top of the grout that fills the annulus from a depth upward.

    profile: the annulus; bottom_m [m], within it; grout_out_m3 [m3] by the meter, 0 or more; factor [-] of hole size;
    meter_tolerance [-], 0 or more and under 1; zones: known, anywhere.
    Source: this module's model. Raises ValueError outside the range.
    """
    not_negative("grout_out_m3", grout_out_m3)
    takes = Uptake(profile, bottom_m=bottom_m, factor=combined(factor, meter_tolerance), zones=zones)
    return TopRange(*(takes.top_m(grout_out_m3, deviate) for deviate in (Z_80, 0.0, -Z_80)))


def volume_range(
    *,
    profile: Profile,
    bottom_m: float,
    top_m: float,
    factor: Factor,
    meter_tolerance: float,
    zones: Sequence[Zone] = (),
) -> VolumeRange:
    """Volume by the meter that fills the annulus between two depths.

    profile: the annulus; bottom_m [m] and top_m [m], within it; factor [-] of hole size; meter_tolerance [-], 0 or
    more and under 1; zones: known, anywhere. Returns [m3].
    Source: this module's model. Raises ValueError outside the range.
    """
    takes = Uptake(profile, bottom_m=bottom_m, factor=combined(factor, meter_tolerance), zones=zones)
    return VolumeRange(*(takes.volume_m3(top_m, deviate) for deviate in (-Z_80, 0.0, Z_80)))


def returns_window(
    *,
    profile: Profile,
    fluid_level_m: float,
    factor: Factor,
    meter_tolerance: float,
    bore_area_m2: float = 0.0,
    ground_drinks: bool,
    bottom_m: float | None = None,
    zones: Sequence[Zone] = (),
) -> ReturnsWindow:
    """Fluid to be put into the annulus before it shows at surface: the air above the fluid must fill first.

    profile: the annulus; fluid_level_m [m], 0 or less when the hole stands full, so that returns are due at once;
    factor [-] of hole size; meter_tolerance [-], 0 or more and under 1; bore_area_m2 [m2] of a casing whose open shoe
    lets the bore fill as well, else 0; ground_drinks: the formation takes the displaced water, so that only grout
    will show, and at latest when it has filled the whole annulus; bottom_m [m] of the stage, the profile's own if not
    given; zones: known, anywhere.
    Source: common practice, worked out in this module. Raises ValueError outside the range.
    """
    finite("fluid_level_m", fluid_level_m)
    not_negative("bore_area_m2", bore_area_m2)
    bottom_m = profile.bottom_m if bottom_m is None else bottom_m
    meter = meter_factor(meter_tolerance)
    dry_to_m = min(max(fluid_level_m, profile.top_m), bottom_m)  # a level below the stage leaves all of it dry
    bore_m3 = bore_area_m2 * (dry_to_m - profile.top_m)
    air, latest = (
        volume_range(
            profile=profile,
            bottom_m=depth_m,
            top_m=profile.top_m,
            factor=factor,
            meter_tolerance=meter_tolerance,
            zones=zones,
        )
        for depth_m in (dry_to_m, bottom_m if ground_drinks else dry_to_m)
    )
    return ReturnsWindow(
        low_m3=air.low_m3 + meter.low * bore_m3,
        high_m3=latest.high_m3 + meter.high * bore_m3,
    )


def still_needed_m3(
    *,
    profile: Profile,
    bottom_m: float,
    top_m: float,
    grout_out_m3: float,
    factor: Factor,
    meter_tolerance: float,
    zones: Sequence[Zone] = (),
) -> VolumeRange:
    """Volume still to leave the tremie until the grout stands at a wanted top.

    profile: the annulus; bottom_m [m] and the wanted top_m [m], within it; grout_out_m3 [m3] by the meter, 0 or more;
    factor [-] of hole size; meter_tolerance [-], 0 or more and under 1; zones: known, anywhere. Returns [m3]. After a
    tag, give its depth as the bottom, what came out since, and the factor blended from it.
    Source: this module's model. Raises ValueError outside the range.
    """
    not_negative("grout_out_m3", grout_out_m3)
    takes = volume_range(
        profile=profile, bottom_m=bottom_m, top_m=top_m, factor=factor, meter_tolerance=meter_tolerance, zones=zones
    )
    low_m3, likely_m3, high_m3 = (max(0.0, m3 - grout_out_m3) for m3 in (takes.low_m3, takes.likely_m3, takes.high_m3))
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
    zones: Sequence[Zone] = (),
) -> float:
    """Probability that what is out and what is aboard fill the annulus to a wanted top.

    profile: the annulus; bottom_m [m] and top_m [m], within it; grout_out_m3 [m3] and aboard_m3 [m3], 0 or more;
    factor [-] of hole size; meter_tolerance [-], 0 or more and under 1; zones: known, anywhere. Returns [-], 0 to 1.
    Source: this module's model. Raises ValueError outside the range.
    """
    supply_m3 = not_negative("grout_out_m3", grout_out_m3) + not_negative("aboard_m3", aboard_m3)
    takes = Uptake(profile, bottom_m=bottom_m, factor=combined(factor, meter_tolerance), zones=zones)
    return takes.chance_of_enough(top_m, supply_m3)


def time_to_pump_s(*, volume_m3: float, flow_m3_s: float) -> float:
    """Time that a volume takes at a rate.

    volume_m3 [m3], 0 or more; flow_m3_s [m3/s], more than 0. Returns [s].
    Source: arithmetic. Raises ValueError outside the range.
    """
    return not_negative("volume_m3", volume_m3) / positive("flow_m3_s", flow_m3_s)
