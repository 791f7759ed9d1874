"""The tremie: how deep it is buried, how much of it may come off, and what its metal leaves behind."""

from collections.abc import Sequence

from tally.engineering._check import finite, not_negative, positive
from tally.engineering.hole import Profile


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
