"""Collapse: what outside pressure a pipe stands, by the formula named, and what it is asked to stand."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from tally.engineering._check import between, finite, less, not_negative, one_of, positive
from tally.engineering.fluid import FluidLayer, column_pressure_pa

PSI_PA = 6894.757293168  # one pound-force a square inch
PVC_MODULUS_PA = 400_000 * PSI_PA
PVC_POISSON = 0.38
# Modulus of PVC by temperature [°C] over that at 23 °C [-]: a pipe handbook's table from memory, not checked, so that a
# plan may say otherwise.
PVC_MODULUS_FACTORS = ((23.0, 1.0), (32.0, 0.93), (38.0, 0.88), (43.0, 0.84), (49.0, 0.79), (54.0, 0.75), (60.0, 0.70))


@dataclass(frozen=True, slots=True)
class Rating:
    """A collapse pressure [Pa] and the formula that gave it."""

    pressure_pa: float
    formula: str


@dataclass(frozen=True, slots=True)
class Differential:
    """The largest outside pressure over inside [Pa] along a string, and its depth [m]."""

    pressure_pa: float
    depth_m: float


def _ratio(outer_diameter_m: float, wall_m: float) -> float:
    """Diameter over wall."""
    positive("wall_m", wall_m)
    less("wall_m", wall_m, "half of outer_diameter_m", finite("outer_diameter_m", outer_diameter_m) / 2.0)
    return outer_diameter_m / wall_m


API_YIELDS_PA = (170e6, 1100e6)
"""The range over which the fitted coefficients make sense."""


def api_collapse(*, outer_diameter_m: float, wall_m: float, yield_pa: float) -> Rating:
    """Minimum collapse pressure of steel casing by its regime: yield, plastic, transition or elastic.

    outer_diameter_m [m], more than twice the wall; wall_m [m], more than 0; yield_pa [Pa], 170 to 1100 MPa, the range
    over which the fitted coefficients make sense.
    Source: API Bulletin 5C2 and 5C3, in psi inside. No axial load, no safety factor. Raises ValueError outside the
    range.
    """
    n = _ratio(outer_diameter_m, wall_m)
    between("yield_pa", yield_pa, *API_YIELDS_PA)
    y = yield_pa / PSI_PA
    a = 2.8762 + 0.10679e-5 * y + 0.21301e-10 * y**2 - 0.53132e-16 * y**3
    b = 0.026233 + 0.50609e-6 * y
    c = -465.93 + 0.030867 * y - 0.10483e-7 * y**2 + 0.36989e-13 * y**3
    r = b / a
    q = 3.0 * r / (2.0 + r)
    f = 46.95e6 * q**3 / (y * (q - r) * (1.0 - q) ** 2)
    g = f * r
    if n <= (((a - 2.0) ** 2 + 8.0 * (b + c / y)) ** 0.5 + (a - 2.0)) / (2.0 * (b + c / y)):
        psi, regime = 2.0 * y * (n - 1.0) / n**2, "yield"
    elif n <= y * (a - f) / (c + y * (b - g)):
        psi, regime = y * (a / n - b) - c, "plastic"
    elif n <= (2.0 + r) / (3.0 * r):
        psi, regime = y * (f / n - g), "transition"
    else:
        psi, regime = 46.95e6 / (n * (n - 1.0) ** 2), "elastic"
    return Rating(psi * PSI_PA, f"API 5C3 {regime}")


def stewart_collapse(*, outer_diameter_m: float, wall_m: float) -> Rating:
    """Collapse pressure of lap-welded steel tube by Stewart's tests of 1906.

    outer_diameter_m [m], more than twice the wall; wall_m [m], more than 0.
    Source: Stewart 1906, ASME, coefficients from memory; within 4 % of API elastic for D/t over 42.
    Raises ValueError outside the range, and for walls thinner than his formula gives a positive pressure for.
    """
    thinness = 1.0 / _ratio(outer_diameter_m, wall_m)
    psi = 50.21e6 * thinness**3 if thinness < 0.023 else 86_670.0 * thinness - 1386.0
    return Rating(psi * PSI_PA, "Stewart 1906")


def elastic_collapse(
    *, outer_diameter_m: float, wall_m: float, modulus_pa: float, poisson: float, form: str = "a"
) -> Rating:
    """Elastic collapse pressure of an ideal tube, by one of the two forms in circulation.

    outer_diameter_m [m], more than twice the wall; wall_m [m], the minimum one, more than 0; modulus_pa [Pa], more
    than 0; poisson [-], 0 to 0.5; form a: 2E/(1 - v2) / [n (n - 1)2], form b: 2E/(1 - v2) / (n - 1)3, n = D/t.
    Source: Timoshenko; form a as in ASTM F480's appendix, from memory. Ideal: about 40 % too much for real steel
    casing, so take `api_collapse` there. Raises ValueError outside the range.
    """
    n = _ratio(outer_diameter_m, wall_m)
    positive("modulus_pa", modulus_pa)
    between("poisson", poisson, 0.0, 0.5)
    one_of("form", form, ("a", "b"))
    stiffness_pa = 2.0 * modulus_pa / (1.0 - poisson * poisson)
    shape = n * (n - 1.0) ** 2 if form == "a" else (n - 1.0) ** 3
    name = "2E/(1-v2)/[n(n-1)2]" if form == "a" else "2E/(1-v2)/(n-1)3"
    return Rating(stiffness_pa / shape, f"elastic, form {form}: {name}")


def plastic_collapse(
    *,
    outer_diameter_m: float,
    minimum_wall_m: float,
    temperature_c: float = 23.0,
    modulus_pa: float = PVC_MODULUS_PA,
    poisson: float = PVC_POISSON,
    form: str = "a",
) -> Rating:
    """Collapse pressure of plastic casing with its modulus lowered for temperature.

    outer_diameter_m [m], more than twice the wall; minimum_wall_m [m], more than 0; temperature_c [°C], up to 60;
    modulus_pa [Pa] at 23 °C, more than 0; poisson [-], 0 to 0.5; form a or b of `elastic_collapse`.
    Source: ASTM F480's appendix, from memory; the temperature factor as in `pvc_modulus_factor`. Raises ValueError
    outside the range.
    """
    cold = elastic_collapse(
        outer_diameter_m=outer_diameter_m, wall_m=minimum_wall_m, modulus_pa=modulus_pa, poisson=poisson, form=form
    )
    factor = pvc_modulus_factor(temperature_c)
    return Rating(cold.pressure_pa * factor, f"{cold.formula}, modulus x {factor:.2f}")


def pvc_modulus_factor(temperature_c: float) -> float:
    """Modulus of PVC over that at 23 °C, linear between the table's temperatures. Collapse goes with it, not with a
    pressure rating.

    temperature_c [°C], -20 to 60: below 23 °C the factor stays 1, above 60 °C no casing of PVC should be relied on.
    Returns [-].
    Source: a pipe handbook's table, from memory: a default that a plan may override. Raises ValueError outside the
    range.
    """
    between("temperature_c", temperature_c, -20.0, PVC_MODULUS_FACTORS[-1][0])
    index = bisect_right(PVC_MODULUS_FACTORS, temperature_c, key=lambda row: row[0])
    if index == 0:
        return 1.0
    if index == len(PVC_MODULUS_FACTORS):
        return PVC_MODULUS_FACTORS[-1][1]
    (low_c, low), (high_c, high) = PVC_MODULUS_FACTORS[index - 1], PVC_MODULUS_FACTORS[index]
    return low + (high - low) * (temperature_c - low_c) / (high_c - low_c)


def largest_differential(
    *, outside: Sequence[FluidLayer], inside: Sequence[FluidLayer], bottom_m: float
) -> Differential:
    """The largest outside pressure over inside from ground level down to a depth.

    outside, inside: standing layers, depths [m] and densities [kg/m3]; bottom_m [m], 0 or more.
    Both pressures run straight between layer boundaries, so that the largest difference stands at one of them.
    Source: hydrostatics. Raises ValueError outside the range and for layers that overlap.
    """
    if finite("bottom_m", bottom_m) < 0.0:
        raise ValueError(f"bottom_m = {bottom_m!r}: must be 0 or more")
    boundaries_m = {depth for layer in (*outside, *inside) for depth in (layer.top_m, layer.bottom_m)}
    depths_m = sorted({0.0, bottom_m, *(depth for depth in boundaries_m if 0.0 < depth < bottom_m)})
    return max(
        (Differential(column_pressure_pa(outside, z) - column_pressure_pa(inside, z), z) for z in depths_m),
        key=lambda found: found.pressure_pa,
    )


def burst_pa(*, outer_diameter_m: float, wall_m: float, yield_pa: float, wall_tolerance: float = 0.125) -> float:
    """Inside pressure at which steel pipe of the thinnest allowed wall begins to yield.

    outer_diameter_m [m], more than twice the wall; wall_m [m] and yield_pa [Pa], more than 0; wall_tolerance [-], the
    share of the wall that the mill may fall short by, 0 or more and under 1. Returns [Pa].
    Source: API Bulletin 5C3, minimum internal yield pressure, 0.875 x 2 Y t/D. Raises ValueError outside the range.
    """
    n = _ratio(outer_diameter_m, wall_m)
    less("wall_tolerance", not_negative("wall_tolerance", wall_tolerance), "the whole wall", 1.0)
    return (1.0 - wall_tolerance) * 2.0 * positive("yield_pa", yield_pa) / n
