"""A tag of the grout's top: what it measured of the hole below it, and what that says of the rock above.

It measures metered over theoretical volume, meter and all, so that the meter's bias needs no second allowance above.
The rock above is taken to follow the plan's prior, and the rock below to be the rock above times a lognormal factor of
its own (resemblance): the forecast above the tag is then the prior and the measured ratio weighted by their precisions
in logs. What was measured says the less of the rock above, the more of it lay in known zones.
"""

import math
from collections.abc import Sequence

from tally.engineering._check import between, finite, not_negative, positive
from tally.engineering.factor import Factor, blended, combined, widened
from tally.engineering.hole import Profile
from tally.engineering.placement import TopRange, top_range
from tally.engineering.zone import Zone


def measured_factor(
    *,
    profile: Profile,
    bottom_m: float,
    tag_depth_m: float,
    out_m3: float,
    resemblance: float = 0.10,
    zones: Sequence[Zone] = (),
) -> Factor:
    """What a tag says of the hole: metered volume over theory below it, with the spread at which it speaks for the
    rock above.

    profile: the annulus; bottom_m [m], within it; tag_depth_m [m], above bottom_m; out_m3 [m3] by the meter, more
    than 0; resemblance [-], half the central 80 % range of rock above over rock below, 0 or more; zones: known; those
    below the tag may have taken a share that says nothing of the rock.
    Source: this module's model; the default resemblance is common practice. Raises ValueError outside the range.
    """
    positive("out_m3", out_m3)
    not_negative("resemblance", resemblance)
    theory_m3 = profile.volume_m3(tag_depth_m, bottom_m)
    if theory_m3 <= 0.0:
        raise ValueError(f"tag_depth_m = {tag_depth_m!r}: must be above bottom_m = {bottom_m!r}")
    median = out_m3 / theory_m3
    shares = [zone.spread * zone.shared_m3(profile, tag_depth_m, bottom_m) / theory_m3 for zone in zones]
    return widened(Factor(median, median * resemblance), math.hypot(*shares))


def factor_above_tag(
    *,
    profile: Profile,
    bottom_m: float,
    tag_depth_m: float,
    out_m3: float,
    prior: Factor,
    meter_tolerance: float,
    resemblance: float = 0.10,
    zones: Sequence[Zone] = (),
) -> Factor:
    """Metered over theoretical volume above a tag: the plan's prior and what the tag measured, by their precisions.

    profile: the annulus; bottom_m [m], within it; tag_depth_m [m], within it; out_m3 [m3] by the meter between the
    two, 0 or more; prior [-] factor; meter_tolerance [-], 0 or more and under 1; resemblance [-], 0 or more; zones:
    known, anywhere. A tag on the bottom, or before anything came out, says nothing, and a prior without spread is
    taken at its word.
    Source: this module's model. Raises ValueError outside the range.
    """
    between("bottom_m", bottom_m, profile.top_m, profile.bottom_m)
    between("tag_depth_m", tag_depth_m, profile.top_m, profile.bottom_m)
    above = combined(prior, meter_tolerance)
    if not_negative("out_m3", out_m3) == 0.0 or tag_depth_m >= bottom_m or not above.spread:
        return above
    measured = measured_factor(
        profile=profile,
        bottom_m=bottom_m,
        tag_depth_m=tag_depth_m,
        out_m3=out_m3,
        resemblance=resemblance,
        zones=zones,
    )
    return blended(above, measured)


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
    zones: Sequence[Zone] = (),
) -> TopRange:
    """Top of the grout after its top was tagged: what was pumped since rises from the tag.

    profile: the annulus; bottom_m [m] of the stage, within it; tag_depth_m [m], within it; out_at_tag_m3
    [m3] and grout_out_m3 [m3] by the meter, at the tag and now, now no less; prior [-] factor; meter_tolerance [-], 0
    or more and under 1; resemblance [-], 0 or more; project: False where the loss was a fracture, which says nothing
    of the rock above, so that the prior stands there; zones: known, anywhere.
    Source: this module's model. Raises ValueError outside the range.
    """
    not_negative("out_at_tag_m3", out_at_tag_m3)
    if finite("grout_out_m3", grout_out_m3) < out_at_tag_m3:
        raise ValueError(f"grout_out_m3 = {grout_out_m3!r}: must be no less than out_at_tag_m3 = {out_at_tag_m3!r}")
    above = factor_above_tag(
        profile=profile,
        bottom_m=bottom_m,
        tag_depth_m=tag_depth_m,
        out_m3=out_at_tag_m3 if project else 0.0,
        prior=prior,
        meter_tolerance=meter_tolerance,
        resemblance=resemblance,
        zones=zones,
    )
    return top_range(
        profile=profile,
        bottom_m=tag_depth_m,
        grout_out_m3=grout_out_m3 - out_at_tag_m3,
        factor=above,
        meter_tolerance=0.0,
        zones=zones,
    )
