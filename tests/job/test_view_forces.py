"""Hook, collapse and pump of a plan, worked by hand from areas, columns and printed formulas."""

import math
from typing import Any

import pytest

from tally import formats
from tally.engineering import circuit
from tally.engineering.circuit import Passage
from tally.job.plan import Plan
from tally.job.view.planned import PlanView, planned
from tally.job.view.quantity import Quantity
from tests import scenario

G = 9.80665
PSI = 6894.757
OUTER, BORE = math.pi / 4 * 0.168275**2, math.pi / 4 * 0.154051**2
METAL = OUTER - BORE
WATER, GROUT = 999.1, 1870.0
RHEOLOGY = {"plastic_viscosity_pa_s": 0.04, "yield_stress_pa": 14.4}


def si(quantity: Quantity) -> float:
    assert quantity.si is not None
    return quantity.si


def plan_of(mix: dict[str, Any] | None = None, **changes: Any) -> Plan:
    """The round hole: 250 mm, 60 m, water at 20 m; NPS 6 x 0.280; one stage from 60 m to ground level."""
    mixes = [scenario.BASE["mixes"][0] | (mix or {})]
    return scenario.plan(mixes=mixes, **changes)


def said(view: PlanView, severity: str) -> str:
    return "\n".join(
        warning.sentence.written(lambda each: formats.text(each, "metric"))
        for warning in view.warnings
        if warning.severity == severity
    )


# --- the run ---------------------------------------------------------------------------------------------------------


def test_the_load_joint_by_joint() -> None:
    view = planned(plan_of(casing={"shoe": "closed"})).load
    assert [row.joint for row in view.joints] == list(range(1, 13))
    # joint 4: 20.20 m of string, shoe at 19.60 m, above the water: 28.26 x 20.2 kg in air
    assert si(view.joints[3].shoe) == pytest.approx(19.60)
    assert si(view.joints[3].expected) / G == pytest.approx(28.26 * 20.2)
    # joint 8: 40.40 m, shoe at 39.80 m: 19.8 m of water on the whole face, dry inside; on the metal alone when filled
    assert si(view.joints[7].expected) / G == pytest.approx(28.26 * 40.4 - 19.8 * WATER * OUTER)
    assert si(view.joints[7].filled) / G == pytest.approx(28.26 * 40.4 - 19.8 * WATER * METAL)
    assert si(view.joints[7].share) == pytest.approx(si(view.joints[7].filled) / 60_000)
    open_end = planned(plan_of()).load
    assert [row.expected for row in open_end.joints] == [row.filled for row in open_end.joints]


def test_each_limit_names_its_joint() -> None:
    # open end: 28.26 kg/m x 5.05 m x g = 1399.5 N a joint in air; 5000 N is passed by the fourth, 3000 N by the third
    limits = {"hoist_n": 60_000.0, "elevator_n": 5_000.0, "connection_n": 3_000.0}
    view = planned(plan_of(limits=limits))
    assert [(row.name, row.passed_at_joint) for row in view.load.limits] == [
        ("hoist", None),
        ("elevator", 4),
        ("connection", 3),
    ]
    assert view.load.limit_name == "connection" and view.load.past_limit_at_joint == 3
    assert "joint 4 passes the limit of the elevator" in said(view, "stop-and-look")
    assert "joint 3 passes the limit of the connection" in said(view, "stop-and-look")


def test_a_rack_that_falls_short_within_the_stick_up_is_enough() -> None:
    # 12 x 5.05 = 60.60 needed; a last joint 8 cm shorter leaves 0.52 m of the 0.60 m above ground, within 0.10 m
    rack = [5.05] * 11 + [4.97]
    view = planned(plan_of(casing={"rack_m": rack}))
    assert view.string.joints_needed == 12
    assert si(view.string.stick_up) == pytest.approx(0.52)
    assert si(view.string.cut_off) == 0.0
    assert len(view.load.joints) == 12 and view.load.largest_at_joint <= 12
    assert si(view.load.joints[-1].shoe) == pytest.approx(60.0)
    assert "rack makes" not in said(view, "stop-and-look")
    # 11 cm shorter is not
    short = planned(plan_of(casing={"rack_m": [5.05] * 11 + [4.94]}))
    assert short.string.joints_needed is None and "the rack makes 60.49 m" in said(short, "stop-and-look")


def test_a_rack_that_stands_a_little_high_needs_no_cut_and_one_that_stands_too_high_does() -> None:
    high = planned(plan_of(casing={"rack_m": [5.05] * 11 + [5.14]})).string
    assert [si(high.cut_off), si(high.stick_up)] == pytest.approx([0.0, 0.69])
    cut = planned(plan_of(casing={"rack_m": [5.05] * 11 + [5.16]})).string
    assert [si(cut.cut_off), si(cut.stick_up)] == pytest.approx([0.11, 0.60])


def test_joints_delivered_and_listed() -> None:
    assert "joints delivered" not in said(planned(plan_of(casing={"delivered": 12})), "caution")
    view = planned(plan_of(casing={"delivered": 14}))
    assert "14 joints delivered, 12 on the rack's list" in said(view, "caution")


# --- the grout comes up ----------------------------------------------------------------------------------------------


def test_hook_and_collapse_step_by_step() -> None:
    steps = planned(plan_of(casing={"shoe": "closed"})).collapse.steps
    assert [si(step.top) for step in steps] == [45.0, 30.0, 15.0, 0.0]
    weight = 28.26 * 60.6
    for step, top in zip(steps, (45.0, 30.0, 15.0, 0.0), strict=True):
        # kg/m2 at 60 m: water pushed up to ground level over the grout
        outside = top * WATER + (60 - top) * GROUT
        assert si(step.empty) / G == pytest.approx(weight - outside * OUTER)
        assert si(step.full) / G == pytest.approx(weight - outside * OUTER + 60 * WATER * BORE)
        assert si(step.hold_down) / G == pytest.approx(max(outside * OUTER - weight, 0.0))
        assert si(step.differential) / G == pytest.approx(outside)
        assert si(step.depth) == 60.0


def test_ground_that_drinks_keeps_the_water_at_its_level() -> None:
    steps = planned(plan_of(hole={"drinks_water": True})).collapse.steps
    # an open end: inside stands at 20 m as outside did; grout up to 30 m, 10 m of water over it
    outside, inside = 10 * WATER + 30 * GROUT, 40 * WATER
    assert si(steps[1].differential) / G == pytest.approx(outside - inside)
    assert steps[1].empty.si is None


def test_the_worst_moment_by_depth() -> None:
    view = planned(plan_of(casing={"shoe": "closed"})).collapse
    assert (view.worst.when, view.worst.inside) == ("all", "empty")
    assert [si(row.depth) for row in view.worst_by_depth] == pytest.approx([0, 10, 20, 30, 40, 50, 60])
    assert [si(row.outside) / G for row in view.worst_by_depth] == pytest.approx([z * GROUT for z in range(0, 61, 10)])
    assert all(si(row.inside) == 0.0 for row in view.worst_by_depth)
    assert si(view.worst_by_depth[-1].differential) == pytest.approx(si(view.worst.differential))


def test_ratings_by_what_the_plan_says_of_the_steel() -> None:
    # API 5C3, 6.625 x 0.288 in: J-55 2970 psi, H-40 2520 psi, both to the nearest 10
    size = {"outer_diameter_m": 6.625 * 0.0254, "bore_m": 6.049 * 0.0254, "minimum_wall_m": 0.288 * 0.0254}
    for yield_psi, collapse_psi in ((55_000, 2970), (40_000, 2520)):
        view = planned(plan_of(casing=size | {"yield_pa": yield_psi * PSI})).collapse
        assert si(view.rating) / PSI == pytest.approx(collapse_psi, abs=5)
        assert f"yield as given {yield_psi * PSI / 1e6:.0f} MPa ({yield_psi} psi)" in view.formula


LIGHT = {
    "material": "pvc",
    "bore_m": 0.168275 - 2 * 0.00851,
    "mass_kg_m": 5.89,
    "connection": "solvent",
}


def test_light_plastic_lifts_even_with_an_open_end() -> None:
    bore = math.pi / 4 * (0.168275 - 2 * 0.00851) ** 2
    view = planned(plan_of(casing=LIGHT | {"shoe": "open"}))
    # 5.89 x 60.6 kg less grout on the plastic alone: it lifts, and nothing poured in would stay
    lifts = 60 * GROUT * (OUTER - bore) - 5.89 * 60.6
    assert si(view.stages[0].load.hold_down) / G == pytest.approx(lifts)
    assert view.stages[0].load.cure.si is None and view.stages[0].load.cure_density.si is None
    assert "a hoist cannot, and water poured in leaves by the open end" in said(view, "stop-and-look")


def test_the_cure_of_a_closed_end_is_a_level_or_a_density() -> None:
    steel = planned(plan_of(casing={"shoe": "closed"})).stages[0].load
    # missing on the bore: (60 x 1870 x A_outer - 28.26 x 60.6)/A_bore = 42 490 kg/m2, 42.53 m of water: level 17.5 m
    height = (60 * GROUT * OUTER - 28.26 * 60.6) / BORE / WATER
    assert si(steel.cure) == pytest.approx(60 - height)
    assert steel.cure_density.si is None
    bore = math.pi / 4 * (0.168275 - 2 * 0.00851) ** 2
    view = planned(plan_of(casing=LIGHT | {"shoe": "closed"}))
    light = view.stages[0].load
    assert light.cure.si is None
    assert si(light.cure_density) == pytest.approx((60 * GROUT * OUTER - 5.89 * 60.6) / bore / 60)
    assert "water inside is too light to keep the closed end down" in said(view, "note")


def test_a_float_keeps_what_stands_below_balance() -> None:
    heavy = planned(plan_of(casing={"shoe": "float"})).stages[0].load
    closed = planned(plan_of(casing={"shoe": "closed"})).stages[0].load
    assert heavy.cure == closed.cure
    # plastic lighter than the grout that it displaces: above balance the float lets it out, so that nothing cures it
    light = planned(plan_of(casing=LIGHT | {"shoe": "float"})).stages[0].load
    assert light.cure.si is None and light.cure_density.si is None


# --- the pump --------------------------------------------------------------------------------------------------------

PUMP = {"rate_m3_s": 0.001, "pressure_limit_pa": 2e6}
LINE = {"volume_m3": 0.06434, "starts": "water", "length_m": 80.0, "bore_m": 0.032}


def test_without_rheology_nothing_is_guessed() -> None:
    (pressure,) = planned(plan_of(pump=PUMP)).pressures
    assert "no rheology given" in " ".join(pressure.unsaid)
    assert "a hose's friction is not counted" in " ".join(pressure.unsaid)
    assert [pressure.friction.si, pressure.pump.si, pressure.rate_at_limit.si] == [None] * 3
    assert [row.loss.si for row in pressure.passages] == [None, None]
    (idle,) = planned(plan_of(RHEOLOGY)).pressures
    assert "no pump given" in " ".join(idle.unsaid) and idle.pump.si is None
    (unlimited,) = planned(plan_of(RHEOLOGY, pump={"rate_m3_s": 0.001})).pressures
    assert "no limit of the pump's pressure" in " ".join(unlimited.unsaid) and unlimited.rate_at_limit.si is None


def test_the_pump_at_the_end_of_a_stage() -> None:
    (pressure,) = planned(plan_of(RHEOLOGY, pump=PUMP, line=LINE)).pressures
    assert pressure.unsaid == ()
    rows = [(row.name, si(row.length)) for row in pressure.passages]
    assert rows == [("hose", 20.0), ("tremie", 60.0), ("annulus", 60.0)]
    # each passage by the handbook's own formula; their sum, and the columns by hand
    way = Passage("hose", 0.032, 20.0), Passage("tremie", 0.0266, 60.0), Passage("annulus", 0.250, 60.0, 0.168275)
    slurry = {"density_kg_m3": GROUT, "viscosity_pa_s": 0.04, "yield_stress_pa": 14.4}
    wanted = [circuit.passage_loss_pa(each, flow_m3_s=0.001, **slurry) for each in way]
    assert [si(row.loss) for row in pressure.passages] == pytest.approx(wanted)
    assert si(pressure.friction) == pytest.approx(sum(wanted))
    # grout to ground level inside and out: the pump sees friction alone
    assert si(pressure.outside) == pytest.approx(60 * GROUT * G) == pytest.approx(si(pressure.column))
    assert si(pressure.pump) == pytest.approx(sum(wanted))
    met = circuit.flow_at_pressure_m3_s(way, limit_pa=2e6, head_pa=0.0, **slurry)
    assert si(pressure.rate_at_limit) == pytest.approx(met)


def test_a_line_that_falls_by_itself_asks_nothing_of_the_pump() -> None:
    stage = scenario.BASE["stages"][0] | {"top_m": 50.0}
    thin = RHEOLOGY | {"yield_stress_pa": 0.0, "plastic_viscosity_pa_s": 0.001}
    (pressure,) = planned(plan_of(thin, pump={"rate_m3_s": 1e-5, "pressure_limit_pa": 1e6}, stages=[stage])).pressures
    assert si(pressure.pump) == 0.0
    assert si(pressure.outside) / G == pytest.approx(50 * WATER + 10 * GROUT)
    assert [(row.name, si(row.length)) for row in pressure.passages] == [("tremie", 60.0), ("annulus", 10.0)]


def test_a_pump_that_is_too_weak() -> None:
    view = planned(plan_of(RHEOLOGY, pump=PUMP | {"pressure_limit_pa": 2e5}, line=LINE))
    words = said(view, "stop-and-look")
    assert "at the pump at 60 L/min, over its limit of 2.0 bar, which is met at" in words


def through_casing(**changes: Any) -> PlanView:
    stage = scenario.BASE["stages"][0] | {"method": "through casing"}
    casing = {"shoe": "float"} | changes.pop("casing", {})
    return planned(plan_of(RHEOLOGY, stages=[stage], pump=PUMP, casing=casing, **changes))


def test_pumping_through_the_casing() -> None:
    (pressure,) = through_casing().pressures
    assert [(row.name, si(row.length)) for row in pressure.passages] == [("casing", 60.0), ("annulus", 60.0)]
    casing = pressure.casing
    assert casing is not None
    # API 5C3: 0.875 x 2 x 35 000 psi x 0.280/6.625 = 2588.7 psi
    assert si(casing.burst_rating) / PSI == pytest.approx(2588.7, abs=0.5)
    # at the limit of 2 MPa: most at the water's level, 20 m of grout inside against nothing outside, growing below by
    # the difference of the two fluids: at the shoe 60 m of grout less 40 m of water
    assert si(casing.inside_over_outside) == pytest.approx(2e6 + (60 * GROUT - 40 * WATER) * G)
    assert si(casing.depth) == 60.0
    assert casing.ratio == pytest.approx(si(casing.burst_rating) / si(casing.inside_over_outside))
    assert si(casing.cap) == pytest.approx(2e6 * BORE)
    weight = 28.26 * 60.6 * G
    # both columns grout to ground level; friction of the annulus on top of the outer one
    annulus = si(pressure.passages[1].loss)
    assert si(casing.hook) == pytest.approx(weight + 60 * GROUT * G * BORE - (60 * GROUT * G + annulus) * OUTER)
    # bridged: inside column + 2 MPa on the whole outer area
    assert si(casing.bridged) == pytest.approx(weight + 60 * GROUT * G * BORE - (60 * GROUT * G + 2e6) * OUTER)


def test_while_the_line_falls_by_itself_the_casing_is_not_full() -> None:
    stage = scenario.BASE["stages"][0] | {"method": "through casing", "top_m": 30.0}
    thin = RHEOLOGY | {"yield_stress_pa": 0.0, "plastic_viscosity_pa_s": 0.001}
    view = planned(plan_of(thin, stages=[stage], pump={"rate_m3_s": 1e-5}, casing={"shoe": "float"}))
    casing = view.pressures[0].casing
    assert casing is not None and si(view.pressures[0].pump) == 0.0
    # 30 m of water over 30 m of grout outside; inside at balance, so that only the metal is pressed up
    outside = 30 * WATER + 30 * GROUT
    assert si(casing.hook) / G == pytest.approx(28.26 * 60.6 - outside * METAL, abs=0.5)


def test_a_casing_that_would_burst_and_what_plastic_stands() -> None:
    weak = through_casing(limits={"burst_pa": 1e6})
    assert "over what the casing stands, 10.0 bar" in said(weak, "stop-and-look")
    (plastic,) = through_casing(casing=LIGHT).pressures
    assert plastic.casing is not None
    # least wall 8.51/1.06 = 8.028 mm: 2 x 2000 psi x 8.028/(168.275 - 8.028) = 200.4 psi, of which 0.75 at 90 °F
    assert si(plastic.casing.burst_rating) / PSI == pytest.approx(150.3, abs=0.1)
    assert "2 S t/(D-t)" in plastic.casing.burst_formula and "x 0.75" in plastic.casing.burst_formula


def test_a_pipe_that_stabs_into_the_shoe_keeps_the_pump_out_of_the_casing() -> None:
    line = {"volume_m3": 0.132, "length_m": 62.0, "bore_m": 0.052}
    (pressure,) = through_casing(line=line).pressures
    assert pressure.casing is None
    assert [(row.name, si(row.length)) for row in pressure.passages] == [("hose, pipe", 62.0), ("annulus", 60.0)]
    stage = scenario.BASE["stages"][0] | {"method": "through casing", "plug_m": 2.0}
    (bare,) = planned(plan_of(RHEOLOGY, stages=[stage], pump=PUMP, casing={"shoe": "float"}, line=line)).pressures
    assert bare.casing is not None
    assert [(row.name, si(row.length)) for row in bare.passages[:2]] == [("hose", 2.0), ("casing", 60.0)]


def test_nothing_can_be_pumped_through_a_closed_end() -> None:
    assert "whose end is closed" in said(through_casing(casing={"shoe": "closed"}), "stop-and-look")
    assert "whose end is closed" not in said(through_casing(), "stop-and-look")


def test_pumping_lifts_a_light_casing() -> None:
    assert "pumping lifts the casing" in said(through_casing(casing=LIGHT), "stop-and-look")


# --- mixes and what is aboard ----------------------------------------------------------------------------------------

GEL = {
    "kind": "cement-bentonite",
    "parts": [
        {"name": "cement", "mass_kg": 42.6, "specific_gravity": 3.15},
        {"name": "bentonite", "mass_kg": 1.7, "specific_gravity": 2.65},
    ],
}


def test_whole_batches_of_whole_bags() -> None:
    # 33.4 L a bag: 120 L take three bags, 100.2 L, 3 x 19.7 L of water
    stage = planned(plan_of({"mixer_m3": 0.120})).stages[0]
    batches = stage.batches
    assert batches is not None
    assert batches.bags_each == 3
    assert si(batches.volume) == pytest.approx(0.1002) and si(batches.water) == pytest.approx(0.0591)
    assert (batches.count - 1) * 3 + batches.bags_last == stage.bags and 1 <= batches.bags_last <= 3
    assert planned(plan_of()).stages[0].batches is None


def test_what_else_goes_in_against_what_is_aboard() -> None:
    def view(aboard_kg: float | None) -> PlanView:
        materials = [] if aboard_kg is None else [{"name": "bentonite", "mass_kg": aboard_kg}]
        return planned(plan_of(GEL, aboard={"materials": materials}))

    unsaid = view(None)
    (material,) = unsaid.stock.materials
    assert si(material.needed) == pytest.approx(unsaid.stages[0].bags * 1.7)
    assert si(material.high) == pytest.approx(unsaid.stages[0].bags_high * 1.7)
    assert material.aboard.si is None
    assert "the plan does not say what is aboard" in said(unsaid, "note")
    likely, high = si(material.needed), si(material.high)
    assert "of bentonite aboard" in said(view(likely - 0.5), "caution")
    assert "of bentonite aboard" in said(view((likely + high) / 2), "note")
    assert "bentonite" not in said(view(high), "note") + said(view(high), "caution")


def test_water_by_what_it_is_for() -> None:
    view = planned(plan_of(aboard={"wash_up_m3": 0.15}))
    stock, stage = view.stock, view.stages[0]
    assert si(stock.mixing) == pytest.approx(stage.bags * 0.0197)
    assert (si(stock.filling), si(stock.wash_up)) == (0.040, 0.15)
    assert si(stock.water) == pytest.approx(stage.bags * 0.0197 + 0.040 + 0.15)
    assert si(planned(plan_of(line={"starts": "empty"})).stock.filling) == 0.0


def test_bags_of_two_kinds_are_said_apart() -> None:
    foot, rest = (scenario.BASE["stages"][0] | each for each in ({"top_m": 20.0}, {"bottom_m": 20.0, "mix": "clay"}))
    clay = scenario.BASE["mixes"][0] | {
        "name": "clay",
        "kind": "bentonite",
        "bag_kg": 22.7,
        "parts": [{"name": "bentonite", "mass_kg": 22.7, "specific_gravity": 2.65}],
    }
    view = planned(scenario.plan(mixes=[scenario.BASE["mixes"][0], clay], stages=[foot, rest | {"name": "rest"}]))
    kinds = [(kind.of, si(kind.bag), kind.bags) for kind in view.stock.kinds]
    assert kinds == [("cement", 42.6, view.stages[0].bags), ("bentonite", 22.7, view.stages[1].bags)]
    assert "bags of 2 kinds" in said(view, "note")
    assert "kinds" not in said(planned(plan_of()), "note")
