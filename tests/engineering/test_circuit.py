"""Friction from the pump to the top of the annulus, passage by passage."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.engineering import circuit, slurry
from tally.engineering.circuit import Passage

GROUT = {"density_kg_m3": 1876.0, "viscosity_pa_s": 0.04, "yield_stress_pa": 14.4}
HOSE, TREMIE = Passage("hose", 0.032, 20.0), Passage("tremie", 0.0266, 42.0)
ANNULUS = Passage("annulus", 0.225, 41.9, 0.1683)
WAY = (HOSE, TREMIE, ANNULUS)


def test_a_way_worked_by_hand() -> None:
    """1 L/s of a slurry so stiff that it stays laminar: pipe 32 mu v/d2 + 16/3 t/d, annulus 48 mu v/g2 + 6 t/g.

    Hose: v = 1e-3/(pi/4 0.032^2) = 1.24340 m/s, 32 x 0.5 x 1.2434/0.001024 + 5.33333 x 10/0.032 = 19 428.1 + 1 666.7
    Pa/m, 20 m: 421.9 kPa. Annulus: v = 1e-3/(pi/4 (0.225^2 - 0.1683^2)) = 0.0570943 m/s, gap 0.0567 m: 48 x 0.5 x
    0.0570943/0.0567^2 + 60/0.0567 = 426.22 + 1 058.20 Pa/m, 41.9 m: 62.2 kPa.
    """
    stiff = {"density_kg_m3": 1876.0, "viscosity_pa_s": 0.5, "yield_stress_pa": 10.0}
    assert circuit.passage_loss_pa(HOSE, flow_m3_s=1e-3, **stiff) == pytest.approx(421_896, rel=1e-4)
    assert circuit.passage_loss_pa(ANNULUS, flow_m3_s=1e-3, **stiff) == pytest.approx(62_197, rel=1e-3)
    both = circuit.circuit_loss_pa((HOSE, ANNULUS), flow_m3_s=1e-3, **stiff)
    assert both == pytest.approx(421_896 + 62_197, rel=1e-3)


def test_areas_by_hand() -> None:
    assert HOSE.area_m2 == pytest.approx(math.pi / 4 * 0.032**2)
    assert ANNULUS.area_m2 == pytest.approx(math.pi / 4 * (0.225**2 - 0.1683**2))


@given(st.floats(0, 0.01), st.integers(1, 5))
def test_losses_in_series_add_and_do_not_care_for_cuts(flow: float, cuts: int) -> None:
    cut = [Passage("tremie", TREMIE.bore_m, TREMIE.length_m / cuts)] * cuts
    whole = circuit.circuit_loss_pa((TREMIE,), flow_m3_s=flow, **GROUT)
    assert circuit.circuit_loss_pa(cut, flow_m3_s=flow, **GROUT) == pytest.approx(whole)


def test_one_pipe_is_the_handbooks_own_inversion() -> None:
    pipe = {"bore_m": TREMIE.bore_m, "length_m": TREMIE.length_m}
    for limit in (2e5, 5e5, 2e6):
        alone = slurry.flow_at_loss_m3_s(loss_pa=limit, **pipe, **GROUT)
        assert circuit.flow_at_pressure_m3_s((TREMIE,), limit_pa=limit, head_pa=0.0, **GROUT) == pytest.approx(alone)


@given(st.floats(1e4, 5e6), st.floats(-1e6, 1e6))
def test_the_rate_meets_the_limit_from_below(limit: float, head: float) -> None:
    rate = circuit.flow_at_pressure_m3_s(WAY, limit_pa=limit, head_pa=head, **GROUT)
    if limit < head:
        assert rate == 0.0
        return
    assert circuit.circuit_loss_pa(WAY, flow_m3_s=rate, **GROUT) <= (limit - head) * (1 + 1e-9)
    assert circuit.circuit_loss_pa(WAY, flow_m3_s=rate * (1 + 1e-9) + 1e-14, **GROUT) > (limit - head) * (1 - 1e-9)


def test_a_column_that_falls_by_itself_gives_the_pump_room() -> None:
    level = circuit.flow_at_pressure_m3_s(WAY, limit_pa=1e6, head_pa=0.0, **GROUT)
    falling = circuit.flow_at_pressure_m3_s(WAY, limit_pa=1e6, head_pa=-3e5, **GROUT)
    assert falling > level > 0


def test_no_way_is_refused() -> None:
    with pytest.raises(ValueError, match=r"length of all passages = 0\.0: must be more than 0"):
        circuit.flow_at_pressure_m3_s((), limit_pa=1e5, head_pa=0.0, **GROUT)
    with pytest.raises(ValueError, match=r"passage\.around_m = -0\.1"):
        circuit.passage_loss_pa(Passage("x", 0.2, 1.0, -0.1), flow_m3_s=1e-3, **GROUT)
    with pytest.raises(ValueError, match="less than"):
        circuit.passage_loss_pa(Passage("x", 0.2, 1.0, 0.2), flow_m3_s=1e-3, **GROUT)


@pytest.mark.parametrize(
    ("name", "bad"),
    [("flow_m3_s", -1e-9), ("density_kg_m3", 0.0), ("viscosity_pa_s", 0.0), ("yield_stress_pa", -1e-9)],
)
def test_bad_numbers_are_refused_even_where_there_is_no_way_to_go(name: str, bad: float) -> None:
    assert circuit.circuit_loss_pa((), flow_m3_s=0.0, **GROUT) == 0.0
    with pytest.raises(ValueError, match=rf"{name} = {bad!r}: must be"):
        circuit.circuit_loss_pa((), **({"flow_m3_s": 0.0, **GROUT} | {name: bad}))
