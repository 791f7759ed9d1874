"""What the hoist should carry: the handbook's hook-load formula put to this string, this hole and these fluids."""

from __future__ import annotations

from collections.abc import Sequence

from tally.engineering import hook_load, pipe
from tally.engineering.hook_load import FluidLayer, ShoeState
from tally.job import lengths
from tally.job.plan import Plan
from tally.job.state import String

G_M_S2 = 9.80665
WATER_KG_M3 = 999.1


def weight_air_n(plan: Plan, length_m: float) -> float:
    """Weight of `length_m` of the string, shoe included [N]."""
    return (plan.casing.mass_kg_m * length_m + plan.casing.shoe_mass_kg) * G_M_S2


def load_n(
    plan: Plan,
    *,
    length_m: float,
    shoe_m: float,
    outside: Sequence[FluidLayer],
    inside: Sequence[FluidLayer],
    shoe: ShoeState,
) -> float:
    """Hook load of a string in given columns of fluid [N]; negative where it would lift.

    A float holds nothing in: what stands inside above balance goes out through it, as through an open end.
    """
    casing = plan.casing
    inside_pa = hook_load.column_pressure_pa(inside, shoe_m)
    outside_pa = hook_load.column_pressure_pa(outside, shoe_m)
    if shoe is ShoeState.FLOAT and inside_pa > outside_pa:
        shoe = ShoeState.OPEN
    return hook_load.hook_load_n(
        weight_air_n=weight_air_n(plan, length_m),
        pressure_inside_pa=inside_pa,
        pressure_outside_pa=outside_pa,
        bore_area_m2=pipe.circle_area_m2(casing.bore_m),
        outer_area_m2=pipe.circle_area_m2(casing.outer_diameter_m),
        shoe=shoe,
        hook_n=plan.limits.hook_n,
    )


def water(top_m: float, bottom_m: float) -> tuple[FluidLayer, ...]:
    """A column of water, or nothing where it would be upside down."""
    return (FluidLayer(top_m, bottom_m, WATER_KG_M3),) if bottom_m > top_m else ()


def inside_column(plan: Plan, string: String, shoe_m: float) -> tuple[FluidLayer, ...]:
    """Water inside a closed or floated casing: from the level read last; empty until one was read (the worst case)."""
    return () if string.inside_fluid_m is None else water(string.inside_fluid_m, shoe_m)


def hole_fluid_m(plan: Plan, string: String) -> float:
    """Depth to the water in the hole [m]: as read last, else as planned."""
    return plan.hole.water_level_m if string.hole_fluid_m is None else string.hole_fluid_m


def run_load_n(plan: Plan, string: String, *, length_m: float, shoe_m: float) -> float:
    """Hook load of the string run to `shoe_m` in water, before any grout [N]."""
    return load_n(
        plan,
        length_m=length_m,
        shoe_m=max(shoe_m, 0.0),
        outside=water(hole_fluid_m(plan, string), max(shoe_m, 0.0)),
        inside=inside_column(plan, string, shoe_m),
        shoe=plan.casing.shoe_state,
    )


def expected_n(plan: Plan, string: String) -> float | None:
    """Hook load expected of the string as it hangs now [N]; None before the first joint."""
    if not string.joints:
        return None
    return run_load_n(
        plan,
        string,
        length_m=lengths.length_m(plan, string),
        shoe_m=lengths.shoe_depth_m(plan, string),
    )


def next_joint_n(plan: Plan, string: String, joint_m: float) -> float:
    """Hook load expected with one more joint of `joint_m`, lowered to the same stick-up [N]."""
    casing = plan.casing
    length_m = lengths.length_of_m(plan, [*(joint.length_m for joint in string.joints), joint_m], string.cut_off_m)
    stick_up_m = casing.stick_up_m if string.stick_up_m is None else string.stick_up_m
    shoe_m = min(length_m - stick_up_m, casing.target_shoe_depth_m)
    return run_load_n(plan, string, length_m=length_m, shoe_m=shoe_m)


def band_n(plan: Plan, expected_n: float) -> float:
    """How far a reading may lie from what is expected [N]: the larger of a fixed band and a share."""
    limits = plan.limits
    return max(limits.reading_band_n, abs(expected_n) * limits.reading_band_share)
