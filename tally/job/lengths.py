"""Lengths of the casing string, and what is left on the rack."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from tally.engineering import pipe
from tally.job.plan import Plan
from tally.job.state import Joint, String

SAME_JOINT_M = 0.006
"""Two tape readings of one joint agree this well; common practice is to write to the centimetre or 0.01 ft."""
EXACT_M = 0.001
"""Less than half of the last figure that is written, 0.01 ft."""


def length_of_m(plan: Plan, joint_lengths_m: Sequence[float], cut_off_m: float = 0.0) -> float:
    """Length of a string of these joints, shoe and connections included [m].

    Never refuses: a joint that was cut and then voided leaves more cut off than there is, and the string is then 0 m.
    """
    casing = plan.casing
    made_up = pipe.connections(joint_count=len(joint_lengths_m), shoe_length_m=casing.shoe_length_m)
    gained_m = made_up * (casing.weld_gap_m - casing.make_up_loss_m)
    return max(math.fsum((casing.shoe_length_m, *joint_lengths_m, gained_m, -cut_off_m)), 0.0)


def from_ground_m(plan: Plan, measured_m: float) -> float:
    """Depth from ground level of what was measured from the plan's measuring point [m]."""
    return measured_m - plan.casing.measured_from_m  # whatever was typed: it is looked at afterwards


def length_m(plan: Plan, string: String) -> float:
    """Length of the string from the shoe's end to its top [m]."""
    return length_of_m(plan, [joint.length_m for joint in string.joints], string.cut_off_m)


def stick_up_m(plan: Plan, string: String) -> float:
    """What stands above ground now [m]: as read last, else as planned, never more than the string's length."""
    return _standing_m(plan, string, length_m(plan, string))


def _standing_m(plan: Plan, string: String, whole_m: float) -> float:
    read = plan.casing.stick_up_m if string.stick_up_m is None else string.stick_up_m
    return min(read, max(whole_m, 0.0))


def shoe_depth_m(plan: Plan, string: String) -> float:
    """Depth of the shoe's end [m]."""
    whole_m = length_m(plan, string)
    return whole_m - _standing_m(plan, string, whole_m)


def at_depth(plan: Plan, string: String) -> bool:
    """Whether the shoe stands at its planned depth, within the stick-up's tolerance, or below it: no joint comes."""
    casing = plan.casing
    return shoe_depth_m(plan, string) >= casing.target_shoe_depth_m - casing.stick_up_tolerance_m


@dataclass(frozen=True, slots=True)
class Rack:
    """What is left on the rack, by the plan's list."""

    lengths_m: tuple[float, ...]
    unlisted_m: tuple[float, ...]
    """Lengths that went in or were rejected and that no listed joint matches."""

    @property
    def reconciles(self) -> bool:
        return not self.unlisted_m


def off_the_rack_m(plan: Plan, joint: Joint) -> float:
    """The length by which the joint stands in the rack's list [m]: as measured again, if that is listed, else as first
    written down."""
    if joint.first_m is None or any(abs(joint.length_m - each_m) <= SAME_JOINT_M for each_m in plan.casing.rack_m):
        return joint.length_m
    return joint.first_m


def rack(plan: Plan, string: String) -> Rack:
    """The rack with every length taken off that a joint in the hole or a reject matches.

    Each finds its own to the last figure first, then what is as good as the same; where fewer would find one in that
    way than by order of length alone, that order is kept.
    """
    used_m = (*(off_the_rack_m(plan, joint) for joint in string.joints), *string.rejected_m)
    listed = tuple(enumerate(plan.casing.rack_m))
    exact, rest_m = _matched(listed, used_m, EXACT_M)
    alike, unlisted_m = _matched([pair for pair in listed if pair[0] not in exact], rest_m, SAME_JOINT_M)
    taken = exact | alike
    by_order, unlisted_by_order_m = _matched(listed, used_m, SAME_JOINT_M)
    if len(by_order) > len(taken):
        taken, unlisted_m = by_order, unlisted_by_order_m
    left = tuple(length_m for place, length_m in listed if place not in taken)
    return Rack(left, unlisted_m)


def _matched(
    listed: Iterable[tuple[int, float]], used_m: Iterable[float], within_m: float
) -> tuple[set[int], tuple[float, ...]]:
    """(places that are taken, lengths that none matches): in order of length, so that as many as possible do."""
    pairs = sorted(listed, key=lambda pair: pair[1])
    taken: set[int] = set()
    unlisted: list[float] = []
    at = 0
    for each_m in sorted(used_m):
        while at < len(pairs) and pairs[at][1] < each_m - within_m:
            at += 1
        if at < len(pairs) and pairs[at][1] <= each_m + within_m:
            taken.add(pairs[at][0])
            at += 1
        else:
            unlisted.append(each_m)
    return taken, tuple(unlisted)


def missing(plan: Plan, string: String) -> int:
    """Joints delivered less those in the hole, on the rack and rejected; 0 where the plan does not count them."""
    if plan.casing.delivered is None:
        return 0
    return pipe.rack_difference(
        delivered=plan.casing.delivered,
        on_rack=len(rack(plan, string).lengths_m),
        in_hole=len(string.joints),
        rejected=len(string.rejected_m),
    )
