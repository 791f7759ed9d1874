"""The casing run: how deep the shoe is, what is left, what the hoist carries and should carry."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from tally.engineering import hook_load
from tally.job import events as ev
from tally.job import lengths, loads, watching
from tally.job.plan import Plan
from tally.job.state import HookReading, State, String
from tally.job.view.coming import CentralizerDue, NextJoint, Pace, centralizer_due, next_joint, pace
from tally.job.view.entered import entered, order
from tally.job.view.landing import LandingView, landing_view
from tally.job.view.quantity import Kind, Quantity


@dataclass(frozen=True, slots=True)
class JointRow:
    place: int
    number: int
    """The entry's number in the session."""
    length: Quantity
    shoe: Quantity
    """Shoe depth once it was in, at today's stick-up."""
    at: datetime


@dataclass(frozen=True, slots=True)
class LoadView:
    expected: Quantity
    band: Quantity
    read: Quantity
    read_motion: str
    read_at: datetime | None
    read_expected: Quantity
    verdict: str
    """How the reading lies: "" (none yet), "as expected", "low", "high" or "not compared"."""
    limit_name: str
    limit: Quantity
    share: Quantity
    """Expected load over the lowest limit."""
    next_joint: Quantity
    as_it_stood: bool
    """The expectation has moved on since the reading, by more than its band: the verdict is of then."""
    float_failed: Quantity
    """Load if a float or a closed end fails and the casing fills, with the dynamic factor; unknown for an open end, and
    where what is expected as it is weighs more."""


@dataclass(frozen=True, slots=True)
class CasingView:
    length: Quantity
    shoe: Quantity
    target: Quantity
    to_go: Quantity
    hole_bottom: Quantity
    stick_up: Quantity
    stick_up_read: bool
    joints_in: int
    joints_left: int
    rejected: int
    rack_left: tuple[Quantity, ...]
    rack_reconciles: bool
    final_joints: int
    """Of those that are left, in the rack's order, those that the planned depth takes; all where they fall short."""
    final_stick_up: Quantity
    """Stick-up with the shoe at its planned depth, if these go on."""
    final_is_short: bool
    """The joints that are left do not reach the planned depth with any stick-up."""
    centralizers: int
    joints: tuple[JointRow, ...]
    pace: Pace | None
    next_joint: NextJoint | None
    centralizer: CentralizerDue | None
    time_to_land: Quantity
    load: LoadView
    landing: LandingView | None
    """None where no order was chosen."""
    landed_on: str
    connection: str
    shoe_end: str


def casing(state: State) -> CasingView:
    plan, string = state.plan, state.string
    length_m = lengths.length_m(plan, string)
    shoe_m = lengths.shoe_depth_m(plan, string)
    rack = lengths.rack(plan, string)
    target_m = plan.casing.target_shoe_depth_m
    final_joints = _final_joints(state, rack.lengths_m)
    final_m = _final_length_m(state, rack.lengths_m[:final_joints]) - target_m
    paced = pace(state)
    pace_s = paced.a_joint.si if paced else None
    still_m = max(target_m - shoe_m, 0.0)
    mean_m = sum(rack.lengths_m) / len(rack.lengths_m) if rack.lengths_m else None
    return CasingView(
        length=Quantity(length_m, Kind.LENGTH),
        shoe=Quantity(shoe_m, Kind.DEPTH),
        target=Quantity(target_m, Kind.DEPTH),
        to_go=Quantity(target_m - shoe_m, Kind.DEPTH),
        hole_bottom=Quantity(plan.hole.bottom_m, Kind.DEPTH),
        stick_up=Quantity(_stick_up_m(plan, string), Kind.LENGTH),
        stick_up_read=string.stick_up_m is not None,
        joints_in=len(string.joints),
        joints_left=len(rack.lengths_m),
        rejected=len(string.rejected_m),
        rack_left=tuple(Quantity(joint_m, Kind.LENGTH) for joint_m in rack.lengths_m),
        rack_reconciles=rack.reconciles,
        final_joints=final_joints,
        final_stick_up=Quantity(final_m, Kind.LENGTH),
        final_is_short=final_m < 0,
        centralizers=len(string.centralizers_above_shoe_m),
        joints=joint_rows(state),
        pace=paced,
        next_joint=next_joint(state),
        centralizer=centralizer_due(state),
        time_to_land=Quantity(still_m / mean_m * pace_s if pace_s and mean_m else None, Kind.DURATION),
        load=_load(state, length_m, shoe_m, rack.lengths_m),
        landing=landing_view(state),
        landed_on={"rock": "landed on rock", "hung": "hung at depth"}.get(string.landed_on or "", ""),
        connection=plan.casing.connection,
        shoe_end={"open": "open end", "float": "float shoe", "closed": "closed end"}[plan.casing.shoe],
    )


def _final_joints(state: State, left_m: tuple[float, ...]) -> int:
    """How many of the joints that are left bring the shoe down with the least stick-up that the plan allows."""
    casing = state.plan.casing
    least_m = casing.target_shoe_depth_m + max(casing.stick_up_m - casing.stick_up_tolerance_m, 0.0)
    return next(
        (count for count in range(len(left_m)) if _final_length_m(state, left_m[:count]) >= least_m), len(left_m)
    )


def _stick_up_m(plan: Plan, string: String) -> float:
    """As read; else what the plan says, also while the string is shorter than that."""
    return plan.casing.stick_up_m if string.stick_up_m is None else lengths.stick_up_m(plan, string)


def _final_length_m(state: State, left_m: tuple[float, ...]) -> float:
    casing = state.plan.casing
    gain_m = sum(left_m) - len(left_m) * (casing.make_up_loss_m - casing.weld_gap_m)
    return lengths.length_m(state.plan, state.string) + gain_m


def joint_rows(state: State) -> tuple[JointRow, ...]:
    plan, string = state.plan, state.string
    stick_up_m = lengths.stick_up_m(plan, string)
    cuts = list(entered(state, ev.CutOffMade)) if string.cut_off_m else []
    turn = order(state) if cuts else {}
    rows: list[JointRow] = []
    for place, joint in enumerate(string.joints, start=1):
        # A cut-off comes off the joint that is on top: what was cut before the next one went on.
        later = turn.get(string.joints[place].number, math.inf) if place < len(string.joints) else math.inf
        cut_off_m = sum(cut.event.length_m for cut in cuts if turn[cut.number] < later)
        length_m = lengths.length_of_m(plan, [made.length_m for made in string.joints[:place]], cut_off_m)
        rows.append(
            JointRow(
                place=place,
                number=joint.number,
                length=Quantity(joint.length_m, Kind.LENGTH),
                shoe=Quantity(length_m - min(stick_up_m, length_m), Kind.DEPTH),
                at=joint.at,
            )
        )
    return tuple(rows)


def _load(state: State, length_m: float, shoe_m: float, left_m: tuple[float, ...]) -> LoadView:
    plan, string = state.plan, state.string
    expected_n = loads.expected_n(plan, string) if string.landed_on is None else None
    readings = watching.hook_readings(state)
    reading = readings[-1] if readings else None
    name, limit_n = plan.limits.lowest
    landed = string.landed_on is not None
    done = landed or lengths.at_depth(plan, string)
    return LoadView(
        expected=Quantity(expected_n, Kind.LOAD),
        band=Quantity(None if expected_n is None else loads.band_n(plan, expected_n), Kind.LOAD),
        read=Quantity(reading.load_n if reading else None, Kind.LOAD),
        read_motion=reading.motion if reading else "",
        read_at=reading.at if reading else None,
        read_expected=Quantity(reading.expected_n if reading else None, Kind.LOAD),
        verdict=verdict(plan, reading) if reading else "",
        limit_name=name,
        limit=Quantity(limit_n, Kind.LOAD),
        share=Quantity(None if expected_n is None else expected_n / limit_n, Kind.SHARE),
        next_joint=Quantity(loads.next_joint_n(plan, string, max(left_m)) if left_m and not done else None, Kind.LOAD),
        as_it_stood=_moved_on(plan, reading, expected_n),
        float_failed=Quantity(None if landed else _float_failed_n(state, length_m, shoe_m, expected_n), Kind.LOAD),
    )


def verdict(plan: Plan, reading: HookReading) -> str:
    """How a reading lies to what was expected of it: "as expected", "low", "high" or "not compared"."""
    if reading.expected_n is None:
        return "not compared"
    off_n = reading.load_n - reading.expected_n
    if abs(off_n) <= loads.band_n(plan, reading.expected_n):
        return "as expected"
    return "high" if off_n > 0 else "low"


def _moved_on(plan: Plan, reading: HookReading | None, expected_n: float | None) -> bool:
    if reading is None or reading.expected_n is None or expected_n is None:
        return False
    return abs(reading.expected_n - expected_n) > loads.band_n(plan, expected_n)


def _float_failed_n(state: State, length_m: float, shoe_m: float, expected_n: float | None) -> float | None:
    plan, string = state.plan, state.string
    if plan.casing.shoe_state is hook_load.ShoeState.OPEN or not string.joints:
        return None
    open_n = loads.load_n(
        plan,
        length_m=length_m,
        shoe_m=max(shoe_m, 0.0),
        outside=loads.water(loads.hole_fluid_m(plan, string), max(shoe_m, 0.0)),
        inside=(),
        shoe=hook_load.ShoeState.OPEN,
    )
    failed_n = open_n * plan.limits.dynamic_factor
    return None if expected_n is not None and failed_n <= expected_n else failed_n
