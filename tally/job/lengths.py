"""Lengths of the casing string, and what is left on the rack."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tally.engineering import pipe
from tally.job.plan import Plan
from tally.job.state import String

SAME_JOINT_M = 0.006
"""Two tape readings of one joint agree this well; common practice is to write to the centimetre or 0.01 ft."""


def length_of_m(plan: Plan, joint_lengths_m: Sequence[float], cut_off_m: float = 0.0) -> float:
    """Length of a string of these joints, shoe and connections included [m]."""
    casing = plan.casing
    return pipe.string_length_m(
        shoe_length_m=casing.shoe_length_m,
        joint_lengths_m=joint_lengths_m,
        make_up_loss_m=casing.make_up_loss_m,
        weld_gap_m=casing.weld_gap_m,
        cut_off_m=cut_off_m,
    )


def length_m(plan: Plan, string: String) -> float:
    """Length of the string from the shoe's end to its top [m]."""
    return length_of_m(plan, [joint.length_m for joint in string.joints], string.cut_off_m)


def stick_up_m(plan: Plan, string: String) -> float:
    """What stands above ground now [m]: as read last, else as planned, never more than the string's length."""
    read = plan.casing.stick_up_m if string.stick_up_m is None else string.stick_up_m
    return min(read, max(length_m(plan, string), 0.0))


def shoe_depth_m(plan: Plan, string: String) -> float:
    """Depth of the shoe's end [m]."""
    return length_m(plan, string) - stick_up_m(plan, string)


@dataclass(frozen=True, slots=True)
class Rack:
    """What is left on the rack, by the plan's list."""

    lengths_m: tuple[float, ...]
    unlisted_m: tuple[float, ...]
    """Lengths that went in or were rejected and that no listed joint matches."""

    @property
    def reconciles(self) -> bool:
        return not self.unlisted_m


def rack(plan: Plan, string: String) -> Rack:
    """The rack after taking off, joint by joint, the listed length nearest to each that was used."""
    left = list(plan.casing.rack_m)
    unlisted: list[float] = []
    for used in (*(joint.length_m for joint in string.joints), *string.rejected_m):
        nearest = min(left, key=lambda listed: abs(listed - used), default=None)
        if nearest is not None and abs(nearest - used) <= SAME_JOINT_M:
            left.remove(nearest)
        else:
            unlisted.append(used)
    return Rack(tuple(left), tuple(unlisted))
