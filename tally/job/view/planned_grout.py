"""The grout as planned: volumes by section and stage, mixes, bags and water, and when returns are due."""

from __future__ import annotations

from dataclasses import dataclass

from tally.engineering import grout, pipe, placement
from tally.engineering.hole import Profile
from tally.engineering.hook_load import ShoeState
from tally.engineering.placement import Factor
from tally.job import geometry, zones
from tally.job.fill import meter_tolerance
from tally.job.plan import Mix, Plan
from tally.job.view.planned_load import StageLoad, sealed, stage_load
from tally.job.view.quantity import Kind, Quantity


@dataclass(frozen=True, slots=True)
class SectionPlan:
    top: Quantity
    bottom: Quantity
    diameter: Quantity
    cased: bool
    hole: Quantity
    """Volume without the casing."""
    annulus: Quantity
    """Volume beside the casing at its planned depth; the full hole below it."""
    capacity: Quantity
    """Annulus per length: beside the casing, or of the whole section where it ends above."""


@dataclass(frozen=True, slots=True)
class ZonePlan:
    """A known zone, and half the central 80 % range of its own factor."""

    top: Quantity
    bottom: Quantity
    kind: str
    spread: Quantity
    note: str


@dataclass(frozen=True, slots=True)
class PartPlan:
    """A solid of a mix, to one bag of the counted kind."""

    name: str
    mass: Quantity
    specific_gravity: float


@dataclass(frozen=True, slots=True)
class MixPlan:
    name: str
    of: str
    """Its kind, in the plan's words."""
    parts: tuple[PartPlan, ...]
    bag_of: str
    bag: Quantity
    water_per_bag: Quantity
    yield_per_bag: Quantity
    density: Quantity
    density_band: Quantity
    working_time: Quantity
    waiting_time: Quantity
    mixer: Quantity


@dataclass(frozen=True, slots=True)
class BatchPlan:
    """The likely volume in mixer loads of whole bags."""

    count: int
    bags_each: int
    bags_last: int
    volume: Quantity
    water: Quantity
    """Of a full load."""


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
    """To be pumped: the annulus with its allowance, and what stays in the line."""
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


@dataclass(frozen=True, slots=True)
class MaterialPlan:
    """A solid that goes in beside the counted bags, all stages together."""

    name: str
    aboard: Quantity
    """Unknown where the plan does not say."""
    needed: Quantity
    high: Quantity


@dataclass(frozen=True, slots=True)
class BagPlan:
    """Bags of one kind, all stages together."""

    of: str
    bag: Quantity
    bags: int
    bags_high: int


@dataclass(frozen=True, slots=True)
class StockPlan:
    bags_aboard: int
    bags: int
    bags_high: int
    chance: Quantity
    """That the bags aboard suffice for every stage."""
    water_aboard: Quantity
    water: Quantity
    water_high: Quantity
    mixing: Quantity
    mixing_high: Quantity
    filling: Quantity
    """To fill the line before each stage, where it starts full of water."""
    wash_up: Quantity
    line: Quantity
    line_starts: str
    kinds: tuple[BagPlan, ...]
    materials: tuple[MaterialPlan, ...]


def section_plans(plan: Plan) -> tuple[SectionPlan, ...]:
    whole, annulus = geometry.open_hole(plan.hole), geometry.planned_annulus(plan)
    return tuple(
        SectionPlan(
            top=Quantity(part.top_m, Kind.DEPTH),
            bottom=Quantity(part.bottom_m, Kind.DEPTH),
            diameter=Quantity(part.diameter_m, Kind.DIAMETER),
            cased=part.cased,
            hole=Quantity(whole.volume_m3(part.top_m, part.bottom_m), Kind.VOLUME),
            annulus=Quantity(annulus.volume_m3(part.top_m, part.bottom_m), Kind.VOLUME),
            capacity=Quantity(_capacity_m3_m(plan, part.top_m, part.bottom_m), Kind.CAPACITY),
        )
        for part in plan.hole.sections
    )


def _capacity_m3_m(plan: Plan, top_m: float, bottom_m: float) -> float:
    shoe_m = plan.casing.target_shoe_depth_m
    end_m = min(bottom_m, shoe_m) if top_m < shoe_m else bottom_m
    return geometry.planned_annulus(plan).volume_m3(top_m, end_m) / (end_m - top_m)


def mix_plans(plan: Plan) -> tuple[MixPlan, ...]:
    return tuple(
        MixPlan(
            name=mix.name,
            of=mix.kind or "",
            parts=tuple(
                PartPlan(part.name, Quantity(part.mass_kg, Kind.MASS), part.specific_gravity) for part in mix.parts
            ),
            bag_of=mix.bag_of,
            bag=Quantity(mix.bag_kg, Kind.MASS),
            water_per_bag=Quantity(mix.water_per_bag_m3, Kind.VOLUME),
            yield_per_bag=Quantity(mix.yield_per_bag_m3, Kind.VOLUME),
            density=Quantity(mix.density_kg_m3, Kind.DENSITY),
            density_band=Quantity(mix.density_band_kg_m3, Kind.DENSITY),
            working_time=Quantity(mix.working_time_s, Kind.DURATION),
            waiting_time=Quantity(mix.waiting_time_s, Kind.DURATION),
            mixer=Quantity(mix.mixer_m3, Kind.VOLUME),
        )
        for mix in plan.mixes
    )


def stage_plans(plan: Plan) -> tuple[StagePlan, ...]:
    return tuple(_stage(plan, number) for number in range(len(plan.stages)))


def _stage(plan: Plan, number: int) -> StagePlan:
    stage, profile, mix = plan.stages[number], geometry.planned_annulus(plan), plan.mix(plan.stages[number].mix)
    factor = Factor(1.0 + stage.allowance_share, stage.spread_share)
    bottom_m, line_m3 = min(stage.bottom_m, profile.bottom_m), plan.line.volume_m3
    takes = _uptake(plan, number)
    low_m3, likely_m3, high_m3 = (takes.volume_m3(stage.top_m, z) for z in (-placement.Z_80, 0.0, placement.Z_80))
    bags = grout.whole_bags(likely_m3 + line_m3, mix.yield_per_bag_m3)
    bags_high = grout.whole_bags(high_m3 + line_m3, mix.yield_per_bag_m3)
    returns, fluid = _returns(plan, number, profile, factor)
    return StagePlan(
        name=stage.name,
        method=stage.method,
        mix=stage.mix,
        bottom=Quantity(stage.bottom_m, Kind.DEPTH),
        top=Quantity(stage.top_m, Kind.DEPTH),
        allowance=Quantity(stage.allowance_share, Kind.SHARE),
        theory=Quantity(profile.volume_m3(stage.top_m, bottom_m), Kind.VOLUME),
        low=Quantity(low_m3 + line_m3, Kind.VOLUME),
        likely=Quantity(likely_m3 + line_m3, Kind.VOLUME),
        high=Quantity(high_m3 + line_m3, Kind.VOLUME),
        bags=bags,
        bags_high=bags_high,
        batches=_batches(mix, bags),
        water=Quantity(bags * mix.water_per_bag_m3, Kind.VOLUME),
        water_high=Quantity(bags_high * mix.water_per_bag_m3, Kind.VOLUME),
        returns_low=Quantity(returns.low_m3, Kind.VOLUME),
        returns_high=Quantity(returns.high_m3, Kind.VOLUME),
        returns_fluid=fluid,
        returns_expected=returns.low_m3 <= high_m3 + line_m3,
        least_rate=Quantity((high_m3 + line_m3) / mix.working_time_s, Kind.RATE),
        pumping=Quantity(None if plan.pump is None else (high_m3 + line_m3) / plan.pump.rate_m3_s, Kind.DURATION),
        working_time=Quantity(mix.working_time_s, Kind.DURATION),
        load=stage_load(plan, number),
    )


def _uptake(plan: Plan, number: int) -> placement.Uptake:
    """What the annulus takes from a stage's bottom upward, by the meter."""
    stage, profile = plan.stages[number], geometry.planned_annulus(plan)
    factor = Factor(1.0 + stage.allowance_share, stage.spread_share)
    return placement.Uptake(
        profile,
        bottom_m=min(stage.bottom_m, profile.bottom_m),
        factor=placement.combined(factor, meter_tolerance(plan)),
        zones=zones.widening(zones.planned(plan)),
    )


def chance_of_bags(plan: Plan) -> float:
    """That the bags aboard fill every stage, 0 to 1: rock and meter taken as alike in all of them."""
    takes = [_uptake(plan, number) for number in range(len(plan.stages))]

    def bags(deviate: float) -> float:
        return sum(
            (each.volume_m3(stage.top_m, deviate) + plan.line.volume_m3) / plan.mix(stage.mix).yield_per_bag_m3
            for each, stage in zip(takes, plan.stages, strict=True)
        )

    return placement.chance_of_at_most(bags, float(plan.aboard.bags))


def zone_plans(plan: Plan) -> tuple[ZonePlan, ...]:
    return tuple(
        ZonePlan(
            top=Quantity(zone.top_m, Kind.DEPTH),
            bottom=Quantity(zone.bottom_m, Kind.DEPTH),
            kind=zone.kind,
            spread=Quantity(zone.spread, Kind.SHARE),
            note=zone.note,
        )
        for zone in zones.planned(plan)
    )


def _returns(plan: Plan, number: int, profile: Profile, factor: Factor) -> tuple[placement.ReturnsWindow, str]:
    """The window as volume pumped. Nobody knowing whether the ground drinks is the wider of the two."""
    stage, casing, line = plan.stages[number], plan.casing, plan.line
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
        return placement.ReturnsWindow(full.low_m3 + line.volume_m3, full.high_m3 + line.volume_m3), "grout"
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
    delay_m3 = 0.0 if line.starts == "water" else line.volume_m3
    late_m3 = line.volume_m3 if drinks is None and plan.hole.water_level_m > 0 else delay_m3
    return placement.ReturnsWindow(window.low_m3 + delay_m3, window.high_m3 + late_m3), "water"


def _batches(mix: Mix, bags: int) -> BatchPlan | None:
    if mix.mixer_m3 is None or mix.mixer_m3 < mix.yield_per_bag_m3 * (1 - 1e-9):
        return None
    volume_m3 = bags * mix.yield_per_bag_m3
    loads = grout.batches(volume_needed_m3=volume_m3, yield_per_bag_m3=mix.yield_per_bag_m3, mixer_m3=mix.mixer_m3)
    return BatchPlan(
        count=loads.count,
        bags_each=loads.bags_each,
        bags_last=loads.bags_last,
        volume=Quantity(loads.volume_each_m3, Kind.VOLUME),
        water=Quantity(loads.bags_each * mix.water_per_bag_m3, Kind.VOLUME),
    )


def _kinds(plan: Plan, stages: tuple[StagePlan, ...]) -> tuple[BagPlan, ...]:
    found: dict[tuple[str, float], tuple[int, int]] = {}
    for stage in stages:
        mix = plan.mix(stage.mix)
        bags, high = found.get((mix.bag_of, mix.bag_kg), (0, 0))
        found[mix.bag_of, mix.bag_kg] = bags + stage.bags, high + stage.bags_high
    return tuple(BagPlan(of, Quantity(kg, Kind.MASS), *counts) for (of, kg), counts in found.items())


def _materials(plan: Plan, stages: tuple[StagePlan, ...]) -> tuple[MaterialPlan, ...]:
    aboard = {material.name: material.mass_kg for material in plan.aboard.materials}
    needed: dict[str, tuple[float, float]] = {}
    for stage in stages:
        for part in plan.mix(stage.mix).parts[1:]:
            kg, high_kg = needed.get(part.name, (0.0, 0.0))
            needed[part.name] = kg + stage.bags * part.mass_kg, high_kg + stage.bags_high * part.mass_kg
    names = dict.fromkeys((*needed, *aboard))
    return tuple(
        MaterialPlan(name, *(Quantity(kg, Kind.MASS) for kg in (aboard.get(name), *needed.get(name, (0.0, 0.0)))))
        for name in names
    )


def stock_plan(plan: Plan, stages: tuple[StagePlan, ...]) -> StockPlan:
    """Needs of all stages together; the line is flushed and washed up after each."""
    aboard = plan.aboard
    wash_m3 = aboard.wash_up_m3 * len(stages)
    first_m3 = plan.line.volume_m3 * len(stages) if plan.line.starts == "water" else 0.0
    mixing_m3, mixing_high_m3 = (
        sum(need.si or 0.0 for need in needs)
        for needs in ([stage.water for stage in stages], [stage.water_high for stage in stages])
    )
    return StockPlan(
        bags_aboard=aboard.bags,
        bags=sum(stage.bags for stage in stages),
        bags_high=sum(stage.bags_high for stage in stages),
        chance=Quantity(chance_of_bags(plan), Kind.SHARE),
        water_aboard=Quantity(aboard.water_m3, Kind.VOLUME),
        water=Quantity(mixing_m3 + first_m3 + wash_m3, Kind.VOLUME),
        water_high=Quantity(mixing_high_m3 + first_m3 + wash_m3, Kind.VOLUME),
        mixing=Quantity(mixing_m3, Kind.VOLUME),
        mixing_high=Quantity(mixing_high_m3, Kind.VOLUME),
        filling=Quantity(first_m3, Kind.VOLUME),
        wash_up=Quantity(wash_m3, Kind.VOLUME),
        line=Quantity(plan.line.volume_m3, Kind.VOLUME),
        line_starts=plan.line.starts,
        kinds=_kinds(plan, stages),
        materials=_materials(plan, stages),
    )
