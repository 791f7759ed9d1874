"""Hook load: the string's weight in air and the pressures on its ends, for open, floated, closed and sealed shoes.

Free body: the pipe, whatever closes its end, and the fluid inside. Gravity pulls with W_air and with the inside
column, which stands on the closed end as p_in x A_bore. Outside fluid pushes up on the whole face as p_out x A_outer.
Pressure at the head acts on a cap and on the shoe alike and cancels. So, with tension at the hook positive:

    F = W_air + p_in(shoe) A_bore - p_out(shoe) A_outer + hook and elevator

open      fluid passes the shoe, so that p_in = p_out: F = W_air - p_out (A_outer - A_bore), the buoyed weight
float     blocks inflow only: the inside column is its own, and can never stand above balance for long
closed    both columns are their own: dry inside, it may float
sealed    stands in rock or set grout: no pressure reaches the end and F = W_air

Vertical, no drag. F < 0 means that the string lifts unless it is held down; a hoist cannot hold down.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from tally.engineering._check import finite, less, not_negative, positive
from tally.engineering.fluid import GRAVITY_M_S2 as GRAVITY_M_S2
from tally.engineering.fluid import FluidLayer as FluidLayer
from tally.engineering.fluid import column_pressure_pa as column_pressure_pa

DYNAMIC_FACTOR = 1.25  # common practice for a load caught or set moving on the hoist


class ShoeState(StrEnum):
    """What the string's lower end lets through."""

    OPEN = "open"
    FLOAT = "float"
    CLOSED = "closed"
    SEALED = "sealed"


@dataclass(frozen=True, slots=True)
class StringStep:
    """A stretch of string of one size, from the top down: end areas [m2] and the pressures [Pa] at its lower end."""

    bore_area_m2: float
    outer_area_m2: float
    pressure_inside_pa: float
    pressure_outside_pa: float


@dataclass(frozen=True, slots=True)
class Forecast:
    """The largest load [N] of a run, where it comes, and the first place (if any) where the limit is passed."""

    largest_n: float
    largest_at: int
    first_past_limit: int | None


def weight_n(mass_kg: float) -> float:
    """Weight of a mass in air.

    mass_kg [kg], 0 or more. Returns [N].
    Source: standard gravity. Raises ValueError outside the range.
    """
    return not_negative("mass_kg", mass_kg) * GRAVITY_M_S2


def hook_load_n(
    *,
    weight_air_n: float,
    pressure_inside_pa: float,
    pressure_outside_pa: float,
    bore_area_m2: float,
    outer_area_m2: float,
    shoe: ShoeState,
    hook_n: float = 0.0,
) -> float:
    """Load on the hook of a hanging string; negative when it lifts.

    weight_air_n [N], 0 or more; pressure_inside_pa [Pa] and pressure_outside_pa [Pa] at the shoe, 0 or more, the
    inside one unused when the shoe is open and neither used when it is sealed; bore_area_m2 [m2], 0 or more, less
    than outer_area_m2 [m2]; shoe: what the lower end lets through; hook_n [N] of hook and elevator, 0 or more.
    Returns [N].
    Source: the free body of this module's docstring; where a single factor serves instead, Devereux, Practical Well
    Planning and Drilling Manual, section 1.4.10. Raises ValueError outside the range.
    """
    not_negative("weight_air_n", weight_air_n)
    not_negative("hook_n", hook_n)
    step = StringStep(bore_area_m2, outer_area_m2, pressure_inside_pa, pressure_outside_pa)
    return weight_air_n + hook_n + _end_force_n((step,), ShoeState(shoe))


def stepped_hook_load_n(
    *, weight_air_n: float, steps: Sequence[StringStep], shoe: ShoeState, hook_n: float = 0.0
) -> float:
    """Load on the hook of a string that changes size: every ledge takes the pressures at its own depth.

    weight_air_n [N], 0 or more; steps from the top down, areas [m2] and pressures [Pa] at each lower end; shoe: what
    the lower end lets through (open: the inside pressure equals the outside one at every ledge; sealed: the lowest
    face takes none); hook_n [N], 0 or more. Returns [N].
    Source: the free body of this module's docstring, ledge by ledge. Raises ValueError outside the range and for no
    steps.
    """
    not_negative("weight_air_n", weight_air_n)
    not_negative("hook_n", hook_n)
    if not steps:
        raise ValueError("steps = (): must hold at least one step")
    return weight_air_n + hook_n + _end_force_n(steps, ShoeState(shoe))


def _end_force_n(steps: Sequence[StringStep], shoe: ShoeState) -> float:
    """Sum of the pressures on the lowest face and on every ledge above it, down positive."""
    force_n = 0.0
    for index, step in enumerate(steps):
        not_negative("pressure_inside_pa", step.pressure_inside_pa)
        not_negative("pressure_outside_pa", step.pressure_outside_pa)
        not_negative("bore_area_m2", step.bore_area_m2)
        less("bore_area_m2", step.bore_area_m2, "outer_area_m2", step.outer_area_m2)
        lowest = index == len(steps) - 1
        below_bore_m2 = 0.0 if lowest else steps[index + 1].bore_area_m2
        below_outer_m2 = 0.0 if lowest else steps[index + 1].outer_area_m2
        if lowest and shoe is ShoeState.SEALED:
            continue
        inside_pa = step.pressure_outside_pa if shoe is ShoeState.OPEN else step.pressure_inside_pa
        force_n += inside_pa * (step.bore_area_m2 - below_bore_m2)
        force_n -= step.pressure_outside_pa * (step.outer_area_m2 - below_outer_m2)
    return force_n


def worst_lift_n(
    *,
    weight_air_n: float,
    pressure_inside_pa: float,
    pump_pressure_pa: float,
    bore_area_m2: float,
    outer_area_m2: float,
) -> float:
    """Net force upward if the annulus bridges while grout is pumped down the casing; negative while weight still
    wins.

    weight_air_n [N], 0 or more; pressure_inside_pa [Pa] of the inside column at the shoe and pump_pressure_pa [Pa] at
    the head, 0 or more; bore_area_m2 [m2], 0 or more, less than outer_area_m2 [m2]. Returns [N]. Behind a bridge
    p_out at the shoe rises to the inside column + pump pressure, and that acts on the whole outer area.
    Source: the free body of this module's docstring. Raises ValueError outside the range.
    """
    not_negative("pump_pressure_pa", pump_pressure_pa)
    return -hook_load_n(
        weight_air_n=weight_air_n,
        pressure_inside_pa=pressure_inside_pa,
        pressure_outside_pa=pressure_inside_pa + pump_pressure_pa,
        bore_area_m2=bore_area_m2,
        outer_area_m2=outer_area_m2,
        shoe=ShoeState.CLOSED,
    )


def pump_pressure_limit_pa(
    *, weight_air_n: float, pressure_inside_pa: float, bore_area_m2: float, outer_area_m2: float, held_n: float = 0.0
) -> float:
    """Pump pressure at which a bridged annulus would just lift the casing; negative when it lifts without the pump.

    weight_air_n [N], 0 or more; pressure_inside_pa [Pa] at the shoe, 0 or more; bore_area_m2 [m2], 0 or more, less than
    outer_area_m2 [m2]; held_n [N] of hold-down, 0 or more. Returns [Pa].
    Source: `worst_lift_n` set to the hold-down. Raises ValueError outside the range.
    """
    lift_n = worst_lift_n(
        weight_air_n=weight_air_n,
        pressure_inside_pa=pressure_inside_pa,
        pump_pressure_pa=0.0,
        bore_area_m2=bore_area_m2,
        outer_area_m2=outer_area_m2,
    )
    return (not_negative("held_n", held_n) - lift_n) / outer_area_m2


def hold_down_n(hook_load_n: float) -> float:
    """Force that must hold the string down: none while the hook load is positive.

    hook_load_n [N]. Returns [N].
    Source: equilibrium. Raises ValueError for what is not finite.
    """
    return max(0.0, -finite("hook_load_n", hook_load_n))


def inside_level_for_load_m(
    *,
    weight_air_n: float,
    pressure_outside_pa: float,
    bore_area_m2: float,
    outer_area_m2: float,
    shoe_depth_m: float,
    inside_kg_m3: float,
    wanted_n: float = 0.0,
) -> float | None:
    """Depth to the inside fluid at which a closed string carries a wanted load; None if even full to ground level is
    too little.

    weight_air_n [N] and pressure_outside_pa [Pa] at the shoe, 0 or more; bore_area_m2 [m2], more than 0, less than
    outer_area_m2 [m2]; shoe_depth_m [m] and inside_kg_m3 [kg/m3], more than 0; wanted_n [N] of hook load. Returns
    [m]. Holds for a closed end only: through an open shoe or past a float the extra fluid leaves.
    Source: the hook-load formula solved for the inside column. Raises ValueError outside the range.
    """
    height_m = _missing_inside_pa(weight_air_n, pressure_outside_pa, bore_area_m2, outer_area_m2, wanted_n) / (
        positive("inside_kg_m3", inside_kg_m3) * GRAVITY_M_S2
    )
    depth_m = positive("shoe_depth_m", shoe_depth_m) - max(0.0, height_m)
    return depth_m if depth_m >= 0.0 else None


def inside_density_for_load_kg_m3(
    *,
    weight_air_n: float,
    pressure_outside_pa: float,
    bore_area_m2: float,
    outer_area_m2: float,
    column_m: float,
    wanted_n: float = 0.0,
) -> float:
    """Density of an inside column of given height at which a closed string carries a wanted load; 0 if dry is enough.

    weight_air_n [N] and pressure_outside_pa [Pa] at the shoe, 0 or more; bore_area_m2 [m2], more than 0, less than
    outer_area_m2 [m2]; column_m [m] of fluid above the shoe, more than 0; wanted_n [N] of hook load. Returns [kg/m3].
    Holds for a closed end only.
    Source: the hook-load formula solved for the inside column. Raises ValueError outside the range.
    """
    missing_pa = _missing_inside_pa(weight_air_n, pressure_outside_pa, bore_area_m2, outer_area_m2, wanted_n)
    return max(0.0, missing_pa) / (positive("column_m", column_m) * GRAVITY_M_S2)


def _missing_inside_pa(
    weight_air_n: float, pressure_outside_pa: float, bore_area_m2: float, outer_area_m2: float, wanted_n: float
) -> float:
    """Inside pressure at a closed shoe that gives the wanted load; 0 or less when none is needed."""
    not_negative("weight_air_n", weight_air_n)
    not_negative("pressure_outside_pa", pressure_outside_pa)
    less("bore_area_m2", positive("bore_area_m2", bore_area_m2), "outer_area_m2", outer_area_m2)
    return (finite("wanted_n", wanted_n) - weight_air_n + pressure_outside_pa * outer_area_m2) / bore_area_m2


def float_failure_load_n(
    *,
    weight_air_n: float,
    pressure_outside_pa: float,
    bore_area_m2: float,
    outer_area_m2: float,
    hook_n: float = 0.0,
    dynamic_factor: float = DYNAMIC_FACTOR,
) -> float:
    """Load to hold against the hoist's rating: the float fails, the casing fills, and the load comes on moving.

    weight_air_n [N] and pressure_outside_pa [Pa] at the shoe, 0 or more; bore_area_m2 [m2], 0 or more, less than
    outer_area_m2 [m2]; hook_n [N], 0 or more; dynamic_factor [-], 1 or more. Returns [N].
    Source: common practice (the open-ended load times a dynamic factor). Raises ValueError outside the range.
    """
    if finite("dynamic_factor", dynamic_factor) < 1.0:
        raise ValueError(f"dynamic_factor = {dynamic_factor!r}: must be 1 or more")
    return dynamic_factor * hook_load_n(
        weight_air_n=weight_air_n,
        pressure_inside_pa=0.0,
        pressure_outside_pa=pressure_outside_pa,
        bore_area_m2=bore_area_m2,
        outer_area_m2=outer_area_m2,
        shoe=ShoeState.OPEN,
        hook_n=hook_n,
    )


def gauge_load_n(*, pressure_pa: float, piston_area_m2: float, line_parts: int = 1, tare_n: float = 0.0) -> float:
    """Hook load that a hydraulic gauge shows.

    pressure_pa [Pa], 0 or more; piston_area_m2 [m2], more than 0; line_parts counts lines that share the load, 1 or
    more; tare_n [N] that it shows with nothing hung, 0 or more. Returns [N].
    Source: common practice (pressure x area x line parts, less tare; friction in sheaves is not counted). Raises
    ValueError outside the range.
    """
    not_negative("pressure_pa", pressure_pa)
    positive("piston_area_m2", piston_area_m2)
    if line_parts < 1:
        raise ValueError(f"line_parts = {line_parts!r}: must be 1 or more")
    return pressure_pa * piston_area_m2 * line_parts - not_negative("tare_n", tare_n)


def band_n(*, expected_n: float, absolute_n: float, share: float) -> float:
    """Half-width of the band around an expected load within which a reading raises no question.

    expected_n [N]; absolute_n [N], 0 or more; share [-] of the expected load, 0 to 1. Returns [N].
    Source: common practice (the larger of the two). Raises ValueError outside the range.
    """
    not_negative("absolute_n", absolute_n)
    if not 0.0 <= finite("share", share) <= 1.0:
        raise ValueError(f"share = {share!r}: must lie between 0 and 1")
    return max(absolute_n, share * abs(finite("expected_n", expected_n)))


def forecast(*, loads_n: Sequence[float], limit_n: float | None = None) -> Forecast:
    """The largest of a run's loads, joint by joint, and the first that passes a limit.

    loads_n [N] after each joint in turn; limit_n [N], more than 0, or None for no limit.
    Source: arithmetic. Raises ValueError outside the range and for no loads.
    """
    if not loads_n:
        raise ValueError("loads_n = (): must hold at least one load")
    for index, load_n in enumerate(loads_n):
        finite(f"loads_n[{index}]", load_n)
    if limit_n is not None:
        positive("limit_n", limit_n)
    largest_at = max(range(len(loads_n)), key=loads_n.__getitem__)
    past = None if limit_n is None else next((i for i, load_n in enumerate(loads_n) if load_n > limit_n), None)
    return Forecast(largest_n=loads_n[largest_at], largest_at=largest_at, first_past_limit=past)
