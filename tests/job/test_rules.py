"""Every fact that a rule file may ask, on either side of its value, and what cannot be shown. Numbers worked by hand on
the test job: hole 250 mm, casing 168.275 mm outside and 154.051 mm inside, shoe at 60 m, rock at 12 m, 0.6 m above
ground; 42.6 kg bags with 19.7 L of water, 1870 kg/m3."""

from collections.abc import Callable
from typing import Any

import pytest

from tally.job import events as ev
from tally.job import rules
from tally.job.plan import Plan
from tally.job.rule import Rule
from tally.job.rule_facts import FACTS
from tally.job.state import State
from tests.scenario import BASE, Day, grouting_day, plan


def rule(fact: str, value: float | None = None, **more: Any) -> Rule:
    return Rule(id="a", text="as asked", fact=fact, value=value, clause="1", source="s", read="2026-11-25", **more)


def verdict(fact: str, value: float | None, plan_: Plan, state: State | None = None) -> str:
    (found,) = rules.checked((rule(fact, value),), plan_, state)
    return found.verdict


def run() -> State:
    """Casing in, one stage with good grout at surface, tagged, stopped once for 100 s."""
    day = Day()
    day.joints()
    day.record(ev.StickUpRead(stick_up_m=0.55, typed="0.55 m"))
    day.landed()
    day.tick(3_600)
    day.metered()
    day.tremie(57.5)
    day.stage()
    day.batch(30, density_kg_m3=1_850.0)
    day.batch(30, density_kg_m3=1_890.0)
    day.pump(0.8)
    day.quiet(100)
    day.pump(1.0)
    day.returns("full", "grout", 1_840.0)
    day.end("good grout at surface")
    return day.state


CEMENT_94 = 94 * 0.45359237
ON_PLAN = [
    ("annulus_min", (0.250 - 0.168275) / 2),
    ("hole_over_casing_min", 0.250 - 0.168275),
    ("casing_above_ground_min", 0.6),
    ("casing_depth_min", 60.0),
    ("casing_length_min", 60.6),
    ("casing_into_rock_min", 48.0),
    ("wall_min", (0.168275 - 0.154051) / 2),
    ("bore_min", 0.154051),
    ("grout_density_min", 1870.0),
    ("grout_density_max", 1870.0),
    ("water_per_94_lb_max", 0.0197 / 42.6 * CEMENT_94),
    ("bentonite_max", 0.0),
    ("cover_min", 1.5),
    ("depth_of_seal_min", 60.0),
    ("wait_time_min", 86_400.0),
]
ON_SESSION = [
    ("casing_above_ground_min", 0.55),
    ("casing_depth_min", 12 * 5.05 - 0.55),
    ("casing_length_min", 12 * 5.05),
    ("casing_into_rock_min", 12 * 5.05 - 0.55 - 12.0),
    ("grout_density_min", 1850.0),
    ("grout_density_max", 1890.0),
    ("returns_density_min", 1840.0),
    ("tremie_within", 2.5),
    ("depth_of_seal_min", 60.0),
    ("interruption_max", 100.0),
    # 1.8 m3 pumped, of which 0.040 m3 stay in the line; pi/4 x (0.250^2 - 0.168275^2) x 60 m is 1.61084 m3
    ("excess_min", (1.8 - 0.040) / 1.610840 - 1),
    ("grout_begun_within", 3_601.0),
]
LOOSE = {"excess_min": 1e-4, "interruption_max": 2.0}
"""By this much, where the session's own seconds or the printed area round."""


@pytest.mark.parametrize(
    ("fact", "value", "state"), [*((*row, None) for row in ON_PLAN), *((*row, run) for row in ON_SESSION)]
)
def test_on_either_side_of_the_value(fact: str, value: float, state: Callable[[], State] | None) -> None:
    known = FACTS[fact]
    step = LOOSE.get(fact, max(abs(value) * 1e-3, 1e-3))
    inside, outside = (-step, step) if known.sense == "at least" else (step, -step)
    given = state() if state else None
    assert verdict(fact, value + inside, plan(), given) == "met"
    assert verdict(fact, value + outside, plan(), given) == "not met"


def test_a_value_that_is_just_reached_is_met() -> None:
    assert verdict("casing_depth_min", 60.0, plan()) == "met"
    assert verdict("grout_density_max", 1870.0, plan()) == "met"


class TestFactsThatAreSo:
    def test_batches_weighed(self) -> None:
        day = grouting_day()
        assert verdict("batches_weighed", None, plan(), day.state) == "not shown"
        day.batch(10, density_kg_m3=1_870.0)
        assert verdict("batches_weighed", None, plan(), day.state) == "met"
        day.batch(10)
        assert verdict("batches_weighed", None, plan(), day.state) == "not met"

    def test_returns_as_mixed(self) -> None:
        day = grouting_day()
        assert verdict("returns_as_mixed", None, plan(), day.state) == "not shown"
        day.returns("full", "grout")
        assert verdict("returns_as_mixed", None, plan(), day.state) == "not shown"
        day.returns("full", "grout", 1_829.0)  # 1870 less its band of 40
        assert verdict("returns_as_mixed", None, plan(), day.state) == "not met"
        day.returns("full", "grout", 1_831.0)
        assert verdict("returns_as_mixed", None, plan(), day.state) == "met"
        without = grouting_day()
        without.end("as planned")
        assert verdict("returns_as_mixed", None, plan(), without.state) == "not met"

    def test_tremie_submerged(self) -> None:
        assert verdict("tremie_submerged", None, plan(), grouting_day().state) == "not shown"
        assert verdict("tremie_submerged", None, plan(), run()) == "met"
        day = Day()
        day.tremie(57.5)
        day.stage()
        raised = {"severity": "caution", "words": "w", "value": 1.0, "limit": 2.0, "measure": "length"}
        day.record(ev.AlarmRaised.model_validate({"alarm": "tremie-cover", **raised}))
        assert verdict("tremie_submerged", None, plan(), day.state) == "not met"
        assert verdict("cover_min", 1.0, plan(), day.state) == "not shown"


class TestNotShown:
    @pytest.mark.parametrize(
        "fact",
        ["returns_density_min", "tremie_within", "interruption_max", "excess_min", "grout_begun_within"],
    )
    def test_without_a_session(self, fact: str) -> None:
        assert verdict(fact, 1.0, plan()) == "not shown"

    def test_a_fact_that_is_not_known_and_none_at_all(self) -> None:
        assert verdict("", None, plan()) == "not shown"
        assert verdict("phase_of_the_moon", 1.0, plan()) == "not shown"

    def test_without_rock_mud_and_cement(self) -> None:
        assert verdict("casing_into_rock_min", 1.0, plan(hole={"rock_m": None})) == "not shown"
        bentonite = [BASE["mixes"][0] | {"parts": [{"name": "bentonite", "mass_kg": 22.7, "specific_gravity": 2.65}]}]
        assert verdict("water_per_94_lb_max", 0.02, plan(mixes=bentonite)) == "not shown"
        by_water = [BASE["mixes"][0] | {"bentonite_share": 0.03, "bentonite_basis": "water"}]
        assert verdict("bentonite_max", 0.05, plan(mixes=by_water)) == "not shown"

    def test_a_recipe_is_asked_for_its_bentonite(self) -> None:
        def of(name: str) -> Plan:
            parts = [
                {"name": "cement", "mass_kg": 42.6, "specific_gravity": 3.15},
                {"name": name, "mass_kg": 2.13, "specific_gravity": 2.65},  # 5 % of 42.6 kg
            ]
            return plan(mixes=[BASE["mixes"][0] | {"kind": "recipe", "parts": parts}])

        assert verdict("bentonite_max", 0.051, of("bentonite")) == "met"
        assert verdict("bentonite_max", 0.049, of("bentonite")) == "not met"
        assert verdict("bentonite_max", 0.049, of("sand")) == "met"
        assert verdict("bentonite_max", 0.9, of("clay gel")) == "not shown"

    def test_a_stage_that_fell_short_and_was_not_tagged_seals_nothing(self) -> None:
        day = grouting_day()
        day.end("left to set")
        assert verdict("depth_of_seal_min", 1.0, plan(), day.state) == "not met"


def test_a_gap_ends_the_seal() -> None:
    stages = [
        {"name": "foot", "bottom_m": 60.0, "top_m": 30.0, "mix": "neat", "method": "tremie"},
        {"name": "rest", "bottom_m": 20.0, "top_m": 0.0, "mix": "neat", "method": "tremie"},
    ]
    assert verdict("depth_of_seal_min", 20.0, plan(stages=stages)) == "met"
    assert verdict("depth_of_seal_min", 20.1, plan(stages=stages)) == "not met"


def test_narrowest_by_the_caliper() -> None:
    log = [{"depth_m": 10.0, "diameter_m": 0.250}, {"depth_m": 30.0, "diameter_m": 0.230}]
    assert verdict("hole_over_casing_min", 0.230 - 0.168275, plan(hole={"log": log})) == "met"
    assert verdict("hole_over_casing_min", 0.062, plan(hole={"log": log})) == "not met"


def test_what_a_rule_is_about() -> None:
    asked = (
        rule("bore_min", 0.1, applies="pvc"),
        rule("bore_min", 0.1, applies="welded"),
        rule("bore_min", 0.1, applies="through casing"),
        rule("bore_min", 0.1, casing_from_m=0.168275),
        rule("bore_min", 0.1, casing_from_m=0.169),
    )
    assert [rules.applies(each, plan()) for each in asked] == [False, True, False, True, False]
    assert len(rules.checked(asked, plan())) == 2


def test_every_fact_is_tested_here() -> None:
    shown = {fact for fact, _ in (*ON_PLAN, *ON_SESSION)} | {"batches_weighed", "returns_as_mixed", "tremie_submerged"}
    assert shown == set(FACTS)
