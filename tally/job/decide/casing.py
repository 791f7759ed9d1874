"""Entries about the casing run."""

from __future__ import annotations

from tally.job import events as ev
from tally.job import intents as want
from tally.job import landing, lengths
from tally.job.decide.refusal import Deciders, Decision, Refusal, of, within
from tally.job.state import State
from tally.job.view.quantity import Kind

LONGEST_JOINT_M = 30.0
DEEPEST_M = 2_000.0
TWICE_WITHIN_S = 8.0
"""The same length again this soon was probably one key too many; nobody makes up a joint so fast."""


def _add_joint(state: State, intent: want.AddJoint) -> Decision:
    plan, string = state.plan, state.string
    if wrong := within("length", intent.length_m, 0.1, LONGEST_JOINT_M, Kind.LENGTH):
        return wrong
    if string.joints and intent.length_m <= plan.casing.make_up_loss_m:
        return Refusal(
            "length",
            "given {0}; a connection takes {1} of it, so more than that is accepted",
            values=of(Kind.LENGTH, intent.length_m, plan.casing.make_up_loss_m),
        )
    if string.landed_on is not None:
        return Refusal("length", f"the casing is landed ({string.landed_on}); void the landing to add a joint")
    if intent.sure:
        return [ev.JointAdded(length_m=intent.length_m, typed=intent.typed)]
    casing = plan.casing
    if not casing.joint_min_m <= intent.length_m <= casing.joint_max_m:
        return Refusal(
            "length",
            "{0} is outside the delivered range, {1} to {2}",
            "a cut joint? Enter again records it",
            of(Kind.LENGTH, intent.length_m, casing.joint_min_m, casing.joint_max_m),
        )
    last = string.joints[-1] if string.joints else None
    if last and last.length_m == intent.length_m and state.elapsed_s - last.elapsed_s < TWICE_WITHIN_S:
        return Refusal("length", "the same joint was entered a moment ago", "two alike? Enter again records it")
    if not lengths.rack(plan, string).lengths_m:
        return Refusal("length", "no joint is left on the rack", "one more after all? Enter again records it")
    lengths_m = [*(joint.length_m for joint in string.joints), intent.length_m]
    stick_up_m = plan.casing.stick_up_m if string.stick_up_m is None else string.stick_up_m
    shoe_m = lengths.length_of_m(plan, lengths_m, string.cut_off_m) - stick_up_m
    if shoe_m > plan.hole.bottom_m + plan.casing.stick_up_tolerance_m:
        return Refusal(
            "length",
            "the shoe would be at {0}, below the hole's bottom at {1}",
            "to be cut, or more stick-up? Enter again records it",
            of(Kind.DEPTH, shoe_m, plan.hole.bottom_m),
        )
    return [ev.JointAdded(length_m=intent.length_m, typed=intent.typed)]


def _remeasure_joint(state: State, intent: want.RemeasureJoint) -> Decision:
    joints, casing = state.string.joints, state.plan.casing
    if not joints:
        return Refusal("joint", "no joint is in the hole yet; there is none to measure again")
    if not 1 <= intent.place <= len(joints):
        return Refusal("joint", f"given joint {intent.place}; from 1, at the shoe, to {len(joints)} are in")
    if wrong := within("length", intent.length_m, 0.1, LONGEST_JOINT_M, Kind.LENGTH):
        return wrong
    if not intent.sure and not casing.joint_min_m <= intent.length_m <= casing.joint_max_m:
        return Refusal(
            "length",
            "{0} is outside the delivered range, {1} to {2}",
            "a cut joint? Enter again records it",
            of(Kind.LENGTH, intent.length_m, casing.joint_min_m, casing.joint_max_m),
        )
    joint = joints[intent.place - 1]
    return [ev.JointRemeasured(joint=joint.number, length_m=intent.length_m, typed=intent.typed)]


def _reject_joint(state: State, intent: want.RejectJoint) -> Decision:
    if wrong := within("length", intent.length_m, 0.1, LONGEST_JOINT_M, Kind.LENGTH):
        return wrong
    return [ev.JointRejected(length_m=intent.length_m, typed=intent.typed, reason=intent.reason)]


def _fit_centralizer(state: State, intent: want.FitCentralizer) -> Decision:
    if not state.string.joints:
        return Refusal("centralizer", "no joint is in the hole yet; a centralizer goes on a joint")
    top_m = lengths.length_m(state.plan, state.string)
    if intent.above_shoe_m is None:
        return [ev.CentralizerFitted(above_shoe_m=top_m, at_top=True)]
    if wrong := within("centralizer", intent.above_shoe_m, 0.0, top_m, Kind.LENGTH):
        return wrong
    return [ev.CentralizerFitted(above_shoe_m=intent.above_shoe_m)]


def _cut_off(state: State, intent: want.CutOff) -> Decision:
    length_m = lengths.length_m(state.plan, state.string)
    if not 0 < intent.length_m < length_m:
        return Refusal(
            "cut-off",
            "given {0}; more than {1} and less than the string, {2}, is accepted",
            values=of(Kind.LENGTH, intent.length_m, 0.0, length_m),
        )
    return [ev.CutOffMade(length_m=intent.length_m, typed=intent.typed)]


def _read_stick_up(state: State, intent: want.ReadStickUp) -> Decision:
    if not state.string.joints:
        return Refusal("stick-up", "no joint is in the hole yet; there is nothing to stand above ground")
    length_m = lengths.length_m(state.plan, state.string)
    if wrong := within("stick-up", intent.stick_up_m, 0.0, max(length_m, 0.0), Kind.LENGTH):
        return wrong
    return [ev.StickUpRead(stick_up_m=intent.stick_up_m, typed=intent.typed)]


def _read_hook_load(state: State, intent: want.ReadHookLoad) -> Decision:
    if wrong := within("hook load", intent.load_n, 0.0, 5_000_000.0, Kind.LOAD):
        return wrong
    return [ev.HookLoadRead(load_n=intent.load_n, typed=intent.typed, motion=intent.motion)]


def _read_fluid_level(state: State, intent: want.ReadFluidLevel) -> Decision:
    depth_m = lengths.from_ground_m(state.plan, intent.depth_m)
    if wrong := within("fluid level", depth_m, 0.0, DEEPEST_M, Kind.DEPTH):
        return wrong
    return [ev.FluidLevelRead(where=intent.where, depth_m=depth_m, typed=intent.typed)]


def _choose_landing(state: State, intent: want.ChooseLanding) -> Decision:
    plan, string = state.plan, state.string
    if string.landed_on is not None:
        return Refusal("landing", f"the casing is landed ({string.landed_on}); no joint is to come")
    missing_m = landing.missing(lengths.rack(plan, string).lengths_m, intent.order_m)
    if missing_m is not None:
        return Refusal("landing", "no joint of {0} is left on the rack", values=of(Kind.LENGTH, missing_m))
    planned = landing.of_order(plan, string, intent.order_m)
    if planned.short_m:
        values = of(Kind.LENGTH, planned.short_m, landing.stick_up_window_m(plan)[0])
        return Refusal("landing", "these joints end {0} short of the lowest stick-up, {1}", values=values)
    if planned.too_near and not intent.sure:
        weld = planned.too_near[0]
        return Refusal(
            "landing",
            f"a connection comes to {{0}}, {{1}} from {weld.near}; {{2}} is asked for",
            "in this order all the same? Enter again records it",
            (*of(Kind.DEPTH, weld.depth_m), *of(Kind.LENGTH, weld.near_m, weld.asked_m)),
        )
    return [ev.LandingChosen(order_m=intent.order_m)]


def _land_casing(state: State, intent: want.LandCasing) -> Decision:
    plan, string = state.plan, state.string
    if not string.joints:
        return Refusal("landing", "no joint is in the hole yet")
    if string.landed_on is not None:
        return Refusal("landing", f"the casing is landed already ({string.landed_on})")
    off_m = lengths.shoe_depth_m(plan, string) - plan.casing.target_shoe_depth_m
    if not intent.sure and abs(off_m) > plan.casing.stick_up_tolerance_m:
        side = "below" if off_m > 0 else "above"
        return Refusal(
            "landing",
            f"the shoe is {{0}} {side} its planned depth, {{1}}",
            "landed here all the same? Enter again records it",
            of(Kind.DEPTH, abs(off_m), plan.casing.target_shoe_depth_m),
        )
    return [ev.CasingLanded(on=intent.on)]


DECIDERS: Deciders = {
    want.AddJoint: _add_joint,
    want.RemeasureJoint: _remeasure_joint,
    want.RejectJoint: _reject_joint,
    want.FitCentralizer: _fit_centralizer,
    want.CutOff: _cut_off,
    want.ReadStickUp: _read_stick_up,
    want.ReadHookLoad: _read_hook_load,
    want.ReadFluidLevel: _read_fluid_level,
    want.ChooseLanding: _choose_landing,
    want.LandCasing: _land_casing,
}
