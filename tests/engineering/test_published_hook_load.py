"""Open-ended strings against printed buoyancy factors; sources in tests/published/hook_load.toml."""

import pytest

from tally.engineering.hook_load import FluidLayer, ShoeState, column_pressure_pa, hook_load_n, weight_n
from tally.engineering.pipe import circle_area_m2, plain_end_mass_kg_m, ring_area_m2
from tests.published.tables import Row, rows
from tests.published.units import BBL_M3, FT_M, IN_M, LB_FT_KG_M, LB_GAL_KG_M3, LBF_N

OUTER_M, BORE_M = 7 * IN_M, 6 * IN_M


def open_ended_share(fluid_kg_m3: float, steel_kg_m3: float, length_m: float = 100.0) -> float:
    """Load of an open-ended string standing full in one fluid, over its weight in air."""
    mass = length_m * plain_end_mass_kg_m(outer_diameter_m=OUTER_M, bore_m=BORE_M, density_kg_m3=steel_kg_m3)
    load = hook_load_n(
        weight_air_n=weight_n(mass),
        pressure_inside_pa=0.0,
        pressure_outside_pa=column_pressure_pa([FluidLayer(0, length_m, fluid_kg_m3)], length_m),
        bore_area_m2=circle_area_m2(BORE_M),
        outer_area_m2=circle_area_m2(OUTER_M),
        shoe=ShoeState.OPEN,
    )
    return load / weight_n(mass)


@pytest.mark.parametrize("row", rows("buoyancy_us", "short_rule"), ids=repr)
def test_buoyancy_factor(row: Row) -> None:
    row.holds(open_ended_share(row["fluid_lb_gal"] * LB_GAL_KG_M3, row["steel_lb_gal"] * LB_GAL_KG_M3), "factor")


@pytest.mark.parametrize("row", rows("buoyancy_metric"), ids=repr)
def test_buoyancy_factor_in_metric_units(row: Row) -> None:
    row.holds(open_ended_share(row["fluid_kg_m3"], row["steel_kg_m3"]), "factor")


@pytest.mark.parametrize("row", rows("hook_load_worked"), ids=repr)
def test_a_worked_hook_load(row: Row) -> None:
    length, steel = row["length_ft"] * FT_M, row["steel_lb_gal"] * LB_GAL_KG_M3
    mass = length * row["lb_ft"] * LB_FT_KG_M
    metal_m2 = mass / length / steel
    bore_m2 = circle_area_m2(BORE_M)
    load = hook_load_n(
        weight_air_n=weight_n(mass),
        pressure_inside_pa=0.0,
        pressure_outside_pa=column_pressure_pa([FluidLayer(0, length, row["fluid_lb_gal"] * LB_GAL_KG_M3)], length),
        bore_area_m2=bore_m2,
        outer_area_m2=bore_m2 + metal_m2,
        shoe=ShoeState.OPEN,
    )
    row.holds(load / LBF_N, "hook_load_lbf")


@pytest.mark.parametrize("row", rows("metal_displacement"), ids=repr)
def test_displacement_rules(row: Row) -> None:
    if row["kind"] == "metal":
        area = ring_area_m2(outer_diameter_m=OUTER_M, bore_m=BORE_M)
        mass = plain_end_mass_kg_m(outer_diameter_m=OUTER_M, bore_m=BORE_M, density_kg_m3=65.5 * LB_GAL_KG_M3)
        row.holds(area * 100 * FT_M / BBL_M3 / (mass / LB_FT_KG_M), "value")
    else:
        row.holds(circle_area_m2(10 * IN_M) * 1000 * FT_M / BBL_M3 / 10**2, "value")
