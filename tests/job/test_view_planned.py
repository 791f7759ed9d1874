"""A plan worked out, against values worked by hand from geometry, hydrostatics and published tables."""

import math
from dataclasses import fields, is_dataclass
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tally import formats
from tally.job import events as ev
from tally.job.fill import fill
from tally.job.hole import Hole, HoleSection
from tally.job.plan import Casing, Limits, Plan, Stage
from tally.job.view.planned import PlanView, planned
from tally.job.view.quantity import Quantity
from tally.planfile import example, read_text
from tests import scenario

G = 9.80665
PSI = 6894.757


def plan_of(text: str | None = None) -> Plan:
    plan = read_text(example() if text is None else text)
    assert isinstance(plan, Plan)
    return plan


def with_casing(plan: Plan, **changes: Any) -> Plan:
    return plan.model_copy(update={"casing": Casing(**(plan.casing.model_dump() | changes))})


def said(view: PlanView, severity: str | None = None) -> str:
    wanted = [warning for warning in view.warnings if severity in (None, warning.severity)]
    return "\n".join(warning.sentence.written(lambda each: formats.text(each, "metric")) for warning in wanted)


def si(quantity: Quantity) -> float:
    assert quantity.si is not None
    return quantity.si


def test_volumes_by_section_by_hand() -> None:
    view = planned(plan_of())
    # pi/4 (0.4064^2 - 0.2191^2) x 6 = 0.55209; pi/4 (0.31115^2 - 0.2191^2) x 41.5 + pi/4 x 0.31115^2 x 0.5 = 1.62892
    assert [si(section.annulus) for section in view.sections] == pytest.approx([0.55209, 1.62892], abs=5e-6)
    assert si(view.annulus) == pytest.approx(2.18100, abs=1e-5)


def test_capacity_against_a_published_table() -> None:
    text = (
        example().replace('"12 1/4 in"', '"12.25 in"').replace('outer_diameter = "219.1 mm"', 'outer_diameter = "5 in"')
    )
    view = planned(plan_of(text.replace('wall = "8.18 mm"', 'wall = "0.25 in"')))
    # Lapeyrouse, Formulas and Calculations: hole 12-1/4 in, pipe 5 in: 0.682097 ft3/ft with the rounded divisor 183.35
    # (183.346 exactly, which makes 0.682110), and 5.1 gal/ft
    assert si(view.sections[1].capacity) / (0.02831685 / 0.3048) == pytest.approx(
        0.682097 * 183.35 / 183.3465, abs=1e-6
    )
    assert si(view.sections[1].capacity) / (3.785412e-3 / 0.3048) == pytest.approx(5.1, abs=0.05)


def test_zero_spread_is_theory_with_its_allowance() -> None:
    plan = plan_of()
    stages = tuple(Stage(**(stage.model_dump() | {"spread_share": 0.0})) for stage in plan.stages)
    meter = plan.meter
    assert meter is not None
    sure = plan.model_copy(update={"stages": stages, "meter": meter.model_copy(update={"tolerance_share": 0.0})})
    for stage in planned(sure).stages:
        wanted = si(stage.theory) * 1.15 + plan.line.volume_m3
        assert [si(stage.low), si(stage.likely), si(stage.high)] == pytest.approx([wanted] * 3)


def test_bags_and_water_by_hand() -> None:
    view = planned(plan_of())
    # first lift: (pi/4 (0.31115^2 - 0.2191^2) x 11.5 + pi/4 x 0.31115^2 x 0.5) x 1.15 + 0.0563 = 0.6070 m3;
    # at 31.11 L a bag, 19.5 bags
    # to surface: (0.55209 + 0.0383349 x 30) x 1.15 + 0.0563 = 2.0137 m3, 64.7 bags
    assert [stage.bags for stage in view.stages] == [20, 65]
    # 85 bags x 18.4 L + two wash-ups of 200 L + a line of 56.3 L filled twice
    assert si(view.stock.water) == pytest.approx(85 * 0.0184 + 0.4 + 2 * 0.0563, abs=5e-5)
    assert view.stock.bags == 85


def test_returns_window_by_hand() -> None:
    plan = plan_of()
    low, high = (si(view) for view in (planned(plan).stages[1].returns_low, planned(plan).stages[1].returns_high))
    air = 0.552085 + 12 * 0.0383349  # annulus down to the water at 18 m
    # half-width of the central 80 %: asinh(0.15 / 1.15) and asinh(0.02) combine to 0.13159
    spread = math.exp(math.hypot(math.asinh(0.15 / 1.15), math.asinh(0.02)))
    assert low == pytest.approx(1.15 * air / spread, rel=1e-5)
    assert high == pytest.approx(1.15 * (0.552085 + 30 * 0.0383349) * spread + 0.0562973, rel=1e-5)
    full_hole = plan.model_copy(update={"hole": Hole(**(plan.hole.model_dump() | {"water_level_m": 0.0}))})
    assert [si(stage.returns_high) for stage in planned(full_hole).stages] == [0.0, 0.0]


def test_loads_by_hand() -> None:
    view = planned(plan_of())
    air = 42.549 * 48.1 + 28 + 60  # kg: casing, shoe, hook
    assert si(view.load.air) / G == pytest.approx(air, abs=0.05)
    water = 29.5 * 999.1  # kg/m2 on the shoe, from 18 m to 47.5 m
    # float shoe, dry inside: the whole outer area is pushed up; filled: only the metal's
    assert si(view.load.at_target) / G == pytest.approx(air - water * math.pi / 4 * 0.2191**2, abs=0.1)
    filled = air - water * math.pi / 4 * (0.2191**2 - 0.20274**2)
    assert si(view.load.filled) / G == pytest.approx(filled, abs=0.1)
    assert si(view.load.float_failed) / G == pytest.approx(1.25 * filled, abs=0.1)
    assert view.load.past_limit_at_joint is None


def test_an_open_end_carries_its_buoyed_weight() -> None:
    # 60 m of NPS 6 x 0.280 in (28.26 kg/m), water at 20 m, open end: 28.26 x 60 - 40 x 0.003600 m2 x 999.1 = 1551.7 kg,
    # the buoyed weight of its metal
    plan = plan_of()
    hole = Hole(sections=(HoleSection(top_m=0.0, bottom_m=60.0, diameter_m=0.25),), water_level_m=20.0)
    stage = Stage(name="one", bottom_m=60.0, top_m=0.0, mix="neat", method="tremie")
    plan = plan.model_copy(update={"hole": hole, "stages": (stage,)})
    changes = {"outer_diameter_m": 0.1683, "bore_m": 0.1683 - 2 * 0.00711, "mass_kg_m": 28.26, "shoe": "open"}
    plan = with_casing(plan, **changes, shoe_mass_kg=0.0, target_shoe_depth_m=60.0, stick_up_m=0.0, rack_m=(6.0,) * 11)
    limits = Limits(**(plan.limits.model_dump() | {"hook_n": 0.0}))
    view = planned(plan.model_copy(update={"limits": limits}))
    assert si(view.load.at_target) / G == pytest.approx(1551.6, abs=0.5)
    assert view.load.float_failed.si is None
    # 60 m of grout of 1,876.7 kg/m3 outside, 40 m of water inside: (60 x 1,876.7 - 40 x 999.1)/1,876.7 = 38.71 m
    assert "38.71 m of grout comes up the casing" in said(view, "stop-and-look")


def pvc_plan(shoe: str, sdr: float = 21) -> Plan:
    """200 ft of 6 in plastic casing in a hole that stands full, 15.0 lb/gal grout to surface."""
    plan = plan_of()
    outer, depth = 6.625 * 0.0254, 200 * 0.3048
    hole = Hole(sections=(HoleSection(top_m=0.0, bottom_m=depth, diameter_m=0.25),), water_level_m=0.0)
    mix = plan.mixes[0].model_copy(update={"density_kg_m3": 15.0 * 119.8264})
    stage = Stage(name="one", bottom_m=depth, top_m=0.0, mix="neat", method="tremie")
    plan = plan.model_copy(update={"hole": hole, "stages": (stage,), "mixes": (mix,)})
    bore = outer * (1 - 2 * 1.06 / sdr)
    mass = math.pi / 4 * (outer**2 - bore**2) * 1380
    changes = {"material": "pvc", "outer_diameter_m": outer, "bore_m": bore, "mass_kg_m": mass, "shoe": shoe}
    changes |= {
        "minimum_wall_m": None,
        "shoe_mass_kg": 0.0,
        "target_shoe_depth_m": depth,
        "stick_up_m": 0.0,
        "rack_m": (6.1,) * 12,
    }
    return with_casing(plan, **changes, connection="solvent", weld_gap_m=0.0)


def test_plastic_casing_lifts_in_grout() -> None:
    view = planned(pvc_plan("closed"))
    # 3.96 lb/ft of pipe + 12.08 of water inside - 26.86 of grout outside = -10.83 lb/ft (unrounded parts), x 200 ft:
    # 2165 lb; worked by hand from the areas with water of 8.345 lb/gal, here 8.338
    full = si(view.stages[0].load.full) - plan_of().limits.hook_n
    assert full / 4.448222 == pytest.approx(-2165, abs=10)
    assert "a hoist cannot" in said(view, "stop-and-look")


def test_plastic_casing_against_collapse() -> None:
    view = planned(pvc_plan("closed"))
    rows = {(row.when, row.inside): row for row in view.collapse.rows}
    # form a, 2E/(1-v2) / [SDR (SDR-1)^2] with E 400 000 psi and v 0.38 at SDR 21: 111.3 psi, by hand; x 0.79 at 120 °F
    assert si(view.collapse.rating) / PSI == pytest.approx(111.3, abs=0.05)
    assert si(view.collapse.setting_rating) / PSI == pytest.approx(111.3 * 0.79, abs=0.1)
    # (15.0 - 8.34) lb/gal x 0.05195 x 200 ft = 69 psi outside over inside; empty, 156 psi
    assert si(rows["one", "full of water"].differential) / PSI == pytest.approx(69, abs=0.5)
    assert si(rows["one", "empty"].differential) / PSI == pytest.approx(156, abs=0.5)
    assert "collapse, one, inside empty" in said(view, "stop-and-look")
    thin = planned(pvc_plan("closed", sdr=26))
    # SDR 26: 57.5 psi by the same formula, less than 69
    assert si(thin.collapse.rating) / PSI == pytest.approx(57.5, abs=0.05)
    assert "inside full of water" in said(thin, "stop-and-look")


def test_a_steel_rating_names_its_formula_and_its_yield() -> None:
    view = planned(plan_of())
    assert "API 5C3" in view.collapse.formula
    assert "241 MPa" in view.collapse.formula
    given_rating = plan_of(example().replace('# collapse = "100 bar"', 'collapse = "100 bar"'))
    assert si(planned(given_rating).collapse.rating) == pytest.approx(100e5)
    assert planned(given_rating).collapse.formula == "as given in the plan"


@pytest.mark.parametrize("depth_m", [53.8, 47.5, 50.6, 61.0, 137 * 0.3048])
def test_no_depth_of_the_collapse_table_is_told_twice(depth_m: float) -> None:
    plan = with_casing(plan_of(), shoe="closed", target_shoe_depth_m=depth_m)
    hole = Hole(sections=(HoleSection(top_m=0.0, bottom_m=70.0, diameter_m=0.3),), water_level_m=10.0)
    stage = plan.stages[0].model_copy(update={"bottom_m": depth_m, "top_m": 0.0})
    view = planned(plan.model_copy(update={"hole": hole, "stages": (stage,)}))
    metric = [formats.text(row.depth, "metric") for row in view.collapse.worst_by_depth]
    assert (
        len(set(metric)) == len(metric) == 7
    )  # ground level and six even depths: an empty casing in grout is pressed most at its shoe
    assert metric[-1] == f"{depth_m:.2f} m"


def test_string_in_rack_order_by_hand() -> None:
    view = planned(plan_of())
    # shoe 0.35 + 4 x 6.10 + 6.08 + 6.12 + 2 x 6.05 + 8 welds x 0.002 = 49.066; 47.5 + 0.6 = 48.1
    assert view.string.joints_needed == 8
    assert si(view.string.cut_off) == pytest.approx(0.966, abs=1e-9)
    short = with_casing(plan_of(), rack_m=(6.1,) * 5)
    assert "the rack makes 30.86 m" in said(planned(short), "stop-and-look")


@pytest.mark.parametrize(
    ("old", "new", "severity", "words"),
    [
        ("bags = 110", "bags = 90", "note", "90 bags aboard, 85 likely and 97"),
        ("bags = 110", "bags = 80", "caution", "80 bags aboard, 85 likely"),
        ('water = "2500 L"', 'water = "1500 L"', "caution", "1,500 L of water aboard"),
        ('hoist = "8 t"', 'hoist = "1 t"', "stop-and-look", "passes the limit of the hoist"),
        ('hoist = "8 t"', 'hoist = "2 t"', "caution", "if the casing's end gives way the load comes to 2.47 t"),
        ("sections = 16", "sections = 10", "caution", "the tremie is 30.00 m long"),
        ('outer_diameter = "42 mm"', 'outer_diameter = "60 mm"', "note", "all round if the casing stands centred"),
        ('outer_diameter = "42 mm"', 'outer_diameter = "95 mm"', "stop-and-look", "a tremie of 95.0 mm"),
        ('from = "36 m"', 'from = "34 m"', "caution", "between first lift and to surface, 34.00 m to 36.00 m"),
        ('to = "0 m"\nmix', 'to = "2 m"\nmix', "note", "ends at 2.00 m"),
        ('from = "48 m"', 'from = "46 m"', "note", "above the shoe"),
        ("# drinks_water = true", "drinks_water = false", "note", "8 joints"),
        # the longest joint is 6.12 m, at 42.549 kg/m 260.4 kg
        ('shoe_length = "0.35 m"', 'shoe_length = "6.13 m"', "caution", "shoe is 6.13 m long, longer than the longest"),
        ('shoe_mass = "28 kg"', 'shoe_mass = "261 kg"', "caution", "261.0 kg, more than the longest joint, 260.4 kg"),
        ('shoe_mass = "28 kg"  ', 'shoe_mass = "0 kg"  ', "caution", "shoe is 0.35 m long and weighs nothing"),
    ],
)  # fmt: skip
def test_warnings(old: str, new: str, severity: str, words: str) -> None:
    assert old in example()
    assert words in said(planned(plan_of(example().replace(old, new, 1))), severity)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('shoe_length = "0.35 m"', 'shoe_length = "6.12 m"'),
        ('shoe_mass = "28 kg"', 'shoe_mass = "260 kg"'),
        ('shoe_length = "0.35 m"\n', ""),  # it is part of the first joint
        ('shoe_length = "0.35 m"\nshoe_mass = "28 kg"  ', 'shoe_length = "0 m"\nshoe_mass = "0 kg"  '),
    ],
)
def test_a_shoe_that_may_be_is_not_questioned(old: str, new: str) -> None:
    assert old in example()
    assert (
        "the shoe is" not in (told := said(planned(plan_of(example().replace(old, new, 1))))) and "weighs" not in told
    )


def test_pumping_through_the_casing_names_the_pressure_that_lifts() -> None:
    view = planned(plan_of(example().replace('method = "tremie" ', 'method = "through casing" ', 1)))
    limit = view.stages[0].load.pump_limit
    # free body behind a bridge: weight + grout column on the bore = (grout column + pump) on the outer area; kg/m2
    area = math.pi / 4 * 0.2191**2
    column = 47.5 * 1876.69
    weight = 42.549 * 48.1 + 28 + column * math.pi / 4 * 0.20274**2
    assert si(limit) / G == pytest.approx(weight / area - column, abs=5)


@pytest.mark.parametrize("shoe", ["open", "float", "closed"])
@pytest.mark.parametrize("drinks", [None, True, False])
@pytest.mark.parametrize("line_starts", ["water", "empty"])
@pytest.mark.parametrize("method", ["tremie", "through casing"])
def test_the_day_begins_with_what_was_planned(shoe: str, drinks: bool | None, line_starts: str, method: str) -> None:
    """The plan as printed and the first moment of the stage agree: two paths through the same handbook."""
    stage = scenario.BASE["stages"][0] | {"method": method}
    plan = scenario.plan(
        casing={"shoe": shoe}, hole={"drinks_water": drinks}, line={"starts": line_starts}, stages=[stage]
    )
    day = scenario.Day(plan)
    day.record(ev.StageStarted(stage=0, bottom_m=60.0, top_m=0.0))
    begun = fill(day.state, day.state.grout.stages[0])
    said_before = planned(plan).stages[0]
    window = [si(said_before.returns_low), si(said_before.returns_high)]
    assert window == pytest.approx([begun.due.low_m3, begun.due.high_m3])
    assert said_before.returns_fluid == begun.due.fluid
    volumes = [si(said_before.likely), si(said_before.high), si(said_before.theory)]
    assert volumes == pytest.approx([begun.planned_m3, begun.planned_high_m3, begun.theory_m3])


@settings(max_examples=40)
@given(
    water=st.floats(0, 48),
    allowance=st.floats(-0.5, 2),
    spread=st.floats(0, 1),
    shoe=st.sampled_from(["open", "float", "closed"]),
    drinks=st.sampled_from([None, True, False]),
    top=st.floats(0, 35),
)
def test_every_plan_is_worked_out(
    water: float, allowance: float, spread: float, shoe: str, drinks: bool | None, top: float
) -> None:
    plan = with_casing(plan_of(), shoe=shoe)
    hole = Hole(**(plan.hole.model_dump() | {"water_level_m": water, "drinks_water": drinks}))
    changes = {"allowance_share": allowance, "spread_share": spread}
    stages = [Stage(**(stage.model_dump() | changes)) for stage in plan.stages]
    stages[1] = Stage(**(stages[1].model_dump() | {"top_m": top}))
    view = planned(plan.model_copy(update={"hole": hole, "stages": tuple(stages)}))
    for stage in view.stages:
        assert si(stage.low) <= si(stage.likely) <= si(stage.high)
        assert si(stage.returns_low) <= si(stage.returns_high) + 1e-12
        assert stage.bags <= stage.bags_high
    assert all(math.isfinite(number) for number in _numbers(view))


def _numbers(value: object) -> list[float]:
    if isinstance(value, Quantity):
        return [] if value.si is None else [value.si]
    if is_dataclass(value):
        return [number for field in fields(value) for number in _numbers(getattr(value, field.name))]
    return [number for item in value for number in _numbers(item)] if isinstance(value, tuple) else []
