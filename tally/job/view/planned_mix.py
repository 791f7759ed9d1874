"""The mixes as planned, to one bag, and a volume of one in loads of the mixer."""

from __future__ import annotations

from dataclasses import dataclass

from tally.engineering import grout
from tally.job.plan import Mix, Plan
from tally.job.view.quantity import Kind, Quantity


@dataclass(frozen=True, slots=True)
class PartPlan:
    """A solid of a mix, to one bag of the counted kind."""

    name: str
    mass: Quantity
    specific_gravity: float


@dataclass(frozen=True, slots=True)
class ClassWater:
    """Water to cement by mass of API classes that take the same."""

    classes: tuple[str, ...]
    water_cement: float


def _by_class() -> tuple[ClassWater, ...]:
    ratios = {
        each: grout.water_cement_ratio(water_m3=grout.api_water_m3(each, grout.SACK_KG), cement_kg=grout.SACK_KG)
        for each in USUAL_CLASSES
    }
    same = {ratio: tuple(each for each in ratios if ratios[each] == ratio) for ratio in ratios.values()}
    return tuple(ClassWater(classes, ratio) for ratio, classes in same.items())


USUAL_CLASSES = ("A", "B", "C")
CLASS_WATER = _by_class()


@dataclass(frozen=True, slots=True)
class MixPlan:
    name: str
    of: str
    """Its kind, in the plan's words."""
    parts: tuple[PartPlan, ...]
    bag_of: str
    bag: Quantity
    water_per_bag: Quantity
    water_cement: float | None
    """Water to cement by mass; None without cement."""
    by_class: tuple[ClassWater, ...]
    """What neat cement of the API classes is mixed with; empty for other mixes."""
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
            water_cement=_water_cement(mix),
            by_class=CLASS_WATER if mix.kind == "neat cement" else (),
            yield_per_bag=Quantity(mix.yield_per_bag_m3, Kind.VOLUME),
            density=Quantity(mix.density_kg_m3, Kind.DENSITY),
            density_band=Quantity(mix.density_band_kg_m3, Kind.DENSITY),
            working_time=Quantity(mix.working_time_s, Kind.DURATION),
            waiting_time=Quantity(mix.waiting_time_s, Kind.DURATION),
            mixer=Quantity(mix.mixer_m3, Kind.VOLUME),
        )
        for mix in plan.mixes
    )


def _water_cement(mix: Mix) -> float | None:
    cement_kg = sum(part.mass_kg for part in mix.parts if part.name == "cement")
    return grout.water_cement_ratio(water_m3=mix.water_per_bag_m3, cement_kg=cement_kg) if cement_kg else None


def batch_plan(mix: Mix, bags: int) -> BatchPlan | None:
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
