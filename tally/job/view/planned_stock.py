"""What is aboard against what all stages take together: bags, water, what goes in beside them."""

from __future__ import annotations

from dataclasses import dataclass

from tally.engineering import placement
from tally.job import line
from tally.job.plan import Plan
from tally.job.view.planned_stage import StagePlan, uptake
from tally.job.view.quantity import Kind, Quantity


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
    """To fill the line, and a casing that is pumped through, before each stage, where it starts full of water."""
    displacing: Quantity
    """To push grout down the casing."""
    wash_up: Quantity
    line: Quantity
    line_starts: str
    kinds: tuple[BagPlan, ...]
    materials: tuple[MaterialPlan, ...]


def stock_plan(plan: Plan, stages: tuple[StagePlan, ...]) -> StockPlan:
    """Needs of all stages together; the line is flushed and washed up after each."""
    aboard = plan.aboard
    wash_m3 = aboard.wash_up_m3 * len(stages)
    first_m3 = sum(line.volume_m3(plan, stage) for stage in plan.stages) if plan.line.starts == "water" else 0.0
    displacing_m3 = sum(line.displacing_m3(plan, stage) for stage in plan.stages)
    besides_m3 = first_m3 + displacing_m3 + wash_m3
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
        water=Quantity(mixing_m3 + besides_m3, Kind.VOLUME),
        water_high=Quantity(mixing_high_m3 + besides_m3, Kind.VOLUME),
        mixing=Quantity(mixing_m3, Kind.VOLUME),
        mixing_high=Quantity(mixing_high_m3, Kind.VOLUME),
        filling=Quantity(first_m3, Kind.VOLUME),
        displacing=Quantity(displacing_m3, Kind.VOLUME),
        wash_up=Quantity(wash_m3, Kind.VOLUME),
        line=Quantity(plan.line.volume_m3, Kind.VOLUME),
        line_starts=plan.line.starts,
        kinds=_kinds(plan, stages),
        materials=_materials(plan, stages),
    )


def chance_of_bags(plan: Plan) -> float:
    """That the bags aboard fill every stage, 0 to 1: rock and meter taken as alike in all of them."""
    takes = [uptake(plan, number) for number in range(len(plan.stages))]

    def bags(deviate: float) -> float:
        return sum(
            (each.volume_m3(stage.top_m, deviate) + line.left_m3(plan, stage)) / plan.mix(stage.mix).yield_per_bag_m3
            for each, stage in zip(takes, plan.stages, strict=True)
        )

    return placement.chance_of_at_most(bags, float(plan.aboard.bags))


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
