"""The casing string as entered: how an entry changes it."""

from __future__ import annotations

from dataclasses import replace

from tally.job import events as ev
from tally.job import lengths, loads
from tally.job.plan import Plan
from tally.job.state import ChosenLanding, HookReading, Joint, Kept, String


def after(plan: Plan, string: String, kept: Kept, *, grouting: bool) -> String:
    """`string` with one more entry; entries about other things leave it as it is."""
    event, entry = kept.entry.event, kept.entry
    match event:
        case ev.JointAdded():
            joint = Joint(entry.number, event.length_m, kept.elapsed_s, entry.at)
            return replace(string, joints=(*string.joints, joint))
        case ev.JointRemeasured():
            return replace(string, joints=tuple(_remeasured(joint, event) for joint in string.joints))
        case ev.JointRejected():
            return replace(string, rejected_m=(*string.rejected_m, event.length_m))
        case ev.CentralizerFitted():
            above_m = lengths.length_m(plan, string) if event.at_top else event.above_shoe_m
            return replace(string, centralizers_above_shoe_m=(*string.centralizers_above_shoe_m, above_m))
        case ev.CutOffMade():
            # The shoe stays where it is: what was read as standing above ground is shorter by the cut.
            stands_m = None if string.stick_up_m is None else max(string.stick_up_m - event.length_m, 0.0)
            return replace(string, cut_off_m=string.cut_off_m + event.length_m, stick_up_m=stands_m)
        case ev.StickUpRead():
            return replace(string, stick_up_m=event.stick_up_m, joints_at_stick_up=len(string.joints))
        case ev.FluidLevelRead():
            if event.where == "hole":
                return replace(string, hole_fluid_m=event.depth_m)
            return replace(string, inside_fluid_m=event.depth_m)
        case ev.LandingChosen():
            return replace(string, landing=ChosenLanding(event.order_m, len(string.joints)))
        case ev.CasingLanded():
            return replace(string, landed_on=event.on, landed_at_s=kept.elapsed_s)
        case ev.HookLoadRead():
            return replace(string, hook_readings=(*string.hook_readings, _reading(plan, string, kept, event, grouting)))
    return string


def _remeasured(joint: Joint, event: ev.JointRemeasured) -> Joint:
    if joint.number != event.joint:
        return joint
    first_m = joint.length_m if joint.first_m is None else joint.first_m
    return replace(joint, length_m=event.length_m, first_m=first_m)


def _reading(plan: Plan, string: String, kept: Kept, event: ev.HookLoadRead, grouting: bool) -> HookReading:
    # Once the casing stands on rock, or grout rises beside it, the water-column figure says nothing of the reading.
    known = string.landed_on is None and not grouting
    return HookReading(
        number=kept.entry.number,
        load_n=event.load_n,
        motion=event.motion,
        expected_n=loads.expected_n(plan, string) if known else None,
        shoe_m=lengths.shoe_depth_m(plan, string),
        at=kept.entry.at,
    )
