"""The casing as planned: how many joints it takes and what stands above ground."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate

from tally.job import lengths
from tally.job.plan import Plan
from tally.job.view.quantity import Kind, Quantity


@dataclass(frozen=True, slots=True)
class StringPlan:
    size: str
    outer_diameter: Quantity
    bore: Quantity
    line_mass: Quantity
    connection: str
    shoe_end: str
    needed: Quantity
    """Length that puts the shoe at its depth with the planned stick-up."""
    delivered: int
    on_rack: int
    rack: Quantity
    """Length of a string of every joint on the rack, connections and shoe counted."""
    joints_needed: int | None
    """In rack order, the stick-up within its tolerance; None where the rack is too short."""
    cut_off: Quantity
    shoe: Quantity
    stick_up: Quantity
    """As it comes out with these joints, after the cut; as planned where the rack is too short."""
    stick_up_wanted: Quantity
    measured_from: Quantity
    """Height above ground from which depths are measured on the day."""


def string_plan(plan: Plan) -> StringPlan:
    casing = plan.casing
    needed_m = casing.target_shoe_depth_m + casing.stick_up_m
    reached_m = lengths_m(plan)
    count = joints_needed(plan)
    spare_m = (reached_m[count - 1] if count else reached_m[-1]) - needed_m
    cut_m = spare_m if spare_m > casing.stick_up_tolerance_m + 1e-9 else 0.0
    return StringPlan(
        size=casing.size,
        outer_diameter=Quantity(casing.outer_diameter_m, Kind.DIAMETER),
        bore=Quantity(casing.bore_m, Kind.DIAMETER),
        line_mass=Quantity(casing.mass_kg_m, Kind.LINE_MASS),
        connection=casing.connection,
        shoe_end={"open": "open end", "float": "float shoe", "closed": "closed end"}[casing.shoe],
        needed=Quantity(needed_m, Kind.LENGTH),
        delivered=len(casing.rack_m) if casing.delivered is None else casing.delivered,
        on_rack=len(casing.rack_m),
        rack=Quantity(reached_m[-1], Kind.LENGTH),
        joints_needed=count,
        cut_off=Quantity(cut_m if count else None, Kind.LENGTH),
        shoe=Quantity(casing.target_shoe_depth_m, Kind.DEPTH),
        stick_up=Quantity(casing.stick_up_m + (spare_m - cut_m if count else 0.0), Kind.LENGTH),
        stick_up_wanted=Quantity(casing.stick_up_m, Kind.LENGTH),
        measured_from=Quantity(casing.measured_from_m, Kind.LENGTH),
    )


def lengths_m(plan: Plan) -> list[float]:
    """Length of the string after each joint of the rack, in its order [m]."""
    casing = plan.casing
    alone_m = lengths.length_of_m(plan, casing.rack_m[:1])
    gain_m = casing.weld_gap_m - casing.make_up_loss_m
    return list(accumulate((joint_m + gain_m for joint_m in casing.rack_m[1:]), initial=alone_m))


def joints_needed(plan: Plan) -> int | None:
    """Joints in rack order that leave a stick-up within its tolerance or above; None where the rack is too short."""
    casing = plan.casing
    least_m = casing.target_shoe_depth_m + casing.stick_up_m - casing.stick_up_tolerance_m
    return next((number for number, made_m in enumerate(lengths_m(plan), 1) if made_m >= least_m - 1e-9), None)
