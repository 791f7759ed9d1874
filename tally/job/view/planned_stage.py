"""The stages as planned: volumes to pump with their range, bags and water, and when returns are due."""

from __future__ import annotations

from dataclasses import dataclass

from tally.engineering import grout, pipe, placement
from tally.engineering.hole import Profile
from tally.engineering.hook_load import ShoeState
from tally.engineering.placement import Factor
from tally.job import geometry, line, zones
from tally.job.grouted import sealed
from tally.job.line import meter_tolerance
from tally.job.plan import Plan, Stage
from tally.job.view.planned_load import StageLoad, stage_load
from tally.job.view.planned_mix import BatchPlan, batch_plan
from tally.job.view.quantity import Kind, Quantity


@dataclass(frozen=True, slots=True)
class TremiePlan:
    """The tremie as it hangs when pumping begins: as many whole sections as end above the stage's bottom."""

    sections: int
    of: int
    tip: Quantity
    off_bottom: Quantity


@dataclass(frozen=True, slots=True)
class StagePlan:
    name: str
    method: str
    mix: str
    bottom: Quantity
    top: Quantity
    allowance: Quantity
    theory: Quantity
    low: Quantity
    likely: Quantity
    high: Quantity
    """Grout: the annulus with its allowance, and what stays in the line or the casing."""
    displacing: Quantity
    """Water to pump after it, and then to stop; unknown where the line is not the bare casing."""
    left: Quantity
    """Grout that stays in the line or, above the shoe, in the casing."""
    tremie: TremiePlan | None
    """None where the grout goes down the casing."""
    bags: int
    bags_high: int
    batches: BatchPlan | None
    """None where no mixer is given."""
    water: Quantity
    water_high: Quantity
    returns_low: Quantity
    returns_high: Quantity
    """Pumped since the stage began, when returns should first show."""
    returns_fluid: str
    """What should show first: "water" or "grout"."""
    returns_expected: bool
    """False where even the high estimate of the stage ends before returns are due."""
    least_rate: Quantity
    """At which the high volume is in within the working time."""
    pumping: Quantity
    """Time that the high volume takes at the plan's rate; unknown without one."""
    working_time: Quantity
    load: StageLoad


def stage_plans(plan: Plan) -> tuple[StagePlan, ...]:
    return tuple(_stage(plan, number) for number in range(len(plan.stages)))


def _stage(plan: Plan, number: int) -> StagePlan:
    stage, profile, mix = plan.stages[number], geometry.planned_annulus(plan), plan.mix(plan.stages[number].mix)
    factor = Factor(1.0 + stage.allowance_share, stage.spread_share)
    bottom_m, left_m3 = min(stage.bottom_m, profile.bottom_m), line.left_m3(plan, stage)
    pumped_m3 = line.displacing_m3(plan, stage) + left_m3
    takes = uptake(plan, number)
    low_m3, likely_m3, high_m3 = (takes.volume_m3(stage.top_m, z) for z in (-placement.Z_80, 0.0, placement.Z_80))
    bags = grout.whole_bags(likely_m3 + left_m3, mix.yield_per_bag_m3)
    bags_high = grout.whole_bags(high_m3 + left_m3, mix.yield_per_bag_m3)
    returns, fluid = _returns(plan, number, profile, factor)
    return StagePlan(
        name=stage.name,
        method=stage.method,
        mix=stage.mix,
        bottom=Quantity(stage.bottom_m, Kind.DEPTH),
        top=Quantity(stage.top_m, Kind.DEPTH),
        allowance=Quantity(stage.allowance_share, Kind.SHARE),
        theory=Quantity(profile.volume_m3(stage.top_m, bottom_m), Kind.VOLUME),
        low=Quantity(low_m3 + left_m3, Kind.VOLUME),
        likely=Quantity(likely_m3 + left_m3, Kind.VOLUME),
        high=Quantity(high_m3 + left_m3, Kind.VOLUME),
        displacing=Quantity(line.displacing_m3(plan, stage) if line.bare_casing(stage) else None, Kind.VOLUME),
        left=Quantity(left_m3, Kind.VOLUME),
        tremie=_tremie(plan, stage) if stage.method == "tremie" else None,
        bags=bags,
        bags_high=bags_high,
        batches=batch_plan(mix, bags),
        water=Quantity(bags * mix.water_per_bag_m3, Kind.VOLUME),
        water_high=Quantity(bags_high * mix.water_per_bag_m3, Kind.VOLUME),
        returns_low=Quantity(returns.low_m3, Kind.VOLUME),
        returns_high=Quantity(returns.high_m3, Kind.VOLUME),
        returns_fluid=fluid,
        returns_expected=returns.low_m3 <= high_m3 + pumped_m3,
        least_rate=Quantity((high_m3 + pumped_m3) / mix.working_time_s, Kind.RATE),
        pumping=Quantity(None if plan.pump is None else (high_m3 + pumped_m3) / plan.pump.rate_m3_s, Kind.DURATION),
        working_time=Quantity(mix.working_time_s, Kind.DURATION),
        load=stage_load(plan, number),
    )


def _tremie(plan: Plan, stage: Stage) -> TremiePlan | None:
    if plan.tremie is None:
        return None
    count = min(plan.tremie.sections, int(stage.bottom_m / plan.tremie.section_m + 1e-9))
    tip_m = count * plan.tremie.section_m
    off_m = Quantity(stage.bottom_m - tip_m, Kind.LENGTH)
    return TremiePlan(count, plan.tremie.sections, Quantity(tip_m, Kind.DEPTH), off_m)


def uptake(plan: Plan, number: int) -> placement.Uptake:
    """What the annulus takes from a stage's bottom upward, by the meter."""
    stage, profile = plan.stages[number], geometry.planned_annulus(plan)
    factor = Factor(1.0 + stage.allowance_share, stage.spread_share)
    return placement.Uptake(
        profile,
        bottom_m=min(stage.bottom_m, profile.bottom_m),
        factor=placement.combined(factor, meter_tolerance(plan)),
        zones=zones.widening(zones.planned(plan)),
    )


def _returns(plan: Plan, number: int, profile: Profile, factor: Factor) -> tuple[placement.ReturnsWindow, str]:
    """The window as volume pumped. Nobody knowing whether the ground drinks is the wider of the two."""
    stage, casing = plan.stages[number], plan.casing
    line_m3 = line.volume_m3(plan, stage)
    drinks, tolerance = plan.hole.drinks_water, meter_tolerance(plan)
    bottom_m = min(stage.bottom_m, profile.bottom_m)
    known = zones.widening(zones.planned(plan))
    if drinks:
        full = placement.volume_range(
            profile=profile,
            bottom_m=bottom_m,
            top_m=profile.top_m,
            factor=factor,
            meter_tolerance=tolerance,
            zones=known,
        )
        return placement.ReturnsWindow(full.low_m3 + line_m3, full.high_m3 + line_m3), "grout"
    # pumped through the casing, the bore is the line and stands full already
    open_end = casing.shoe_state is ShoeState.OPEN and stage.method == "tremie" and not sealed(plan, number)
    window = placement.returns_window(
        profile=profile,
        fluid_level_m=plan.hole.water_level_m,
        factor=factor,
        meter_tolerance=tolerance,
        bore_area_m2=pipe.circle_area_m2(casing.bore_m) if open_end else 0.0,
        ground_drinks=drinks is None and plan.hole.water_level_m > 0,
        bottom_m=bottom_m,
        zones=known,
    )
    delay_m3 = 0.0 if plan.line.starts == "water" else line_m3
    late_m3 = line_m3 if drinks is None and plan.hole.water_level_m > 0 else delay_m3
    return placement.ReturnsWindow(window.low_m3 + delay_m3, window.high_m3 + late_m3), "water"
