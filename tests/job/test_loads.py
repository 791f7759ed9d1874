"""What the hoist should carry.

The cases: NPS 6 x 0.280 in at its metric size, 168.3 x 7.112 mm (ISO 4200), 60 m hanging from ground level, water at
20 m. By the free body, worked by hand (that buoyancy of the metal alone applies only to an open or filled string:
Devereux, Practical Well Planning and Drilling Manual, section 1.4.10), in kg:
    weight in air   28.26 x 60                                  = 1,695.6
    open end        40 m of the metal's area, 0.0036013 m2      -   144.0   -> 1,551.6
    closed, empty   40 m of the whole area, 0.0222462 m2        -   889.9 (at 1,000 kg/m3)  ->   805.7
    closed, with 30 m of water inside, bore 0.0186449 m2        +   559.4   -> 1,365.1
The program's water weighs 999.1 kg/m3 (at 15 degC), so that each water term is 0.09 % less.
"""

import pytest

from tally.engineering.hook_load import ShoeState
from tally.job import events as ev
from tally.job import lengths, loads
from tally.job.plan import Plan
from tests.scenario import Day, plan

G = 9.80665  # standard gravity, CGPM 1901
TWELVE = [5.0] * 12


def hanging(shoe: str = "open", **changes: object) -> Day:
    pipe = {"outer_diameter_m": 0.1683, "bore_m": 0.154076}
    casing = {"shoe": shoe, "stick_up_m": 0.0, "rack_m": TWELVE, **pipe}
    return Day(plan(casing=casing, **changes))


def expected_kg(day: Day) -> float:
    load_n = loads.expected_n(day.state.plan, day.state.string)
    assert load_n is not None
    return load_n / G


@pytest.mark.parametrize(
    ("shoe", "inside_m", "air_kg", "water_terms_kg", "printed_kg"),
    [
        ("open", None, 1695.6, -144.0, 1551.6),
        ("closed", None, 1695.6, -889.9, 805.7),
        ("float", None, 1695.6, -889.9, 805.7),
        ("closed", 30.0, 1695.6, 559.4 - 889.9, 1365.1),
        ("float", 30.0, 1695.6, 559.4 - 889.9, 1365.1),
        ("float", 5.0, 1695.6, -144.0, 1551.6),  # above balance a float holds nothing in: as an open end
    ],
)
def test_hook_load_of_the_worked_cases(
    shoe: str, inside_m: float | None, air_kg: float, water_terms_kg: float, printed_kg: float
) -> None:
    day = hanging(shoe)
    day.joints(TWELVE)
    if inside_m is not None:
        day.record(ev.FluidLevelRead(where="inside casing", depth_m=inside_m, typed=""))
    assert air_kg + water_terms_kg == pytest.approx(printed_kg, abs=0.051)
    assert expected_kg(day) == pytest.approx(air_kg + water_terms_kg * 0.9991, abs=0.1)


def test_an_open_end_carries_the_buoyed_weight() -> None:
    """Wholly under water a steel string keeps 1 - 999.1/7850 = 0.87273 of its weight (glossary: 1 - rho/7850).

    28.26 kg/m over 0.0036013 m2 is 7,847 kg/m3.
    """
    day = hanging(hole={"water_level_m": 0.0})
    day.joints(TWELVE)
    assert expected_kg(day) / 1695.6 == pytest.approx(0.8727, abs=0.0002)


def test_an_open_end_takes_no_heed_of_a_level_read_inside() -> None:
    day = hanging()
    day.joints(TWELVE)
    before = expected_kg(day)
    day.record(ev.FluidLevelRead(where="inside casing", depth_m=5.0, typed=""))
    assert expected_kg(day) == before


def test_a_dry_hole_carries_the_whole_weight() -> None:
    day = hanging(hole={"water_level_m": 60.0})
    day.joints(TWELVE)
    assert expected_kg(day) == pytest.approx(1695.6)


def test_a_measured_water_level_replaces_the_planned_one() -> None:
    """Water found at 30 m: 30 m of metal in it instead of 40, 36.0 kg more (0.0036013 x 10 x 999.1)."""
    day = hanging()
    day.joints(TWELVE)
    before = expected_kg(day)
    day.record(ev.FluidLevelRead(where="hole", depth_m=30.0, typed=""))
    assert expected_kg(day) - before == pytest.approx(35.97, abs=0.02)


def test_the_hook_and_the_shoe_weigh_too() -> None:
    bare, laden = Day(plan(casing={"stick_up_m": 0.0})), Day(plan(casing={"stick_up_m": 0.0}, limits={"hook_n": 600.0}))
    for day in (bare, laden):
        day.joint(5.0)
    assert expected_kg(laden) - expected_kg(bare) == pytest.approx(600.0 / G)
    heavy = Day(plan(casing={"shoe_mass_kg": 30.0, "stick_up_m": 0.0}))
    heavy.joint(5.0)
    assert expected_kg(heavy) - expected_kg(bare) == pytest.approx(30.0)


def test_nothing_is_expected_before_the_first_joint() -> None:
    assert loads.expected_n(plan(), Day().state.string) is None


def test_the_next_joint_is_what_comes_after_it() -> None:
    day = hanging()
    day.joints([5.0] * 3)
    forecast_n = loads.next_joint_n(day.state.plan, day.state.string, 5.0)
    day.joint(5.0)
    assert loads.expected_n(day.state.plan, day.state.string) == pytest.approx(forecast_n)


def test_the_next_joint_hangs_at_the_stick_up_read_last() -> None:
    day = hanging(hole={"water_level_m": 0.0})
    day.joints([5.0] * 3)
    day.record(ev.StickUpRead(stick_up_m=1.2, typed=""))
    forecast_n = loads.next_joint_n(day.state.plan, day.state.string, 5.0)
    day.joint(5.0)
    assert loads.expected_n(day.state.plan, day.state.string) == pytest.approx(forecast_n)


def test_the_next_joint_loses_its_make_up() -> None:
    threaded = {"connection": "threaded", "make_up_loss_m": 0.08, "stick_up_m": 0.0, "rack_m": TWELVE}
    day = Day(plan(casing=threaded))
    day.joints([5.0] * 3)
    forecast_n = loads.next_joint_n(day.state.plan, day.state.string, 5.0)
    day.joint(5.0)
    assert loads.expected_n(day.state.plan, day.state.string) == pytest.approx(forecast_n)


@pytest.mark.parametrize(
    ("expected_n", "band_n"),
    [(1_000.0, 500.0), (5_000.0, 500.0), (8_000.0, 800.0), (-8_000.0, 800.0)],  # 500 N or 10 %, the larger
)
def test_the_band_is_the_larger_of_the_fixed_and_the_share(expected_n: float, band_n: float) -> None:
    assert loads.band_n(plan(), expected_n) == pytest.approx(band_n)


def test_a_sealed_shoe_takes_no_pressure() -> None:
    the_plan: Plan = hanging().state.plan
    water = loads.water(20.0, 60.0)
    load_n = loads.load_n(the_plan, length_m=60.0, shoe_m=60.0, outside=water, inside=water, shoe=ShoeState.SEALED)
    assert load_n / G == pytest.approx(1695.6)


def test_a_reading_keeps_what_was_expected_when_it_was_taken() -> None:
    day = hanging()
    day.joints([5.0] * 6)
    expected_n = loads.expected_n(day.state.plan, day.state.string)
    day.hook(8_000.0, "lowering")
    day.joints([5.0] * 6)
    reading = day.state.string.hook_readings[0]
    assert (reading.load_n, reading.motion, reading.expected_n) == (8_000.0, "lowering", expected_n)
    assert reading.shoe_m == pytest.approx(30.0)


def test_landed_or_in_grout_nothing_is_expected_of_a_reading() -> None:
    """Part of the weight stands on the rock; grout outside changes the column."""
    for event in (ev.CasingLanded(on="rock"), ev.StageStarted(stage=0, bottom_m=60.0, top_m=0.0)):
        day = hanging()
        day.joints(TWELVE)
        day.record(event)
        day.hook(5_000.0)
        assert day.state.string.hook_readings[0].expected_n is None
        assert lengths.shoe_depth_m(day.state.plan, day.state.string) == pytest.approx(60.0)
