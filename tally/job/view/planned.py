"""A plan worked out, before anything has happened: what `tally plan` prints and the first screens lean on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from tally.job.plan import Plan
from tally.job.view.landing import LandingPlan, landing_plan
from tally.job.view.planned_collapse import CollapsePlan, collapse_plan
from tally.job.view.planned_heat import HeatPlan, heat_plans
from tally.job.view.planned_hole import SectionPlan, ZonePlan, section_plans, zone_plans
from tally.job.view.planned_instrument import MeteringPlan, metering_plan
from tally.job.view.planned_load import LoadPlan, load_plan
from tally.job.view.planned_log import LogPlan, log_plan
from tally.job.view.planned_mix import MixPlan, mix_plans
from tally.job.view.planned_pressure import PressurePlan, pressure_plans
from tally.job.view.planned_stage import StagePlan, stage_plans
from tally.job.view.planned_stock import StockPlan, stock_plan
from tally.job.view.planned_string import StringPlan, string_plan
from tally.job.view.planned_warning import Warning, warnings
from tally.job.view.quantity import Kind, Quantity


@dataclass(frozen=True, slots=True)
class PlanView:
    job: str
    client: str
    place: str
    permit: str
    driller: str
    rig: str
    invented: bool
    units: Literal["metric", "us"]
    hole_bottom: Quantity
    water_level: Quantity
    rock: Quantity
    sections: tuple[SectionPlan, ...]
    zones: tuple[ZonePlan, ...]
    annulus: Quantity
    """Beside the casing from the hole's bottom to ground level."""
    log: LogPlan | None
    """The hole as a caliper measured it; None where it was not logged."""
    string: StringPlan
    landing: LandingPlan
    load: LoadPlan
    collapse: CollapsePlan
    heat: tuple[HeatPlan, ...]
    """Empty for steel."""
    mixes: tuple[MixPlan, ...]
    stages: tuple[StagePlan, ...]
    pressures: tuple[PressurePlan, ...]
    """One for each stage."""
    stock: StockPlan
    metering: MeteringPlan
    warnings: tuple[Warning, ...]


def planned(plan: Plan) -> PlanView:
    string, load, collapse, stages = string_plan(plan), load_plan(plan), collapse_plan(plan), stage_plans(plan)
    sections, stock, log = section_plans(plan), stock_plan(plan, stages), log_plan(plan)
    pressures, landing = pressure_plans(plan), landing_plan(plan)
    heat, mixes = heat_plans(plan), mix_plans(plan)
    return PlanView(
        job=plan.job.name,
        client=plan.job.client,
        place=plan.job.place,
        permit=plan.job.permit,
        driller=plan.crew.driller,
        rig=plan.crew.rig,
        invented=plan.job.invented,
        units=plan.job.units,
        hole_bottom=Quantity(plan.hole.bottom_m, Kind.DEPTH),
        water_level=Quantity(plan.hole.water_level_m, Kind.DEPTH),
        rock=Quantity(plan.hole.rock_m, Kind.DEPTH),
        sections=sections,
        zones=zone_plans(plan),
        annulus=Quantity(sum(section.annulus.si or 0.0 for section in sections), Kind.VOLUME),
        log=log,
        string=string,
        landing=landing,
        load=load,
        collapse=collapse,
        heat=heat,
        mixes=mixes,
        stages=stages,
        pressures=pressures,
        stock=stock,
        metering=metering_plan(plan),
        warnings=warnings(plan, string, landing, load, collapse, heat, mixes, stages, pressures, stock, log),
    )
