"""Collapse of plastic and thin steel: forms by name, temperature, and what a string is asked to stand."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.engineering import collapse
from tally.engineering.collapse import PSI_PA
from tally.engineering.hook_load import FluidLayer


@pytest.mark.parametrize(
    ("sdr", "form_a", "form_b"),
    [(17, 214.8, 228.3), (21, 111.3, 116.9), (26, 57.5, 59.8), (32.5, 29.0, 29.9), (41, 14.3, 14.6)],
)
def test_pinned_forms_of_the_plastic_formula(sdr: float, form_a: float, form_b: float) -> None:
    # E 400 000 psi, v 0.38; no table of ASTM F480 could be read, so these only hold the two forms apart
    for form, psi in (("a", form_a), ("b", form_b)):
        rating = collapse.plastic_collapse(outer_diameter_m=sdr, minimum_wall_m=1.0, form=form)
        assert rating.pressure_pa / PSI_PA == pytest.approx(psi, abs=0.05)
        assert f"form {form}" in rating.formula


@pytest.mark.parametrize(
    ("outer", "wall", "stewart", "api", "regime"),
    [
        (6.625, 0.188, 1073, 996, "transition"),
        (6.625, 0.250, 1885, 1738, "plastic"),
        (8.625, 0.188, 520, 508, "elastic"),
        (8.625, 0.250, 1126, 1041, "transition"),
        (12.75, 0.250, 379, 368, "elastic"),
        (16.0, 0.250, 192, 185, "elastic"),
    ],
)
def test_pinned_thin_water_well_casing(outer: float, wall: float, stewart: float, api: float, regime: str) -> None:
    size = {"outer_diameter_m": outer * 0.0254, "wall_m": wall * 0.0254}
    assert collapse.stewart_collapse(**size).pressure_pa / PSI_PA == pytest.approx(stewart, abs=1)
    rating = collapse.api_collapse(yield_pa=35_000 * PSI_PA, **size)
    assert rating.pressure_pa / PSI_PA == pytest.approx(api, abs=1)
    assert rating.formula.endswith(regime)


def test_collapse_follows_the_modulus_and_not_the_pressure_rating() -> None:
    # a maker's pressure derating at 120 F is 0.40; collapse falls far less, by the modulus
    cold = collapse.plastic_collapse(outer_diameter_m=21, minimum_wall_m=1)
    hot = collapse.plastic_collapse(outer_diameter_m=21, minimum_wall_m=1, temperature_c=49)
    assert hot.pressure_pa / cold.pressure_pa == pytest.approx(0.79)
    assert hot.formula.endswith("modulus x 0.79")


@given(st.floats(-20, 60), st.floats(-20, 60))
def test_warmer_is_never_stiffer(one: float, other: float) -> None:
    cool, warm = sorted((one, other))
    assert collapse.pvc_modulus_factor(cool) >= collapse.pvc_modulus_factor(warm)


def test_between_two_temperatures_the_factor_is_straight() -> None:
    assert collapse.pvc_modulus_factor(20) == 1.0
    assert collapse.pvc_modulus_factor(35) == pytest.approx(0.905)  # halfway from 0.93 at 32 to 0.88 at 38
    assert collapse.pvc_modulus_factor(60) == 0.70
    with pytest.raises(ValueError, match=r"temperature_c = 61: must lie between -20\.0 and 60\.0"):
        collapse.pvc_modulus_factor(61)


def test_pinned_differential_on_water_filled_plastic() -> None:
    # 15.0 lb/gal outside, 8.345 inside, 200 ft: 69 psi; empty: 156 psi
    lb_gal, ft = 0.45359237 / (231 * 0.0254**3), 0.3048
    grout = [FluidLayer(0, 200 * ft, 15.0 * lb_gal)]
    water = [FluidLayer(0, 200 * ft, 8.345 * lb_gal)]
    full = collapse.largest_differential(outside=grout, inside=water, bottom_m=200 * ft)
    empty = collapse.largest_differential(outside=grout, inside=[], bottom_m=200 * ft)
    assert full.pressure_pa / PSI_PA == pytest.approx(69, abs=0.5)
    assert empty.pressure_pa / PSI_PA == pytest.approx(156, abs=0.5)
    assert full.depth_m == empty.depth_m == 200 * ft


def test_the_worst_place_need_not_be_the_shoe() -> None:
    # by hand: grout 1800 from 20 to 50 m under water from 0; inside a heavy plug 2200 from 30 m under air:
    # at 30 m outside 20 x 1000 + 10 x 1800 = 38 000 kg/m2 and nothing inside; at 50 m 74 000 less 44 000
    outside = [FluidLayer(0, 20, 1000), FluidLayer(20, 50, 1800)]
    found = collapse.largest_differential(outside=outside, inside=[FluidLayer(30, 50, 2200)], bottom_m=50)
    assert found.depth_m == 30
    assert found.pressure_pa == pytest.approx(38_000 * 9.80665)


@given(st.floats(0, 100), st.floats(0, 100), st.floats(0, 1))
def test_no_depth_between_is_worse(level_out: float, level_in: float, share: float) -> None:
    outside = [FluidLayer(level_out, 100, 1800)]
    inside = [FluidLayer(level_in, 100, 1000)]
    found = collapse.largest_differential(outside=outside, inside=inside, bottom_m=100)
    z = share * 100
    there = 9.80665 * (1800 * max(0, z - level_out) - 1000 * max(0, z - level_in))
    assert there <= found.pressure_pa + 1e-6


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"wall_m": 0.15}, r"wall_m = 0\.15: must be less than half of outer_diameter_m"),
        ({"wall_m": 0.0}, r"wall_m = 0\.0: must be more than 0"),
        ({"poisson": 0.6}, r"poisson = 0\.6: must lie between 0\.0 and 0\.5"),
        ({"form": "c"}, r"form = 'c': must be one of a, b"),
    ],
)
def test_impossible_pipe_is_refused(change: dict[str, object], words: str) -> None:
    good: dict[str, object] = {
        "outer_diameter_m": 0.3,
        "wall_m": 0.01,
        "modulus_pa": 2.8e9,
        "poisson": 0.38,
        "form": "a",
    }
    with pytest.raises(ValueError, match=words):
        collapse.elastic_collapse(**(good | change))  # type: ignore[arg-type]


def test_a_yield_in_the_wrong_unit_is_refused() -> None:
    with pytest.raises(ValueError, match="yield_pa = 55000"):
        collapse.api_collapse(outer_diameter_m=0.2, wall_m=0.01, yield_pa=55_000)


@pytest.mark.parametrize(
    ("temperature_c", "factor"),
    [(23, 1.0), (32, 0.93), (38, 0.88), (43, 0.84), (49, 0.79), (54, 0.75), (60, 0.70), (46, 0.815), (27.5, 0.965)],
)
def test_the_modulus_table_as_remembered(temperature_c: float, factor: float) -> None:
    # from memory (a pipe association's handbook), not a published check: this holds the table against slips of the hand
    assert collapse.pvc_modulus_factor(temperature_c) == pytest.approx(factor)
    assert pytest.approx(400_000 * 6894.757293, rel=1e-9) == collapse.PVC_MODULUS_PA


def test_very_thick_casing_yields_first() -> None:
    # API 5C3, yield strength collapse 2Y(n - 1)/n2: n 10, 55 000 psi, 9900 psi
    rating = collapse.api_collapse(outer_diameter_m=10.0, wall_m=1.0, yield_pa=55_000 * PSI_PA)
    assert rating.pressure_pa / PSI_PA == pytest.approx(9900)
    assert rating.formula == "API 5C3 yield"


def test_the_range_of_steels_and_of_walls() -> None:
    size = {"outer_diameter_m": 0.2, "wall_m": 0.01}
    for good, bad in ((170e6, 169.9e6), (1100e6, 1100.1e6)):
        assert collapse.api_collapse(yield_pa=good, **size).pressure_pa > 0
        with pytest.raises(ValueError, match=rf"yield_pa = {bad!r}: must lie between"):
            collapse.api_collapse(yield_pa=bad, **size)
    assert collapse.api_collapse(outer_diameter_m=2.02, wall_m=1.0, yield_pa=250e6).formula.endswith("yield")
    with pytest.raises(ValueError, match="must be less than half of outer_diameter_m"):
        collapse.api_collapse(outer_diameter_m=2.0, wall_m=1.0, yield_pa=250e6)


def test_stewart_changes_at_0_023() -> None:
    # Stewart 1906 from memory: 50.21e6 (t/D)3 below t/D 0.023, 86 670 t/D - 1386 from there on: 0.0233 gives 633.4 psi
    psi = collapse.stewart_collapse(outer_diameter_m=1.0, wall_m=0.0233).pressure_pa / PSI_PA
    assert psi == pytest.approx(86_670 * 0.0233 - 1386, abs=0.01)


def test_the_form_is_named_and_an_impossible_solid_refused() -> None:
    tube = {"outer_diameter_m": 21.0, "wall_m": 1.0, "modulus_pa": 2.7e9}
    for form, shape in (("a", "[n(n-1)2]"), ("b", "(n-1)3")):
        assert collapse.elastic_collapse(poisson=0.38, form=form, **tube).formula.endswith(shape)
    with pytest.raises(ValueError, match=r"poisson = 0\.501: must lie between"):
        collapse.elastic_collapse(poisson=0.501, form="a", **tube)
    with pytest.raises(ValueError, match="must be less than the whole wall"):
        collapse.burst_pa(outer_diameter_m=0.2, wall_m=0.01, yield_pa=250e6, wall_tolerance=1.0)


def test_a_string_of_hardly_any_depth() -> None:
    at_surface = collapse.largest_differential(outside=[], inside=[], bottom_m=0.0)
    assert (at_surface.pressure_pa, at_surface.depth_m) == (0.0, 0.0)
    # 2 cm of heavy fluid outside, then water inside only: the most is at 2 cm, 2000 x 9.80665 x 0.02 = 392.3 Pa
    outside, inside = [FluidLayer(0.0, 0.02, 2000.0)], [FluidLayer(0.02, 0.1, 1000.0)]
    found = collapse.largest_differential(outside=outside, inside=inside, bottom_m=0.1)
    assert found.pressure_pa == pytest.approx(392.266)
    assert found.depth_m == 0.02
    assert collapse.largest_differential(outside=outside, inside=[], bottom_m=0.01).depth_m == 0.01
