"""How warm plastic casing may get while cement sets beside it, stage by stage."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tally.engineering import heat
from tally.job.plan import Plan, Stage
from tally.job.view.quantity import Kind, Quantity

GROUND_C = 12.0
"""Ground and grout before it sets: common practice; a plan does not say it."""


@dataclass(frozen=True, slots=True)
class HeatPlan:
    stage: str
    grout: Quantity
    """Thickest cement beside the casing, if it stands centred."""
    setting_c: float


def heat_plans(plan: Plan) -> tuple[HeatPlan, ...]:
    """Of stages that set cement beside plastic; steel minds the heat little, and bentonite gives none."""
    return tuple(_plans(plan)) if plan.casing.material == "pvc" else ()


def _plans(plan: Plan) -> Iterator[HeatPlan]:
    for stage in plan.stages:
        grout_m = (_widest_m(plan, stage) - plan.casing.outer_diameter_m) / 2.0
        if plan.mix(stage.mix).kind != "bentonite" and 0.0 < grout_m <= 1.0:
            setting_c = heat.setting_temperature_c(grout_m=grout_m, ground_c=GROUND_C)
            yield HeatPlan(stage.name, Quantity(grout_m, Kind.DIAMETER), setting_c)


def _widest_m(plan: Plan, stage: Stage) -> float:
    """Greatest width of the hole beside a stage's grout and the casing [m], as drilled and as logged; 0 below it."""
    bottom_m = min(stage.bottom_m, plan.casing.target_shoe_depth_m)
    drilled = (part.diameter_m for part in plan.hole.sections if part.top_m < bottom_m and part.bottom_m > stage.top_m)
    logged = (point.diameter_m for point in plan.hole.log if stage.top_m <= point.depth_m <= bottom_m)
    return max((*drilled, *logged), default=0.0)
