"""Warm plastic and the heat of setting against printed figures; sources in tests/published/heat.toml."""

import pytest

from tally.engineering.heat import pvc_pressure_factor, pvc_pressure_rating_pa, setting_temperature_c
from tests.published.tables import Row, rows
from tests.published.units import IN_M, PSI_PA


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32.0) / 1.8


@pytest.mark.parametrize("row", rows("pvc_pressure_factors"), ids=repr)
def test_pressure_factor(row: Row) -> None:
    row.holds(pvc_pressure_factor(celsius(row["temperature_f"])), "factor")


@pytest.mark.parametrize("row", rows("pvc_pressure_worked"), ids=repr)
def test_a_worked_rating(row: Row) -> None:
    rating_pa = pvc_pressure_rating_pa(
        outer_diameter_m=row["outer_in"] * IN_M,
        minimum_wall_m=row["wall_in"] * IN_M,
        temperature_c=celsius(row["temperature_f"]),
    )
    row.holds(rating_pa / PSI_PA, "rating_psi")


@pytest.mark.parametrize("row", rows("setting_heat"), ids=repr)
def test_heat_of_setting(row: Row) -> None:
    warm_c = setting_temperature_c(grout_m=row["grout_in"] * IN_M, ground_c=celsius(row["ground_f"]))
    if "rise_f" in row:
        row.holds((warm_c - celsius(row["ground_f"])) * 1.8, "rise_f")
    else:
        row.holds(warm_c * 1.8 + 32.0, "reaches_f")
