"""Hook load: identities of the free body, and cases worked by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.engineering import hook_load
from tally.engineering.hook_load import (
    GRAVITY_M_S2,
    FluidLayer,
    ShoeState,
    StringStep,
    column_pressure_pa,
    hook_load_n,
    stepped_hook_load_n,
    worst_lift_n,
)
from tally.engineering.pipe import circle_area_m2, ring_area_m2

OUTER, BORE = 0.1683, 0.1683 - 2 * 0.00711
PIPE = {"bore_area_m2": circle_area_m2(BORE), "outer_area_m2": circle_area_m2(OUTER)}
WATER = 1000.0
sizes = st.tuples(st.floats(0.05, 0.6), st.floats(0.7, 0.97))
depths = st.floats(1.0, 400.0)


@given(sizes, depths, st.floats(0, 1), st.floats(900, 2100), st.floats(0, 1e6))
def test_an_open_end_carries_the_buoyed_weight(
    size: tuple[float, float], shoe: float, share: float, fluid: float, stale: float
) -> None:
    # Archimedes: what is lost is the weight of the fluid that the submerged metal displaces, whatever the inside reads
    outer, bore = size[0], size[0] * size[1]
    level, steel = share * shoe, 7850.0
    area = ring_area_m2(outer_diameter_m=outer, bore_m=bore)
    load = hook_load_n(
        weight_air_n=area * shoe * steel * GRAVITY_M_S2,
        pressure_inside_pa=stale,
        pressure_outside_pa=column_pressure_pa([FluidLayer(level, shoe, fluid)], shoe),
        bore_area_m2=circle_area_m2(bore),
        outer_area_m2=circle_area_m2(outer),
        shoe=ShoeState.OPEN,
    )
    buoyed = GRAVITY_M_S2 * area * (shoe * steel - (shoe - level) * fluid)
    assert load == pytest.approx(buoyed, rel=1e-9, abs=1e-6)


@given(sizes, st.floats(0, 1e6), st.floats(0, 3e6))
def test_a_closed_end_filled_to_balance_is_an_open_one(size: tuple[float, float], weight: float, p: float) -> None:
    areas = {"bore_area_m2": circle_area_m2(size[0] * size[1]), "outer_area_m2": circle_area_m2(size[0])}
    load = {
        shoe: hook_load_n(weight_air_n=weight, pressure_inside_pa=p, pressure_outside_pa=p, shoe=shoe, **areas)
        for shoe in ShoeState
    }
    assert load[ShoeState.CLOSED] == load[ShoeState.FLOAT] == load[ShoeState.OPEN]
    assert load[ShoeState.SEALED] == weight


@given(st.floats(0, 1e6), st.floats(0, 3e6), st.floats(0, 3e6), st.floats(0, 1e4))
def test_sealed_drops_both_end_terms_and_the_hook_always_adds(w: float, p_in: float, p_out: float, hook: float) -> None:
    sealed = hook_load_n(
        weight_air_n=w, pressure_inside_pa=p_in, pressure_outside_pa=p_out, shoe=ShoeState.SEALED, hook_n=hook, **PIPE
    )
    assert sealed == pytest.approx(w + hook)


@pytest.mark.parametrize(
    ("shoe", "inside_m", "kg"),
    [
        # NPS 6 x 0.280 in, 28.26 kg/m, 60 m, water at 20 m; worked by hand: 1695.6 - 144.0, - 889.9, + 559.4
        (ShoeState.OPEN, 0.0, 1551.6),
        (ShoeState.CLOSED, 0.0, 805.7),
        (ShoeState.CLOSED, 30.0, 1365.1),
    ],
)
def test_pinned_string_in_water(shoe: ShoeState, inside_m: float, kg: float) -> None:
    load = hook_load_n(
        weight_air_n=28.26 * 60 * GRAVITY_M_S2,
        pressure_inside_pa=column_pressure_pa([FluidLayer(60 - inside_m, 60, WATER)], 60),
        pressure_outside_pa=column_pressure_pa([FluidLayer(20, 60, WATER)], 60),
        shoe=shoe,
        **PIPE,
    )
    assert load / GRAVITY_M_S2 == pytest.approx(kg, abs=0.15)


def test_grout_below_water_below_air() -> None:
    # by hand: 20 m of grout at 1800 and 30 m of water at 1000 under 10 m of air: 66 000 kg/m2
    layers = [FluidLayer(40, 60, 1800), FluidLayer(10, 40, 1000)]
    assert column_pressure_pa(layers, 60) == pytest.approx(66_000 * 9.80665)
    assert column_pressure_pa(layers, 40) == pytest.approx(30_000 * 9.80665)
    assert column_pressure_pa(layers, 5) == 0.0
    assert column_pressure_pa([], 60) == 0.0


def test_fluid_in_the_stick_up_counts() -> None:
    assert column_pressure_pa([FluidLayer(-1, 10, 1000)], 10) == pytest.approx(11_000 * 9.80665)


@pytest.mark.parametrize(
    ("layers", "words"),
    [
        ([FluidLayer(0, 30, 1000), FluidLayer(20, 40, 1800)], "top_m = 20 overlaps"),
        ([FluidLayer(30, 20, 1000)], "bottom_m = 20: must be no higher"),
        ([FluidLayer(0, 20, -1)], "density_kg_m3 = -1: must be 0 or more"),
        ([FluidLayer(0, math.nan, 1)], "bottom_m = nan: must be a finite number"),
    ],
)
def test_columns_that_cannot_stand_are_refused(layers: list[FluidLayer], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        column_pressure_pa(layers, 50)


@given(sizes, depths, st.floats(0, 2e6))
def test_a_string_of_equal_steps_is_one_string(size: tuple[float, float], shoe: float, p_in: float) -> None:
    bore, outer = circle_area_m2(size[0] * size[1]), circle_area_m2(size[0])
    p_out = shoe * 9806.65
    steps = [StringStep(bore, outer, p_in / 2, p_out / 2), StringStep(bore, outer, p_in, p_out)]
    for state in ShoeState:
        whole = hook_load_n(
            weight_air_n=1e4,
            pressure_inside_pa=p_in,
            pressure_outside_pa=p_out,
            bore_area_m2=bore,
            outer_area_m2=outer,
            shoe=state,
        )
        assert stepped_hook_load_n(weight_air_n=1e4, steps=steps, shoe=state) == pytest.approx(
            whole, rel=1e-9, abs=1e-6
        )


def test_a_stepped_open_string_still_displaces_its_metal() -> None:
    # Archimedes, by hand: 10 m of ring 0.02 m2 over 10 m of ring 0.01 m2, all in water: loses 1000 x 0.3 kg
    steps = [
        StringStep(0.03, 0.05, 0, 10 * 9806.65),
        StringStep(0.03, 0.04, 0, 20 * 9806.65),
    ]
    load = stepped_hook_load_n(weight_air_n=30_000, steps=steps, shoe=ShoeState.OPEN)
    assert load == pytest.approx(30_000 - 300 * 9.80665)


def test_a_bridged_annulus_lifts_by_pump_pressure_on_the_whole_face() -> None:
    resting = worst_lift_n(weight_air_n=2e4, pressure_inside_pa=5e5, pump_pressure_pa=0.0, **PIPE)
    pumped = worst_lift_n(weight_air_n=2e4, pressure_inside_pa=5e5, pump_pressure_pa=3e5, **PIPE)
    assert pumped - resting == pytest.approx(3e5 * PIPE["outer_area_m2"])
    # without the pump it is the open-ended load, upside down
    assert resting == pytest.approx(-(2e4 - 5e5 * (PIPE["outer_area_m2"] - PIPE["bore_area_m2"])))


@given(st.floats(0, 1e5), st.floats(0, 1e6), st.floats(0, 1e4))
def test_the_pump_pressure_limit_just_lifts(weight: float, p_in: float, held: float) -> None:
    limit = hook_load.pump_pressure_limit_pa(weight_air_n=weight, pressure_inside_pa=p_in, held_n=held, **PIPE)
    if limit >= 0:
        lift = worst_lift_n(weight_air_n=weight, pressure_inside_pa=p_in, pump_pressure_pa=limit, **PIPE)
        assert lift == pytest.approx(held, abs=1e-4)


def test_pinned_plastic_casing_lifts_in_grout() -> None:
    # 6 in SDR 21 PVC, 200 ft, full of water in 15.0 lb/gal grout: 3.96 + 12.08 - 26.86 lb/ft, lifts with 2 165 lb
    ft, lb, gal = 0.3048, 0.45359237, 231 * 0.0254**3
    outer = 6.625 * 0.0254
    bore = outer - 2 * 0.335 * 0.0254
    shoe = 200 * ft
    load = hook_load_n(
        weight_air_n=3.96 * 200 * lb * GRAVITY_M_S2,
        pressure_inside_pa=column_pressure_pa([FluidLayer(0, shoe, 8.345 * lb / gal)], shoe),
        pressure_outside_pa=column_pressure_pa([FluidLayer(0, shoe, 15.0 * lb / gal)], shoe),
        bore_area_m2=circle_area_m2(bore),
        outer_area_m2=circle_area_m2(outer),
        shoe=ShoeState.CLOSED,
    )
    assert hook_load.hold_down_n(load) / GRAVITY_M_S2 / lb == pytest.approx(2165, abs=6)
    assert hook_load.hold_down_n(5.0) == 0.0


@given(st.floats(1e3, 5e4), st.floats(0, 5e6), st.floats(10, 300), st.floats(900, 2000), st.floats(0, 1e4))
def test_the_cure_by_inside_level_gives_the_wanted_load(
    weight: float, p_out: float, shoe: float, fluid: float, wanted: float
) -> None:
    level = hook_load.inside_level_for_load_m(
        weight_air_n=weight,
        pressure_outside_pa=p_out,
        shoe_depth_m=shoe,
        inside_kg_m3=fluid,
        wanted_n=wanted,
        **PIPE,
    )

    def load(level_m: float) -> float:
        return hook_load_n(
            weight_air_n=weight,
            pressure_inside_pa=column_pressure_pa([FluidLayer(level_m, shoe, fluid)], shoe),
            pressure_outside_pa=p_out,
            shoe=ShoeState.CLOSED,
            **PIPE,
        )

    if level is None:
        assert load(0.0) < wanted
    elif level == shoe:
        assert load(shoe) >= wanted - 1e-6
    else:
        assert load(level) == pytest.approx(wanted, abs=1e-5)


def test_the_cure_by_density_gives_the_wanted_load() -> None:
    density = hook_load.inside_density_for_load_kg_m3(
        weight_air_n=1e4, pressure_outside_pa=1e6, column_m=60, wanted_n=500, **PIPE
    )
    p_in = density * 60 * GRAVITY_M_S2
    load = hook_load_n(
        weight_air_n=1e4, pressure_inside_pa=p_in, pressure_outside_pa=1e6, shoe=ShoeState.CLOSED, **PIPE
    )
    assert load == pytest.approx(500, abs=1e-6)
    dry = hook_load.inside_density_for_load_kg_m3(weight_air_n=1e6, pressure_outside_pa=0, column_m=60, **PIPE)
    assert dry == 0.0


def test_the_load_when_the_float_fails_is_the_open_one_moving() -> None:
    p_out = 40 * WATER * GRAVITY_M_S2
    still = hook_load_n(
        weight_air_n=2e4, pressure_inside_pa=0, pressure_outside_pa=p_out, shoe=ShoeState.OPEN, hook_n=900, **PIPE
    )
    failed = hook_load.float_failure_load_n(weight_air_n=2e4, pressure_outside_pa=p_out, hook_n=900, **PIPE)
    assert failed == pytest.approx(1.25 * still)  # 1.25: common practice
    with pytest.raises(ValueError, match=r"dynamic_factor = 0\.9: must be 1 or more"):
        hook_load.float_failure_load_n(weight_air_n=2e4, pressure_outside_pa=p_out, dynamic_factor=0.9, **PIPE)


def test_a_gauge_by_hand() -> None:
    # 2.0 MPa on 20 cm2 is 4 kN a line; four lines 16 kN; less 1.5 kN of block
    assert hook_load.gauge_load_n(pressure_pa=2e6, piston_area_m2=20e-4, line_parts=4, tare_n=1500) == 14_500
    with pytest.raises(ValueError, match="line_parts = 0: must be 1 or more"):
        hook_load.gauge_load_n(pressure_pa=1, piston_area_m2=1, line_parts=0)


def test_the_band_is_the_larger_of_two() -> None:
    assert hook_load.band_n(expected_n=10_000, absolute_n=600, share=0.05) == 600
    assert hook_load.band_n(expected_n=-20_000, absolute_n=600, share=0.05) == 1000


def test_a_forecast_names_the_largest_load_and_the_first_joint_past_the_limit() -> None:
    found = hook_load.forecast(loads_n=[10.0, 30.0, 55.0, 52.0, 58.0, 20.0], limit_n=50.0)
    assert (found.largest_n, found.largest_at, found.first_past_limit) == (58.0, 4, 2)
    assert hook_load.forecast(loads_n=[10.0, 50.0], limit_n=50.0).first_past_limit is None
    assert hook_load.forecast(loads_n=[10.0]).first_past_limit is None
    with pytest.raises(ValueError, match="at least one load"):
        hook_load.forecast(loads_n=[])


def test_a_bore_as_wide_as_the_pipe_is_refused() -> None:
    with pytest.raises(ValueError, match=r"bore_area_m2 = 0\.03: must be less than outer_area_m2 = 0\.03"):
        hook_load_n(
            weight_air_n=1,
            pressure_inside_pa=0,
            pressure_outside_pa=0,
            bore_area_m2=0.03,
            outer_area_m2=0.03,
            shoe=ShoeState.OPEN,
        )


def test_three_steps_by_hand() -> None:
    # Archimedes again: 10 m each of rings of 0.02, 0.01 and 0.005 m2 of metal, all in water: loses 1000 x 0.35 kg
    areas = [(0.03, 0.05), (0.03, 0.04), (0.02, 0.025)]
    steps = [StringStep(bore, outer, 0, 10 * (i + 1) * 9806.65) for i, (bore, outer) in enumerate(areas)]
    load = stepped_hook_load_n(weight_air_n=30_000, steps=steps, shoe=ShoeState.OPEN)
    assert load == pytest.approx(30_000 - 350 * 9.80665)


def test_defaults_are_a_slack_hook_one_line_and_no_tare() -> None:
    level = hook_load.inside_level_for_load_m(
        weight_air_n=5e3, pressure_outside_pa=5e5, shoe_depth_m=60, inside_kg_m3=1000, **PIPE
    )
    # by hand: (5e5 x 0.022246 - 5000)/0.018637 = 3.286e5 Pa inside, 33.5 m of water, so 26.5 m down
    assert level == pytest.approx(26.5, abs=0.05)
    assert hook_load.gauge_load_n(pressure_pa=2e6, piston_area_m2=20e-4) == 4000
    still = hook_load.float_failure_load_n(weight_air_n=2e4, pressure_outside_pa=0, dynamic_factor=1.0, **PIPE)
    assert still == 2e4
