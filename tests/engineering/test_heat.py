"""Heat between the printed figures and past them."""

import pytest

from tally.engineering.heat import (
    pvc_pressure_factor,
    pvc_pressure_rating_pa,
    setting_temperature_c,
)


@pytest.mark.parametrize(
    ("temperature_c", "factor"),
    # by hand: 76.5 °F (24.72 °C) lies half-way from 73 to 80 °F, 1 to 0.88; 95 °F half-way from 0.75 to 0.62
    [(-20.0, 1.0), (20.0, 1.0), (44.5 / 1.8, 0.94), (35.0, 0.685), (60.0, 0.22)],
)
def test_between_two_temperatures_the_factor_runs_straight(temperature_c: float, factor: float) -> None:
    assert pvc_pressure_factor(temperature_c) == pytest.approx(factor)


def test_past_the_table_nothing_is_rated() -> None:
    for bad in (60.01, -20.01):
        with pytest.raises(ValueError, match=r"temperature_c = .*between -20\.0 and 60\.0"):
            pvc_pressure_factor(bad)


def test_a_rating_goes_with_its_stress_and_its_ratio() -> None:
    # by hand: 2 x 10 MPa x 10/(110 - 10) = 2 MPa; ratio 11, so that 2 S/(SDR - 1) says the same
    cold = pvc_pressure_rating_pa(outer_diameter_m=0.110, minimum_wall_m=0.010, design_stress_pa=10e6)
    assert cold == pytest.approx(2e6)
    warm = pvc_pressure_rating_pa(
        outer_diameter_m=0.110, minimum_wall_m=0.010, design_stress_pa=10e6, temperature_c=60.0
    )
    assert warm == pytest.approx(0.44e6)
    # a bore of 2 mm is one: 2 x 10 MPa x 54/56
    thick = pvc_pressure_rating_pa(outer_diameter_m=0.110, minimum_wall_m=0.054, design_stress_pa=10e6)
    assert thick == pytest.approx(19.286e6, rel=1e-4)
    with pytest.raises(ValueError, match=r"minimum_wall_m = 0\.055: must be less"):
        pvc_pressure_rating_pa(outer_diameter_m=0.110, minimum_wall_m=0.055)


@pytest.mark.parametrize(
    ("grout_m", "warm_c"),
    # by hand: 12 + 26/1.8 = 26.44; half-way from 38.1 to 50.8 mm the mean of that and 71.11
    [(0.001, 26.444), (0.0381, 26.444), (0.04445, 48.778), (0.0508, 71.111), (1.0, 71.111)],
)
def test_thicker_grout_is_warmer(grout_m: float, warm_c: float) -> None:
    assert setting_temperature_c(grout_m=grout_m, ground_c=12.0) == pytest.approx(warm_c, abs=5e-4)


def test_frozen_ground_and_hot_are_still_ground() -> None:
    # 26 °F is 14.44 K
    for ground_c, warm_c in ((-5.0, 9.444), (40.0, 54.444)):
        assert setting_temperature_c(grout_m=0.02, ground_c=ground_c) == pytest.approx(warm_c, abs=5e-4)


def test_grout_and_ground_past_what_was_measured_are_refused() -> None:
    for bad in ({"grout_m": 0.0}, {"grout_m": 1.001}, {"ground_c": -5.1}, {"ground_c": 40.1}):
        with pytest.raises(ValueError, match=f"{next(iter(bad))} = .*must"):
            setting_temperature_c(**({"grout_m": 0.04, "ground_c": 12.0} | bad))
