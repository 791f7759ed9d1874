"""Heat: how warm setting cement makes the casing beside it, and what warm plastic still holds from inside.

Collapse of plastic goes with its modulus, which is `collapse.pvc_modulus_factor`; pressure from inside goes with its
strength, which falls faster. Taking the one factor for the other would halve collapse at 49 °C.
"""

from bisect import bisect_right

from tally.engineering._check import between, less, positive
from tally.engineering.collapse import PSI_PA

_BY_FAHRENHEIT = ((73, 1.0), (80, 0.88), (90, 0.75), (100, 0.62), (110, 0.51), (120, 0.40), (130, 0.31), (140, 0.22))
PVC_PRESSURE_FACTORS = tuple(((fahrenheit - 32.0) / 1.8, factor) for fahrenheit, factor in _BY_FAHRENHEIT)
"""Pressure rating of PVC pipe by temperature [°C] over that at 73 °F [-]."""
PVC_DESIGN_STRESS_PA = 2_000.0 * PSI_PA  # of PVC 1120, from memory; it reproduces the rating that goes with the table
THIN_GROUT_M, THIN_RISE_K = 1.5 * 0.0254, 26.0 / 1.8
THICK_GROUT_M, THICK_C = 2.0 * 0.0254, (160.0 - 32.0) / 1.8


def setting_temperature_c(*, grout_m: float, ground_c: float) -> float:
    """How warm casing gets beside neat cement that sets, by the grout's thickness; more with an accelerator.

    grout_m [m], thickness of grout beside the casing, more than 0 to 1 m; ground_c [°C], -5 to 40: of the ground
    before. Returns [°C].
    To 1-1/2 in a rise of 26 °F, the upper end of what was measured (17 to 26 °F); from 2 in 160 °F, which thick grout
    can reach; straight between the two, which is ours. Moving water and sand in the mix take heat away.
    Source: Johnson, Kurt and Dunham, Well Grouting and Casing Temperature Increases, Ground Water 1980; Kwader,
    WorldWide Drilling Resource, December 2016, p 20. Raises ValueError outside the range.
    """
    between("grout_m", positive("grout_m", grout_m), 0.0, 1.0)
    thin_c = between("ground_c", ground_c, -5.0, 40.0) + THIN_RISE_K
    share = (grout_m - THIN_GROUT_M) / (THICK_GROUT_M - THIN_GROUT_M)
    return thin_c + max(0.0, min(share, 1.0)) * (THICK_C - thin_c)


def pvc_pressure_factor(temperature_c: float) -> float:
    """Pressure rating of PVC pipe over that at 73 °F, linear between the table's temperatures. Not for collapse.

    temperature_c [°C], -20 to 60: below 73 °F the factor stays 1, above 140 °F plastic holds no pressure.
    Returns [-].
    Source: a pipe maker's table of temperature derating, Schedule 40 and 80 PVC. Raises ValueError outside the range.
    """
    between("temperature_c", temperature_c, -20.0, PVC_PRESSURE_FACTORS[-1][0])
    index = bisect_right(PVC_PRESSURE_FACTORS, temperature_c, key=lambda row: row[0])
    if index == 0:
        return 1.0
    if index == len(PVC_PRESSURE_FACTORS):
        return PVC_PRESSURE_FACTORS[-1][1]
    (low_c, low), (high_c, high) = PVC_PRESSURE_FACTORS[index - 1], PVC_PRESSURE_FACTORS[index]
    return low + (high - low) * (temperature_c - low_c) / (high_c - low_c)


def pvc_pressure_rating_pa(
    *,
    outer_diameter_m: float,
    minimum_wall_m: float,
    temperature_c: float = 20.0,
    design_stress_pa: float = PVC_DESIGN_STRESS_PA,
) -> float:
    """Steady pressure from inside that unthreaded plastic pipe is rated for: 2 S t/(D - t), times its factor.

    outer_diameter_m [m], more than twice the wall; minimum_wall_m [m], more than 0; temperature_c [°C], -20 to 60;
    design_stress_pa [Pa], more than 0, with its safety in it. Returns [Pa].
    Source: ASTM D1785 and D2241, the formula and the design stress of PVC 1120 from memory. Raises ValueError outside
    the range.
    """
    positive("minimum_wall_m", minimum_wall_m)
    less("minimum_wall_m", minimum_wall_m, "half of outer_diameter_m", outer_diameter_m / 2.0)
    cold_pa = (
        2.0 * positive("design_stress_pa", design_stress_pa) * minimum_wall_m / (outer_diameter_m - minimum_wall_m)
    )
    return cold_pa * pvc_pressure_factor(temperature_c)
