"""Constants of the loss formulas against a handbook; sources in tests/published/slurry.toml."""

import math

import pytest

from tally.engineering.slurry import annulus_laminar_pa_m, pipe_laminar_pa_m, turbulent_pa_m
from tests.published.tables import Row, rows
from tests.published.units import CP_PA_S, FT_M, IN_M, LB_100FT2_PA, LB_GAL_KG_M3, PSI_PA

PSI_FT_PA_M = PSI_PA / FT_M
TINY = 1e-12  # stands for "no viscosity"


def printed_constants() -> dict[str, float]:
    """The constants that our formulas stand for, in the handbook's two systems of units."""
    pipe_viscous = pipe_laminar_pa_m(velocity_m_s=FT_M, diameter_m=IN_M, viscosity_pa_s=CP_PA_S, yield_stress_pa=0)
    pipe_yield = pipe_laminar_pa_m(velocity_m_s=0, diameter_m=IN_M, viscosity_pa_s=TINY, yield_stress_pa=LB_100FT2_PA)
    slot = {"outer_diameter_m": 3 * IN_M, "inner_diameter_m": 2 * IN_M}
    slot_viscous = annulus_laminar_pa_m(velocity_m_s=FT_M, viscosity_pa_s=CP_PA_S, yield_stress_pa=0, **slot)
    slot_yield = annulus_laminar_pa_m(velocity_m_s=0, viscosity_pa_s=TINY, yield_stress_pa=LB_100FT2_PA, **slot)
    metre = {"outer_diameter_m": 3.0, "inner_diameter_m": 2.0}
    turbulent = {"density_kg_m3": LB_GAL_KG_M3, "velocity_m_s": FT_M, "viscosity_pa_s": CP_PA_S}
    return {
        "pipe viscous US": PSI_FT_PA_M / pipe_viscous,
        "pipe yield US": PSI_FT_PA_M / pipe_yield,
        "annulus viscous US": PSI_FT_PA_M / slot_viscous,
        "annulus yield US": PSI_FT_PA_M / slot_yield,
        "pipe viscous SI": 1000 / pipe_laminar_pa_m(velocity_m_s=1, diameter_m=1, viscosity_pa_s=1, yield_stress_pa=0),
        "pipe yield SI": 1000 / pipe_laminar_pa_m(velocity_m_s=0, diameter_m=1, viscosity_pa_s=TINY, yield_stress_pa=1),
        "annulus viscous SI": 1000 / annulus_laminar_pa_m(velocity_m_s=1, viscosity_pa_s=1, yield_stress_pa=0, **metre),
        "annulus yield SI": 1000
        / annulus_laminar_pa_m(velocity_m_s=0, viscosity_pa_s=TINY, yield_stress_pa=1, **metre),
        "pipe turbulent US": PSI_FT_PA_M / turbulent_pa_m(diameter_m=IN_M, **turbulent),
        "annulus turbulent US": PSI_FT_PA_M / turbulent_pa_m(diameter_m=math.sqrt(2 / 3) * IN_M, **turbulent),
    }


@pytest.mark.parametrize("row", rows("loss_constants"), ids=repr)
def test_constants(row: Row) -> None:
    row.holds(printed_constants()[row["term"]], "value")
