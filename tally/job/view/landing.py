"""The landing: as the plan's rack allows it, and as it was chosen in the course of the run."""

from __future__ import annotations

from dataclasses import dataclass

from tally.job import landing
from tally.job.landing import Followed, Landing, Proposal, Weld
from tally.job.plan import Plan
from tally.job.state import State, String
from tally.job.view.quantity import Kind, Quantity, Sentence


@dataclass(frozen=True, slots=True)
class LandingView:
    """What was chosen, seen from now on."""

    next_joint: Quantity
    """Unknown where nothing was chosen, nothing is to come, or the run departs from it."""
    to_come: tuple[Quantity, ...]
    stick_up: Quantity
    """At the end, after the cut."""
    cut_off: Quantity
    remark: Sentence | None
    """Why it does not hold any more, or what to look at in it."""


@dataclass(frozen=True, slots=True)
class PlannedJoint:
    place: int
    """From the shoe, from 1."""
    on_rack: int
    """Its place in the plan's list, from 1."""
    length: Quantity
    weld: Quantity
    """Depth of the connection below it; unknown under a first joint without a shoe."""
    weld_near: str
    """What that comes too near to, if anything."""


@dataclass(frozen=True, slots=True)
class PlannedCentralizer:
    depth: Quantity
    on_joint: int
    above_end: Quantity


@dataclass(frozen=True, slots=True)
class LandingPlan:
    """The best landing from the whole rack."""

    joints: tuple[PlannedJoint, ...]
    centralizers: tuple[PlannedCentralizer, ...]
    stick_up: Quantity
    cut_off: Quantity
    short: Quantity
    moves: int
    """Joints set aside or fetched, so that the rack can then be taken from its front."""
    rack_order_cut_off: Quantity
    """The joints as they lie; unknown where the rack is too short."""
    proven: bool
    findings: tuple[Sentence, ...]


def landing_view(state: State) -> LandingView | None:
    """How the run lies to the landing that was chosen; None where none was, or the casing has landed."""
    plan, string = state.plan, state.string
    run = landing.followed(plan, string)
    if run is None or string.landed_on is not None:
        return None
    unknown = Quantity(None, Kind.LENGTH)
    if run.departs:
        return LandingView(unknown, (), unknown, unknown, _departure(run))
    ahead = landing.of_order(plan, string, run.to_come_m)
    if ahead.short_m:  # a joint below was voided, a piece was cut off, or the plan was amended
        values = _length(ahead.short_m), _length(landing.stick_up_window_m(plan)[0])
        short = Sentence("what was planned ends {0} short of the lowest stick-up, {1}", values)
        return LandingView(unknown, (), unknown, unknown, short)
    to_come = tuple(_length(joint_m) for joint_m in run.to_come_m)
    return LandingView(
        next_joint=to_come[0] if to_come else Quantity(None, Kind.LENGTH),
        to_come=to_come,
        stick_up=_length(ahead.stick_up_m),
        cut_off=_length(ahead.cut_off_m),
        remark=next(iter(_findings(plan, ahead)), None),
    )


def proposed(state: State) -> tuple[tuple[float, ...] | None, tuple[Sentence, ...]]:
    """The order of the best landing from now [m], None where there is none, and what is to be said of it."""
    plan, string = state.plan, state.string
    if string.landed_on is not None:
        return None, (Sentence("the casing has landed"),)
    found = landing.best(plan, string)
    said = (*_findings(plan, found.landing), *_search(found))
    return (None if found.landing.short_m else found.landing.order_m), said


def landing_plan(plan: Plan) -> LandingPlan:
    found = landing.best(plan, String())
    best, as_it_lies = found.landing, found.rack_order
    welds = {weld.below_joint: weld for weld in best.welds}
    joints = enumerate(zip(found.places, best.order_m, strict=True), start=1)
    return LandingPlan(
        joints=tuple(_joint(number, place, length_m, welds.get(number)) for number, (place, length_m) in joints),
        centralizers=tuple(
            PlannedCentralizer(Quantity(each.depth_m, Kind.DEPTH), each.on_joint, _length(each.above_end_m))
            for each in best.centralizers
        ),
        stick_up=_length(best.stick_up_m),
        cut_off=_length(best.cut_off_m),
        short=_length(best.short_m),
        moves=found.moves,
        rack_order_cut_off=Quantity(None if as_it_lies.short_m else as_it_lies.cut_off_m, Kind.LENGTH),
        proven=found.proven,
        findings=(*_findings(plan, best), *_search(found)),
    )


def _length(value_m: float) -> Quantity:
    return Quantity(value_m, Kind.LENGTH)


def _joint(number: int, place: int, length_m: float, weld: Weld | None) -> PlannedJoint:
    return PlannedJoint(
        place=number,
        on_rack=place + 1,
        length=_length(length_m),
        weld=Quantity(weld.depth_m if weld else None, Kind.DEPTH),
        weld_near=weld.near if weld else "",
    )


def _departure(run: Followed) -> Sentence:
    if run.missing_m is not None:
        return Sentence("no joint of {0} is left for it", (_length(run.missing_m),))
    went = Quantity(run.went_m, Kind.LENGTH)
    if run.planned_m is None:
        return Sentence("{0} went on after the last one planned", (went,))
    return Sentence("{0} went on, {1} was planned", (went, _length(run.planned_m)))


def _findings(plan: Plan, ahead: Landing) -> list[Sentence]:
    low_m, high_m = landing.stick_up_window_m(plan)
    found: list[Sentence] = []
    if ahead.short_m:
        words = "the longest string from what is left ends {0} short of the lowest stick-up, {1}"
        found.append(Sentence(words, (_length(ahead.short_m), _length(low_m))))
    if ahead.cut_off_m:
        words = "stick-up would be {0}, window {1} to {2}: cut {3}"
        values = (ahead.uncut_m, low_m, high_m, ahead.cut_off_m)
        found.append(Sentence(words, tuple(_length(value_m) for value_m in values)))
    for weld in ahead.too_near:
        words = "connection at {0}, {1} from {2}; {3} asked for"
        depth, near, asked = Quantity(weld.depth_m, Kind.DEPTH), _length(weld.near_m), _length(weld.asked_m)
        found.append(Sentence(words, (depth, near, weld.near, asked)))
    return found


def _search(found: Proposal) -> list[Sentence]:
    if found.landing.too_near:
        return [Sentence("no order was found that keeps every connection clear: this comes closest")]
    if found.landing.short_m or found.proven:
        return []
    return [Sentence("best found; an order with less cut off or fewer moves may exist")]
