"""Hook load at its edges: where a limit stands to the last digit, by hand."""

import math

import pytest

from tally.engineering.hook_load import (
    GRAVITY_M_S2,
    ShoeState,
    StringStep,
    band_n,
    float_failure_load_n,
    forecast,
    hold_down_n,
    inside_density_for_load_kg_m3,
    inside_level_for_load_m,
    pump_pressure_limit_pa,
    stepped_hook_load_n,
)


def test_a_stepped_string_has_steps_and_hangs_from_its_hook() -> None:
    with pytest.raises(ValueError, match=r"steps = \(\): must hold at least one step"):
        stepped_hook_load_n(weight_air_n=1000.0, steps=[], shoe=ShoeState.OPEN)
    # 1000 N and 50 N of hook less 0.01 m2 of metal at 10 kPa
    step = StringStep(0.02, 0.03, 0.0, 10_000.0)
    found = stepped_hook_load_n(weight_air_n=1000.0, steps=[step], shoe=ShoeState.OPEN, hook_n=50.0)
    assert found == pytest.approx(950.0)


def test_the_pump_s_limit_starts_from_no_pressure() -> None:
    # weightless pipe with nothing in it: held with 3 mN on 0.03 m2, 0.1 Pa lift it
    limit_pa = pump_pressure_limit_pa(
        weight_air_n=0.0, pressure_inside_pa=0.0, bore_area_m2=0.02, outer_area_m2=0.03, held_n=0.003
    )
    assert limit_pa == pytest.approx(0.1)
    nothing = {"weight_air_n": 0.0, "pressure_inside_pa": 0.0, "bore_area_m2": 0.02, "outer_area_m2": 0.03}
    assert pump_pressure_limit_pa(**nothing) == 0.0


def test_nothing_is_held_down_that_hangs() -> None:
    assert (hold_down_n(0.01), hold_down_n(0.0), hold_down_n(-0.01)) == (0.0, 0.0, 0.01)


def level_m(missing_pa: float, depth_m: float = 10.0) -> float | None:
    """Inside water for a weightless closed pipe on whose face just so much presses that the bore needs `missing_pa`."""
    return inside_level_for_load_m(
        weight_air_n=0.0,
        pressure_outside_pa=missing_pa * 0.02 / 0.03,
        bore_area_m2=0.02,
        outer_area_m2=0.03,
        shoe_depth_m=depth_m,
        inside_kg_m3=1000.0,
    )


def test_an_inside_level_from_the_shoe_up_to_ground() -> None:
    assert level_m(0.0) == 10.0
    # a centimetre of water is 98.07 Pa
    assert level_m(0.01 * 1000.0 * GRAVITY_M_S2) == pytest.approx(9.99)
    assert level_m(9.99 * 1000.0 * GRAVITY_M_S2) == pytest.approx(0.01, rel=1e-9)
    assert level_m(10.01 * 1000.0 * GRAVITY_M_S2) is None


def test_dry_is_enough_for_what_hangs_anyway() -> None:
    needed = {"pressure_outside_pa": 0.0, "bore_area_m2": 0.02, "outer_area_m2": 0.03, "column_m": 1.0}
    assert inside_density_for_load_kg_m3(weight_air_n=10.0, **needed) == 0.0
    assert inside_density_for_load_kg_m3(weight_air_n=0.0, **needed) == 0.0
    # 1 mN short on 0.02 m2 is 0.05 Pa: 5.1 g to the cubic metre
    assert inside_density_for_load_kg_m3(weight_air_n=0.0, wanted_n=0.001, **needed) == pytest.approx(
        0.05 / GRAVITY_M_S2
    )


def test_a_float_that_fails_leaves_the_buoyed_weight() -> None:
    found = float_failure_load_n(
        weight_air_n=1000.0, pressure_outside_pa=0.0, bore_area_m2=0.02, outer_area_m2=0.03, dynamic_factor=1.0
    )
    assert found == pytest.approx(1000.0, rel=1e-14)


@pytest.mark.parametrize(("share", "band"), [(0.0, 10.0), (0.01, 10.0), (0.02, 20.0), (1.0, 1000.0)])
def test_a_band_is_the_larger_of_two(share: float, band: float) -> None:
    assert band_n(expected_n=-1000.0, absolute_n=10.0, share=share) == pytest.approx(band)


@pytest.mark.parametrize("bad", [-0.001, 1.001, math.nan])
def test_a_band_takes_no_share_but_a_share(bad: float) -> None:
    with pytest.raises(ValueError, match=r"share = .*must"):
        band_n(expected_n=1000.0, absolute_n=10.0, share=bad)


def test_every_load_of_a_run_is_a_number() -> None:
    with pytest.raises(ValueError, match=r"loads_n\[1\] = nan: must be a finite number"):
        forecast(loads_n=[1.0, math.nan, 2.0])
