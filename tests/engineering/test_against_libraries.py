"""The handbook against general-purpose libraries that know nothing of it: fluids for friction factors, scipy for roots
and quadrature. Where our formula is an approximation, the test holds how far it may be off, and to which side."""

import math

import pytest
from fluids.core import Reynolds
from fluids.friction import Blasius, Colebrook, friction_laminar
from scipy.integrate import quad
from scipy.optimize import brentq

from tally.engineering import collapse, grout, hook_load, slurry
from tally.engineering.circuit import Passage, circuit_loss_pa, flow_at_pressure_m3_s
from tally.engineering.fluid import GRAVITY_M_S2, FluidLayer, column_pressure_pa
from tally.engineering.grout import Ingredient
from tally.engineering.hole import PipeSpan, Profile, Segment

GROUT = {"density_kg_m3": 1876.0, "viscosity_pa_s": 0.04, "yield_stress_pa": 14.4}


@pytest.mark.parametrize("speed", [0.01, 0.1, 1.0, 3.0])
def test_reynolds_number(speed: float) -> None:
    ours = slurry.reynolds(density_kg_m3=1876.0, velocity_m_s=speed, diameter_m=0.0266, viscosity_pa_s=0.04)
    assert ours == pytest.approx(Reynolds(V=speed, D=0.0266, rho=1876.0, mu=0.04))


@pytest.mark.parametrize("number", [10.0, 500.0, 2000.0])
def test_laminar_flow_without_yield_stress(number: float) -> None:
    # Darcy: dp/L = f rho v2/(2 d), f = 64/Re
    speed = number * 0.001 / (1000 * 0.05)
    wanted = friction_laminar(number) * 1000 * speed**2 / (2 * 0.05)
    ours = slurry.pipe_laminar_pa_m(velocity_m_s=speed, diameter_m=0.05, viscosity_pa_s=0.001, yield_stress_pa=0.0)
    assert ours == pytest.approx(wanted)


@pytest.mark.parametrize("number", [4e3, 1e4, 3e4, 1e5])
def test_turbulent_flow_in_smooth_pipe(number: float) -> None:
    speed = number * 0.001 / (1000 * 0.05)
    head = 1000 * speed**2 / (2 * 0.05)
    ours = slurry.turbulent_pa_m(density_kg_m3=1000, velocity_m_s=speed, diameter_m=0.05, viscosity_pa_s=0.001)
    # Blasius' 0.3164 is printed to four digits, a quarter of it 0.0791
    assert ours == pytest.approx(Blasius(number) * head, rel=1e-3)
    # and Blasius' curve lies within 4 % of Colebrook's for a smooth wall up to Re 100 000
    assert ours == pytest.approx(Colebrook(number, 0.0) * head, rel=0.04)


def exact_pipe_pa_m(flow_m3_s: float, bore_m: float, viscosity_pa_s: float, yield_pa: float) -> float:
    """Loss of a Bingham fluid by its own velocity profile: flow = integral of pi r2 times the shear rate."""
    radius = bore_m / 2

    def flow(loss_pa_m: float) -> float:
        def part(r: float) -> float:
            return math.pi * r * r * max(loss_pa_m * r / 2 - yield_pa, 0.0) / viscosity_pa_s

        still = min(2 * yield_pa / loss_pa_m, radius)
        return float(quad(part, still, radius, epsabs=0, epsrel=1e-10)[0])

    least = 2 * yield_pa / radius
    return float(brentq(lambda loss: flow(loss) - flow_m3_s, least * (1 + 1e-9), least * 10 + 1e7, xtol=1e-6))


@pytest.mark.parametrize("flow", [1e-6, 1e-5, 1e-4, 5e-4])
@pytest.mark.parametrize("stress", [0.5, 5.0, 20.0])
def test_the_usual_yield_term_errs_to_the_safe_side_and_by_a_third_at_most(flow: float, stress: float) -> None:
    exact = exact_pipe_pa_m(flow, 0.0266, 0.04, stress)
    speed = slurry.velocity_m_s(flow_m3_s=flow, area_m2=math.pi / 4 * 0.0266**2)
    ours = slurry.pipe_laminar_pa_m(velocity_m_s=speed, diameter_m=0.0266, viscosity_pa_s=0.04, yield_stress_pa=stress)
    assert exact * (1 - 1e-6) <= ours <= exact * 4 / 3 * (1 + 1e-6)


def test_the_usual_yield_term_is_exact_for_small_yield_stress() -> None:
    exact = exact_pipe_pa_m(5e-4, 0.0266, 0.04, 0.5)
    speed = slurry.velocity_m_s(flow_m3_s=5e-4, area_m2=math.pi / 4 * 0.0266**2)
    ours = slurry.pipe_laminar_pa_m(velocity_m_s=speed, diameter_m=0.0266, viscosity_pa_s=0.04, yield_stress_pa=0.5)
    assert ours == pytest.approx(exact, rel=1e-4)


@pytest.mark.parametrize("inner", [0.8, 0.7, 0.5])
def test_a_slot_stands_for_an_annulus(inner: float) -> None:
    # without yield stress the profile is known: v = dp/(4 mu) (R2 - r2 + (1 - k2) R2 ln(r/R)/ln(1/k)), k = r_inner/R
    outer, viscosity, loss = 0.3, 0.04, 100.0
    big, k = outer / 2, inner

    def part(r: float) -> float:
        shape = big**2 - r * r + (1 - k * k) * big**2 * math.log(r / big) / math.log(1 / k)
        return 2 * math.pi * r * loss / (4 * viscosity) * shape

    flow = quad(part, k * big, big)[0]
    speed = flow / (math.pi * big**2 * (1 - k * k))
    ours = slurry.annulus_laminar_pa_m(
        velocity_m_s=speed,
        outer_diameter_m=outer,
        inner_diameter_m=outer * k,
        viscosity_pa_s=viscosity,
        yield_stress_pa=0.0,
    )
    # 0.2 % off at four fifths, 1.4 % at a half: always a little too much
    assert loss <= ours <= loss * 1.02


@pytest.mark.parametrize("stress", [0.0, 5.0, 20.0])
def test_a_slot_with_yield_stress(stress: float) -> None:
    # plates a gap h apart; the usual 6 t/h against the profile itself: safe, by half at most (at rest it is 4 t/h)
    gap, viscosity, flow = 0.0567 / 2, 0.04, 5e-3  # m2/s to a metre of width
    half = gap / 2

    def through(loss: float) -> float:
        still = min(stress / loss, half)
        return 2 * float(quad(lambda y: y * max(loss * y - stress, 0.0) / viscosity, still, half, epsrel=1e-10)[0])

    exact = float(brentq(lambda loss: through(loss) - flow, stress / half + 1e-6, 1e6))
    ours = slurry.annulus_laminar_pa_m(
        velocity_m_s=flow / gap,
        outer_diameter_m=1.0,
        inner_diameter_m=1.0 - 2 * gap,
        viscosity_pa_s=viscosity,
        yield_stress_pa=stress,
    )
    assert exact * (1 - 1e-6) <= ours <= exact * 1.5


@pytest.mark.parametrize("number", [1.0, 1e3, 1e5, 1e7])
def test_hanks_limit_by_another_root_finder(number: float) -> None:
    x = brentq(lambda x: x / (1 - x) ** 3 - number / 16_800, 0.0, 1 - 1e-12, xtol=1e-15)
    wanted = number * (1 - 4 * x / 3 + x**4 / 3) / (8 * x)
    assert slurry.critical_reynolds(number) == pytest.approx(max(2100.0, wanted), rel=1e-9)


@pytest.mark.parametrize("limit", [3e5, 1e6, 4e6])
def test_rate_at_a_limit_by_another_root_finder(limit: float) -> None:
    way = (Passage("hose", 0.032, 20.0), Passage("tremie", 0.0266, 42.0), Passage("annulus", 0.225, 41.9, 0.1683))
    ours = flow_at_pressure_m3_s(way, limit_pa=limit, head_pa=0.0, **GROUT)
    other = brentq(lambda flow: circuit_loss_pa(way, flow_m3_s=flow, **GROUT) - limit, 1e-9, 1.0, xtol=1e-15)
    assert ours == pytest.approx(other, rel=1e-6)


def test_pressure_of_layers_by_quadrature() -> None:
    layers = [FluidLayer(0.0, 12.0, 999.1), FluidLayer(12.0, 40.0, 1876.0), FluidLayer(45.0, 60.0, 1200.0)]

    def density(z: float) -> float:
        return next((each.density_kg_m3 for each in layers if each.top_m <= z < each.bottom_m), 0.0)

    for depth in (5.0, 20.0, 43.0, 60.0):
        cuts = [cut for cut in (12.0, 40.0, 45.0) if cut < depth]
        whole = quad(lambda z: density(z) * GRAVITY_M_S2, 0.0, depth, points=cuts)[0]
        assert column_pressure_pa(layers, depth) == pytest.approx(whole)


def test_frustums_by_quadrature_and_depth_by_root() -> None:
    segments = [Segment(0, 8, 0.30, 0.24), Segment(8, 20, 0.24, 0.33), Segment(20, 41, 0.26, 0.25)]
    profile = Profile.compile(segments, pipes=[PipeSpan(0, 35, 0.1683)])

    def area(z: float) -> float:
        part = next(each for each in segments if each.top_m <= z <= each.bottom_m)
        share = (z - part.top_m) / (part.bottom_m - part.top_m)
        wide = part.top_diameter_m + share * (part.bottom_diameter_m - part.top_diameter_m)
        return math.pi / 4 * (wide**2 - (0.1683**2 if z < 35 else 0.0))

    def volume(top: float, bottom: float) -> float:
        cuts = [cut for cut in (8, 20, 35) if top < cut < bottom]
        return float(quad(area, top, bottom, points=cuts or None, epsrel=1e-10)[0])

    for top, bottom in ((0, 41), (3.3, 7.7), (6.0, 36.5)):
        assert profile.volume_m3(top, bottom) == pytest.approx(volume(top, bottom), rel=1e-8)
    for filled in (0.1, 0.5, 1.0):
        depth = brentq(lambda z, filled=filled: volume(z, 41.0) - filled, 0.0, 41.0)
        assert profile.top_of_fill_m(41.0, filled) == pytest.approx(depth, abs=1e-6)


def test_water_for_a_density_by_root() -> None:
    solids = (Ingredient("cement", 40.0, 3.15), Ingredient("sand", 25.0, 2.65), Ingredient("bentonite", 1.6, 2.65))
    for density in (1400.0, 1876.0, 2100.0):
        other = brentq(lambda w, d=density: grout.slurry_of(solids=solids, water_m3=w).density_kg_m3 - d, 1e-6, 1.0)
        assert grout.water_for_density_m3(solids=solids, density_kg_m3=density) == pytest.approx(other)


def test_inside_level_by_root() -> None:
    pipe = {"bore_area_m2": 0.0186, "outer_area_m2": 0.0222}

    def load(level: float) -> float:
        inside = column_pressure_pa([FluidLayer(level, 42.0, 999.1)], 42.0)
        return hook_load.hook_load_n(
            weight_air_n=11_900.0,
            pressure_inside_pa=inside,
            pressure_outside_pa=7.7e5,
            shoe=hook_load.ShoeState.CLOSED,
            **pipe,
        )

    ours = hook_load.inside_level_for_load_m(
        weight_air_n=11_900.0, pressure_outside_pa=7.7e5, shoe_depth_m=42.0, inside_kg_m3=999.1, wanted_n=500.0, **pipe
    )
    assert ours == pytest.approx(brentq(lambda level: load(level) - 500.0, 0.0, 42.0))


@pytest.mark.parametrize("yield_psi", [35_000, 40_000, 55_000, 80_000])
def test_collapse_regimes_meet_where_their_formulas_cross(yield_psi: float) -> None:
    """API 5C3 gives each limit of D/t by a formula of its own; the crossing of the neighbours is found here by root."""
    y = yield_psi
    a = 2.8762 + 0.10679e-5 * y + 0.21301e-10 * y**2 - 0.53132e-16 * y**3
    b, c = 0.026233 + 0.50609e-6 * y, -465.93 + 0.030867 * y - 0.10483e-7 * y**2 + 0.36989e-13 * y**3
    crossing = brentq(lambda n: 2 * y * (n - 1) / n**2 - (y * (a / n - b) - c), 8.0, 20.0)

    def regime(n: float) -> str:
        return collapse.api_collapse(outer_diameter_m=n, wall_m=1.0, yield_pa=y * collapse.PSI_PA).formula.split()[-1]

    assert (regime(crossing - 1e-6), regime(crossing + 1e-6)) == ("yield", "plastic")
    # the transition line touches the elastic curve: where the regime changes they agree
    limit = brentq(lambda n: 0.5 - (regime(n) == "elastic"), 25.0, 60.0, xtol=1e-9)
    before, after = (
        collapse.api_collapse(outer_diameter_m=n, wall_m=1.0, yield_pa=y * collapse.PSI_PA).pressure_pa
        for n in (limit - 1e-6, limit + 1e-6)
    )
    assert after == pytest.approx(before, rel=1e-5)
