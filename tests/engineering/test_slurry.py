"""Friction: limits that the formulas must meet, and a tremie worked through."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.engineering import slurry
from tests.published.units import CP_PA_S, FT_M, IN_M, LB_100FT2_PA, LB_GAL_KG_M3, PSI_PA, US_GAL_M3

NEAT = {"density_kg_m3": 15.6 * LB_GAL_KG_M3, "viscosity_pa_s": 40 * CP_PA_S, "yield_stress_pa": 30 * LB_100FT2_PA}
TREMIE = {"bore_m": 1.049 * IN_M, "length_m": 200 * FT_M}


def test_pinned_tremie() -> None:
    # neat 40 cp, 30 lb/100 ft2, 10 gal/min, 200 ft of 1.049 in bore: 0.0899 + 0.1271 = 0.217 psi/ft, 43.4 psi
    loss = slurry.pipe_loss_pa(flow_m3_s=10 * US_GAL_M3 / 60, **TREMIE, **NEAT)
    assert loss / PSI_PA == pytest.approx(43.4, abs=0.1)


def test_pinned_annulus() -> None:
    # the same into 8.75 x 5.563 in: 0.0004 + 0.0471 psi/ft, 9.5 psi in 200 ft
    loss = slurry.annulus_loss_pa(
        flow_m3_s=10 * US_GAL_M3 / 60,
        outer_diameter_m=8.75 * IN_M,
        inner_diameter_m=5.563 * IN_M,
        length_m=200 * FT_M,
        **NEAT,
    )
    assert loss / PSI_PA == pytest.approx(9.5, abs=0.05)


def test_water_in_laminar_flow_is_hagen_poiseuille() -> None:
    # dp = 128 mu Q L/(pi d4): 1e-3 Pa s, 1e-6 m3/s, 10 mm, 1 m: 128e-9/(pi 1e-8) = 4.0744 Pa
    loss = slurry.pipe_loss_pa(
        flow_m3_s=1e-6, bore_m=0.01, length_m=1, density_kg_m3=1000, viscosity_pa_s=1e-3, yield_stress_pa=0
    )
    assert loss == pytest.approx(4.0744, abs=5e-5)


def test_a_narrow_annulus_is_a_slot() -> None:
    # two plates a gap h apart: dp/L = 12 mu v/h2 (plane Poiseuille flow); h is half the diameters' difference
    loss = slurry.annulus_laminar_pa_m(
        velocity_m_s=0.1, outer_diameter_m=0.3, inner_diameter_m=0.28, viscosity_pa_s=0.05, yield_stress_pa=0
    )
    assert loss == pytest.approx(12 * 0.05 * 0.1 / 0.01**2)


def test_turbulent_water_by_blasius() -> None:
    # Darcy f = 0.3164 Re^-0.25 (Blasius 1913): Re 50 000 gives 0.021159; f rho v2/(2 d) = 211.59 Pa/m
    loss = slurry.turbulent_pa_m(density_kg_m3=1000, velocity_m_s=1.0, diameter_m=0.05, viscosity_pa_s=1e-3)
    assert loss == pytest.approx(211.59, abs=0.05)


@given(st.floats(1e-4, 0.99))
def test_the_critical_reynolds_number_solves_hanks(x: float) -> None:
    # Hanks 1963, taken from the other side: choose the ratio of yield to wall stress, work out He and Re
    hedstrom = 16_800 * x / (1 - x) ** 3
    expected = hedstrom * (1 - 4 * x / 3 + x**4 / 3) / (8 * x)
    assert slurry.critical_reynolds(hedstrom) == pytest.approx(max(2100.0, expected), rel=1e-6)


def test_without_yield_stress_the_limit_is_that_of_pipes() -> None:
    assert slurry.critical_reynolds(0.0) == 2100.0
    assert slurry.critical_reynolds(1e-7) == pytest.approx(2100.0)


@given(st.lists(st.floats(1e-6, 0.02), min_size=2, max_size=8), st.floats(0.02, 0.1), st.floats(0, 30))
def test_loss_never_falls_as_the_rate_rises(flows: list[float], bore: float, yield_pa: float) -> None:
    losses = [
        slurry.pipe_loss_pa(
            flow_m3_s=flow,
            bore_m=bore,
            length_m=50,
            density_kg_m3=1850,
            viscosity_pa_s=0.04,
            yield_stress_pa=yield_pa,
        )
        for flow in sorted(flows)
    ]
    assert losses == sorted(losses)


@given(st.floats(1e3, 5e6), st.floats(0.02, 0.1))
def test_the_rate_at_a_limit_is_just_under_it(limit: float, bore: float) -> None:
    pipe = {"bore_m": bore, "length_m": 60.0, **NEAT}
    flow = slurry.flow_at_loss_m3_s(loss_pa=limit, **pipe)
    assert slurry.pipe_loss_pa(flow_m3_s=flow, **pipe) <= limit
    assert slurry.pipe_loss_pa(flow_m3_s=flow * (1 + 1e-9) + 1e-15, **pipe) > limit


def test_a_slurry_too_stiff_for_the_limit_does_not_move() -> None:
    # yield term alone: 16/3 x 14.4 Pa / 0.0266 m x 61 m = 176 kPa
    assert slurry.flow_at_loss_m3_s(loss_pa=1e5, **TREMIE, **NEAT) == pytest.approx(0.0, abs=1e-12)


def test_pump_pressure_by_hand() -> None:
    # 300 kPa of friction, 540 kPa outside the end, 880 kPa of grout in the tremie: it falls by itself
    assert slurry.pump_pressure_pa(friction_pa=3e5, outside_at_outlet_pa=5.4e5, line_column_pa=8.8e5) == 0.0
    assert slurry.pump_pressure_pa(friction_pa=6e5, outside_at_outlet_pa=5.4e5, line_column_pa=8.8e5) == pytest.approx(
        2.6e5
    )


def test_nothing_moving_loses_nothing() -> None:
    assert slurry.pipe_loss_pa(flow_m3_s=0, **TREMIE, **NEAT) == 0.0
    assert slurry.velocity_m_s(flow_m3_s=0.01, area_m2=math.pi * 0.01) == pytest.approx(0.31831, abs=5e-6)
    he = slurry.hedstrom(density_kg_m3=1800, yield_stress_pa=10, diameter_m=0.05, viscosity_pa_s=0.05)
    assert he == pytest.approx(18_000)  # 1800 x 10 x (0.05/0.05)2
    assert slurry.reynolds(density_kg_m3=1000, velocity_m_s=1, diameter_m=0.05, viscosity_pa_s=1e-3) == pytest.approx(
        50_000
    )


def test_turbulent_flow_in_an_annulus() -> None:
    # Guo and Liu 2011, eq 2.61: dp = rho^.75 v^1.75 mu^.25 L/(1396 (d2 - d1)^1.25), lb/gal, ft/s, cp, ft, in, psi; the
    # printed 1396 goes with a rounded 1800, 0.4 % off
    speed_ft_s, gap_in = 12.0, 2.0
    wanted = 8.33**0.75 * speed_ft_s**1.75 * 1.0**0.25 * 100 / (1396 * gap_in**1.25) * PSI_PA
    loss = slurry.annulus_loss_pa(
        flow_m3_s=speed_ft_s * FT_M * math.pi / 4 * (8**2 - 6**2) * IN_M**2,
        outer_diameter_m=8 * IN_M,
        inner_diameter_m=6 * IN_M,
        length_m=100 * FT_M,
        density_kg_m3=8.33 * LB_GAL_KG_M3,
        viscosity_pa_s=CP_PA_S,
        yield_stress_pa=0.0,
    )
    assert loss == pytest.approx(wanted, rel=0.007)


def test_hedstrom_by_hand() -> None:
    # 1800 x 10 x (0.04/0.05)2 = 11 520
    he = slurry.hedstrom(density_kg_m3=1800, yield_stress_pa=10, diameter_m=0.04, viscosity_pa_s=0.05)
    assert he == pytest.approx(11_520)


def test_what_stands_still_is_not_turbulent() -> None:
    assert slurry.turbulent_pa_m(density_kg_m3=1000, velocity_m_s=0, diameter_m=0.05, viscosity_pa_s=0.001) == 0.0


def test_past_the_limit_the_larger_of_the_two_losses_counts() -> None:
    # water in a 50 mm pipe at Re 4000: Blasius 0.0398, 64/Re 0.016. With a yield stress of 3 Pa the limit stands at
    # Re 30 850 (Hanks), and at Re 50 000 the laminar formula gives 333 Pa/m against Blasius' 212
    fluid = {"density_kg_m3": 1000.0, "viscosity_pa_s": 0.001}
    for speed, stress in ((0.08, 0.0), (1.0, 3.0)):
        laminar = slurry.pipe_laminar_pa_m(
            velocity_m_s=speed, diameter_m=0.05, viscosity_pa_s=0.001, yield_stress_pa=stress
        )
        turbulent = slurry.turbulent_pa_m(velocity_m_s=speed, diameter_m=0.05, **fluid)
        he = slurry.hedstrom(yield_stress_pa=stress, diameter_m=0.05, **fluid)
        number = slurry.reynolds(velocity_m_s=speed, diameter_m=0.05, **fluid)
        assert number > slurry.critical_reynolds(he), (speed, stress)
        loss = slurry.pipe_loss_pa(
            flow_m3_s=speed * math.pi / 4 * 0.05**2, bore_m=0.05, length_m=1.0, yield_stress_pa=stress, **fluid
        )
        assert loss == pytest.approx(max(laminar, turbulent))


def test_a_pipe_without_length_meets_no_limit() -> None:
    with pytest.raises(ValueError, match=r"length_m = 0\.0: must be more than 0"):
        slurry.flow_at_loss_m3_s(loss_pa=1e5, bore_m=0.05, length_m=0.0, **NEAT)
