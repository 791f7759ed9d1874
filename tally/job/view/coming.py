"""What comes next while casing runs: the joint, where it puts the shoe, the centralizer that is due, and the pace."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median

from tally.job import landing, lengths
from tally.job.state import Joint, State
from tally.job.view.activity import spans
from tally.job.view.quantity import Kind, Quantity, Sentence

RECENT = 6
"""Joints that the pace is taken over: a slow start does not weigh on it for ever."""
PAUSE_SHARE, PAUSE_S = 3.0, 600.0
"""A gap over this many times the usual one, and over this long, is a pause and tells nothing of the pace."""
ENOUGH_S = 120.0
"""Less time than this between joints tells nothing either: they were written down at once."""


@dataclass(frozen=True, slots=True)
class NextJoint:
    length: Quantity
    on_rack: int
    """Its place among those that are left, from 1; 0 where the rack's list does not hold it."""
    left: int
    chosen: bool
    """By the landing; else the first that is left."""
    shoe: Quantity
    """Where it puts the shoe, at today's stick-up."""


@dataclass(frozen=True, slots=True)
class CentralizerDue:
    now: bool
    """It belongs on a joint that is on already."""
    height: Quantity
    """Where it belongs, above the shoe."""
    sentence: Sentence


@dataclass(frozen=True, slots=True)
class Pace:
    """From joint to joint: pick-up, weld or thread, lowering."""

    a_joint: Quantity
    an_hour: float
    counted: int
    """Gaps between joints that it rests on."""
    pauses: int
    """Gaps that were left out."""


def next_joint(state: State) -> NextJoint | None:
    """None once it has landed or the rack is empty."""
    plan, string = state.plan, state.string
    left_m = lengths.rack(plan, string).lengths_m
    if string.landed_on is not None or lengths.at_depth(plan, string) or not left_m:
        return None
    run = landing.followed(plan, string)
    chosen = run is not None and not run.departs and bool(run.to_come_m)
    joint_m = run.to_come_m[0] if run is not None and chosen else left_m[0]
    place = next((at for at, each_m in enumerate(left_m, 1) if abs(each_m - joint_m) <= lengths.SAME_JOINT_M), 0)
    after = replace(string, joints=(*string.joints, Joint(0, joint_m, state.elapsed_s, state.at)))
    return NextJoint(
        length=Quantity(joint_m, Kind.LENGTH),
        on_rack=place,
        left=len(left_m),
        chosen=chosen,
        shoe=Quantity(lengths.shoe_depth_m(plan, after), Kind.DEPTH),
    )


def centralizer_due(state: State) -> CentralizerDue | None:
    """The next of the planned centralizers, those that are fitted taken as the lowest of them."""
    plan, string = state.plan, state.string
    heights_m = sorted(plan.casing.target_shoe_depth_m - depth_m for depth_m in plan.casing.centralizer_depths_m)
    ahead_m = heights_m[len(string.centralizers_above_shoe_m) :]
    if not ahead_m or string.landed_on is not None:
        return None
    height_m, top_m = ahead_m[0], lengths.length_m(plan, string)
    at = Quantity(height_m, Kind.LENGTH)
    if string.joints and height_m <= top_m:
        return CentralizerDue(True, at, Sentence("belongs {0} above the shoe", (at,)))
    coming = next_joint(state)
    if coming is not None and height_m <= top_m + (coming.length.si or 0.0):
        above = Quantity(height_m - top_m, Kind.LENGTH)
        return CentralizerDue(False, at, Sentence("on the next joint, {0} up it", (above,)))
    return CentralizerDue(False, at, Sentence("next {0} above the shoe", (at,)))


def pace(state: State) -> Pace | None:
    """None while there is too little to tell it by."""
    joints = state.string.joints[-RECENT:]
    idle = [span for span in spans(state) if span.said or span.activity.text == "nobody recorded"]
    gaps_s: list[float] = []
    pauses = 0
    for lower, upper in pairwise(joints):
        if any(span.from_s < upper.elapsed_s and lower.elapsed_s < span.until_s for span in idle):
            pauses += 1
        else:
            gaps_s.append(upper.elapsed_s - lower.elapsed_s)
    if not gaps_s:
        return None
    usual_s = median(gaps_s)
    kept_s = [gap_s for gap_s in gaps_s if gap_s <= max(PAUSE_SHARE * usual_s, PAUSE_S)]
    if sum(kept_s) < ENOUGH_S:
        return None
    mean_s = sum(kept_s) / len(kept_s)
    return Pace(Quantity(mean_s, Kind.DURATION), 3_600.0 / mean_s, len(kept_s), pauses + len(gaps_s) - len(kept_s))
