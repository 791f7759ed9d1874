"""Slurry in motion: the pressure that a Bingham fluid loses in pipes and narrow annuli, laminar and turbulent."""

import math

from tally.engineering._check import finite, less, not_negative, positive
from tally.engineering.pipe import circle_area_m2, ring_area_m2

_SLOT = 0.816  # equivalent diameter of a narrow annulus over its gap, square root of two thirds
_HANKS = 16_800.0
_NEWTONIAN_LIMIT = 2100.0


def velocity_m_s(*, flow_m3_s: float, area_m2: float) -> float:
    """Mean velocity.

    flow_m3_s [m3/s], 0 or more; area_m2 [m2], more than 0. Returns [m/s].
    Source: continuity. Raises ValueError outside the range.
    """
    return not_negative("flow_m3_s", flow_m3_s) / positive("area_m2", area_m2)


def reynolds(*, density_kg_m3: float, velocity_m_s: float, diameter_m: float, viscosity_pa_s: float) -> float:
    """Reynolds number on the plastic viscosity.

    density_kg_m3 [kg/m3], diameter_m [m] and viscosity_pa_s [Pa s], more than 0; velocity_m_s [m/s], 0 or more.
    Returns [-].
    Source: definition. Raises ValueError outside the range.
    """
    positive("density_kg_m3", density_kg_m3)
    not_negative("velocity_m_s", velocity_m_s)
    return (
        density_kg_m3 * velocity_m_s * positive("diameter_m", diameter_m) / positive("viscosity_pa_s", viscosity_pa_s)
    )


def hedstrom(*, density_kg_m3: float, yield_stress_pa: float, diameter_m: float, viscosity_pa_s: float) -> float:
    """Hedstrom number of a Bingham fluid.

    density_kg_m3 [kg/m3], diameter_m [m] and viscosity_pa_s [Pa s], more than 0; yield_stress_pa [Pa], 0 or more.
    Returns [-].
    Source: definition. Raises ValueError outside the range.
    """
    positive("density_kg_m3", density_kg_m3)
    not_negative("yield_stress_pa", yield_stress_pa)
    return (
        density_kg_m3
        * yield_stress_pa
        * (positive("diameter_m", diameter_m) / positive("viscosity_pa_s", viscosity_pa_s)) ** 2
    )


def critical_reynolds(hedstrom_number: float) -> float:
    """Reynolds number at which a Bingham fluid's flow turns turbulent.

    hedstrom_number [-], 0 or more. Returns [-], never under 2100, the limit without yield stress.
    Source: Hanks 1963: x/(1 - x)3 = He/16800, Re = He (1 - 4x/3 + x4/3)/(8x). Raises ValueError outside the range.
    """
    if not_negative("hedstrom_number", hedstrom_number) < 1e-6:
        return _NEWTONIAN_LIMIT
    low, high = 0.0, 1.0
    for _ in range(200):
        x = (low + high) / 2.0
        if x <= low or x >= high:
            break
        low, high = (low, x) if x > hedstrom_number / _HANKS * (1.0 - x) ** 3 else (x, high)
    x = (low + high) / 2.0
    return max(_NEWTONIAN_LIMIT, hedstrom_number * (1.0 - 4.0 * x / 3.0 + x**4 / 3.0) / (8.0 * x))


def pipe_laminar_pa_m(
    *, velocity_m_s: float, diameter_m: float, viscosity_pa_s: float, yield_stress_pa: float
) -> float:
    """Loss per length of a Bingham fluid in laminar flow through a pipe.

    velocity_m_s [m/s], 0 or more; diameter_m [m] and viscosity_pa_s [Pa s], more than 0; yield_stress_pa [Pa], 0 or
    more. Returns [Pa/m]. The yield term 16/3 t/d is the usual approximation; standing still takes 4 t/d, so that it
    overstates slow flow by up to a third.
    Source: Guo and Liu, Applied Drilling Circulation Systems, 2011, eq 2.58 (its 1500 and 225, here exact). Raises
    ValueError outside the range.
    """
    not_negative("velocity_m_s", velocity_m_s)
    positive("diameter_m", diameter_m)
    positive("viscosity_pa_s", viscosity_pa_s)
    not_negative("yield_stress_pa", yield_stress_pa)
    return 32.0 * viscosity_pa_s * velocity_m_s / diameter_m**2 + 16.0 / 3.0 * yield_stress_pa / diameter_m


def annulus_laminar_pa_m(
    *,
    velocity_m_s: float,
    outer_diameter_m: float,
    inner_diameter_m: float,
    viscosity_pa_s: float,
    yield_stress_pa: float,
) -> float:
    """Loss per length of a Bingham fluid in laminar flow through a narrow annulus, taken as a slot.

    velocity_m_s [m/s], 0 or more; outer_diameter_m [m] of the hole, more than inner_diameter_m [m] of the pipe, 0 or
    more; viscosity_pa_s [Pa s], more than 0; yield_stress_pa [Pa], 0 or more. Returns [Pa/m].
    Source: Guo and Liu 2011, eq 2.59 (its 1000 and 200, here exact). Raises ValueError outside the range.
    """
    not_negative("velocity_m_s", velocity_m_s)
    positive("viscosity_pa_s", viscosity_pa_s)
    not_negative("yield_stress_pa", yield_stress_pa)
    gap_m = _gap_m(outer_diameter_m, inner_diameter_m)
    return 48.0 * viscosity_pa_s * velocity_m_s / gap_m**2 + 6.0 * yield_stress_pa / gap_m


def turbulent_pa_m(*, density_kg_m3: float, velocity_m_s: float, diameter_m: float, viscosity_pa_s: float) -> float:
    """Loss per length in turbulent flow through a smooth pipe; an annulus takes 0.816 of its diameters' difference.

    density_kg_m3 [kg/m3], diameter_m [m] and viscosity_pa_s [Pa s], more than 0; velocity_m_s [m/s], 0 or more.
    Returns [Pa/m].
    Source: Blasius, f = 0.0791 Re^-0.25, as in Guo and Liu 2011, eq 2.60 (its 1800). Raises ValueError outside the
    range.
    """
    number = reynolds(
        density_kg_m3=density_kg_m3, velocity_m_s=velocity_m_s, diameter_m=diameter_m, viscosity_pa_s=viscosity_pa_s
    )
    return 2.0 * 0.0791 * number**-0.25 * density_kg_m3 * velocity_m_s**2 / diameter_m if number else 0.0


def pipe_loss_pa(
    *,
    flow_m3_s: float,
    bore_m: float,
    length_m: float,
    density_kg_m3: float,
    viscosity_pa_s: float,
    yield_stress_pa: float,
) -> float:
    """Pressure lost to friction in a pipe, hose or tremie.

    flow_m3_s [m3/s], length_m [m] and yield_stress_pa [Pa], 0 or more; bore_m [m], density_kg_m3 [kg/m3] and
    viscosity_pa_s [Pa s], more than 0. Returns [Pa]; 0 at no flow, though a yield stress may hold a standing column.
    Past the critical Reynolds number the larger of the laminar and the turbulent loss counts, so that the loss never
    falls as the rate rises.
    Source: Guo and Liu 2011, eqs 2.58 to 2.61; Hanks 1963 for the limit. Raises ValueError outside the range.
    """
    speed_m_s = velocity_m_s(flow_m3_s=flow_m3_s, area_m2=circle_area_m2(positive("bore_m", bore_m)))
    laminar_pa_m = pipe_laminar_pa_m(
        velocity_m_s=speed_m_s, diameter_m=bore_m, viscosity_pa_s=viscosity_pa_s, yield_stress_pa=yield_stress_pa
    )
    return not_negative("length_m", length_m) * _loss_pa_m(
        laminar_pa_m, density_kg_m3, speed_m_s, bore_m, viscosity_pa_s, yield_stress_pa
    )


def annulus_loss_pa(
    *,
    flow_m3_s: float,
    outer_diameter_m: float,
    inner_diameter_m: float,
    length_m: float,
    density_kg_m3: float,
    viscosity_pa_s: float,
    yield_stress_pa: float,
) -> float:
    """Pressure lost to friction in an annulus.

    flow_m3_s [m3/s], length_m [m] and yield_stress_pa [Pa], 0 or more; outer_diameter_m [m] of the hole, more than
    inner_diameter_m [m] of the pipe, 0 or more; density_kg_m3 [kg/m3] and viscosity_pa_s [Pa s], more than 0. Returns
    [Pa]; 0 at no flow.
    Source: Guo and Liu 2011, eqs 2.59 and 2.61; Hanks 1963 for the limit. Raises ValueError outside the range.
    """
    area_m2 = ring_area_m2(outer_diameter_m=outer_diameter_m, bore_m=inner_diameter_m)
    speed_m_s = velocity_m_s(flow_m3_s=flow_m3_s, area_m2=area_m2)
    laminar_pa_m = annulus_laminar_pa_m(
        velocity_m_s=speed_m_s,
        outer_diameter_m=outer_diameter_m,
        inner_diameter_m=inner_diameter_m,
        viscosity_pa_s=viscosity_pa_s,
        yield_stress_pa=yield_stress_pa,
    )
    equivalent_m = _SLOT * _gap_m(outer_diameter_m, inner_diameter_m)
    return not_negative("length_m", length_m) * _loss_pa_m(
        laminar_pa_m, density_kg_m3, speed_m_s, equivalent_m, viscosity_pa_s, yield_stress_pa
    )


def _gap_m(outer_diameter_m: float, inner_diameter_m: float) -> float:
    """Difference of the two diameters."""
    not_negative("inner_diameter_m", inner_diameter_m)
    less("inner_diameter_m", inner_diameter_m, "outer_diameter_m", outer_diameter_m)
    return outer_diameter_m - inner_diameter_m


def _loss_pa_m(
    laminar_pa_m: float,
    density_kg_m3: float,
    speed_m_s: float,
    diameter_m: float,
    viscosity_pa_s: float,
    yield_stress_pa: float,
) -> float:
    """Loss per length by the regime that the flow is in."""
    number = reynolds(
        density_kg_m3=density_kg_m3, velocity_m_s=speed_m_s, diameter_m=diameter_m, viscosity_pa_s=viscosity_pa_s
    )
    if number == 0.0:
        return 0.0
    he = hedstrom(
        density_kg_m3=density_kg_m3,
        yield_stress_pa=yield_stress_pa,
        diameter_m=diameter_m,
        viscosity_pa_s=viscosity_pa_s,
    )
    if number <= critical_reynolds(he):
        return laminar_pa_m
    turbulent = turbulent_pa_m(
        density_kg_m3=density_kg_m3, velocity_m_s=speed_m_s, diameter_m=diameter_m, viscosity_pa_s=viscosity_pa_s
    )
    return max(laminar_pa_m, turbulent)


def pump_pressure_pa(*, friction_pa: float, outside_at_outlet_pa: float, line_column_pa: float) -> float:
    """Pressure at the pump: friction, and what stands outside the outlet less the column in the line; 0 when the line
    falls freely.

    friction_pa [Pa] of line, tremie and annulus together, outside_at_outlet_pa [Pa] and line_column_pa [Pa], 0 or
    more. Returns [Pa].
    Source: the energy balance without its velocity terms. Raises ValueError outside the range.
    """
    not_negative("friction_pa", friction_pa)
    not_negative("outside_at_outlet_pa", outside_at_outlet_pa)
    return max(0.0, friction_pa + outside_at_outlet_pa - not_negative("line_column_pa", line_column_pa))


def flow_at_loss_m3_s(
    *,
    loss_pa: float,
    bore_m: float,
    length_m: float,
    density_kg_m3: float,
    viscosity_pa_s: float,
    yield_stress_pa: float,
) -> float:
    """Rate at which a pipe's friction reaches a limit; 0 when its yield stress alone takes more.

    loss_pa [Pa], more than 0; bore_m [m], length_m [m], density_kg_m3 [kg/m3] and viscosity_pa_s [Pa s], more than 0;
    yield_stress_pa [Pa], 0 or more. Returns [m3/s]: where the loss jumps past the limit as the flow turns turbulent,
    the rate of the jump.
    Source: `pipe_loss_pa` inverted by bisection. Raises ValueError outside the range.
    """
    positive("loss_pa", loss_pa)
    positive("length_m", length_m)

    def over(flow_m3_s: float) -> bool:
        return loss_pa < pipe_loss_pa(
            flow_m3_s=flow_m3_s,
            bore_m=bore_m,
            length_m=length_m,
            density_kg_m3=density_kg_m3,
            viscosity_pa_s=viscosity_pa_s,
            yield_stress_pa=yield_stress_pa,
        )

    low, high = 0.0, circle_area_m2(bore_m)  # begin at a mean velocity of 1 m/s
    while not over(high):
        low, high = high, high * 2.0
    while math.nextafter(low, high) < high and high - low > 1e-12 * high:
        middle = (low + high) / 2.0
        low, high = (low, middle) if over(middle) else (middle, high)
    return finite("flow_m3_s", low)
