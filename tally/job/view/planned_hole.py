"""The hole as planned: its sections with what the casing leaves of them, and its known zones."""

from __future__ import annotations

from dataclasses import dataclass

from tally.job import geometry, zones
from tally.job.plan import Plan
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
