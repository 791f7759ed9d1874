"""How warm plastic gets beside setting cement, in a plan; and water to cement, and the tremie as it hangs."""

from typing import Any

import pytest

from tally.job.view.planned import PlanView, planned
from tests import scenario
from tests.job.test_view_planned import said

PLASTIC = {"material": "pvc", "connection": "solvent", "mass_kg_m": 5.9}
NEAT = {"kind": "neat cement", "parts": [{"name": "cement", "mass_kg": 42.6, "specific_gravity": 3.15}]}


def view_of(hole_m: float = 0.250, mix: dict[str, Any] | None = None, **changes: Any) -> PlanView:
    section = {"top_m": 0.0, "bottom_m": 60.0, "diameter_m": hole_m}
    mixes = [scenario.BASE["mixes"][0] | (NEAT if mix is None else mix)]
    return planned(scenario.plan(hole={"sections": [section]}, mixes=mixes, **changes))


def test_thin_cement_warms_plastic_a_little() -> None:
    # (240 - 168.275)/2 = 35.86 mm of cement, under 1-1/2 in: 12 °C and 26 °F more
    (heat,) = view_of(0.240, casing=PLASTIC).heat
    assert heat.grout.si == pytest.approx(0.0358625)
    assert heat.setting_c == pytest.approx(12.0 + 26.0 / 1.8)
    assert "may reach 26 °C (80 °F)" in said(view_of(0.240, casing=PLASTIC), "note")


def test_thick_cement_is_past_what_plastic_stands() -> None:
    words = said(view_of(0.300, casing=PLASTIC), "caution")
    assert "may reach 71 °C (160 °F)" in words and "none should be relied on" in words


def test_the_log_counts_as_it_measured() -> None:
    section = {"top_m": 0.0, "bottom_m": 60.0, "diameter_m": 0.240}
    log = [{"depth_m": 5.0, "diameter_m": 0.24}, {"depth_m": 20.0, "diameter_m": 0.26}]
    plan = scenario.plan(
        hole={"sections": [section], "log": log}, mixes=[scenario.BASE["mixes"][0] | NEAT], casing=PLASTIC
    )
    assert planned(plan).heat[0].grout.si == pytest.approx(0.0458625)


def test_neither_steel_nor_bentonite_is_warmed() -> None:
    assert view_of(0.300).heat == ()
    assert view_of(0.300, mix={"kind": "bentonite"}, casing=PLASTIC).heat == ()
    assert "plastic casing" not in said(view_of(0.300), "caution")


def test_water_to_cement_by_weight() -> None:
    # 19.7 L x 0.9991 over 42.6 kg; API class A: 5.2 US gal x 3.785412 x 0.9991 over 42.638 kg
    (mix,) = view_of().mixes
    assert mix.water_cement == pytest.approx(0.46202, abs=1e-5)
    assert [(each.classes, round(each.water_cement, 4)) for each in mix.by_class] == [
        (("A", "B"), 0.4612),
        (("C",), 0.5588),
    ]
    (clay,) = view_of(
        mix={"kind": "bentonite", "parts": [{"name": "bentonite", "mass_kg": 20.0, "specific_gravity": 2.65}]}
    ).mixes
    assert clay.water_cement is None and clay.by_class == ()


@pytest.mark.parametrize(("litres", "told"), [(22.70, False), (22.80, True)])
def test_thin_neat_cement_is_pointed_at(litres: float, told: bool) -> None:
    # 6 US gal to 94 lb: 0.53218 by weight, 22.69 L to 42.6 kg; a thousandth more is let be
    view = view_of(mix=NEAT | {"water_per_bag_m3": litres / 1000})
    assert ("rules ask at most 0.53" in said(view, "note")) is told


def test_the_tremie_hangs_as_deep_as_whole_sections_reach() -> None:
    (stage,) = view_of(tremie={"section_m": 3.1, "sections": 25}).stages
    assert stage.tremie is not None
    assert (stage.tremie.sections, stage.tremie.of) == (19, 25)
    assert stage.tremie.tip.si == pytest.approx(58.9)
    assert stage.tremie.off_bottom.si == pytest.approx(1.1)
    (through,) = view_of(
        casing={"shoe": "float"}, stages=[scenario.BASE["stages"][0] | {"method": "through casing"}]
    ).stages
    assert through.tremie is None
