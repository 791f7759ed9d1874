"""The hole and its annulus as compiled profiles: made once for each hole, casing and tremie position."""

from __future__ import annotations

import itertools
from functools import lru_cache

from tally.engineering.hole import PipeSpan, Profile, Segment
from tally.job import lengths
from tally.job.plan import Hole, Plan
from tally.job.state import State

KEPT = 64


@lru_cache(maxsize=KEPT)
def _annulus(
    hole: Hole, outer_diameter_m: float, shoe_m: float, tremie_m: float | None, tip_m: float | None
) -> Profile:
    segments = [Segment(part.top_m, part.bottom_m, part.diameter_m, part.diameter_m) for part in hole.sections]
    pipes = [PipeSpan(0.0, shoe_m, outer_diameter_m)] if shoe_m > 0 else []
    if tremie_m is not None and tip_m:
        pipes.append(PipeSpan(0.0, tip_m, tremie_m))
    return Profile.compile(segments, pipes=pipes)


def planned_annulus(plan: Plan) -> Profile:
    """Hole less casing at its planned depth, without a tremie."""
    return _annulus(plan.hole, plan.casing.outer_diameter_m, plan.casing.target_shoe_depth_m, None, None)


def shoe_m(state: State) -> float:
    """Depth to which casing fills the hole for volumes [m]: as run once it is landed, else as planned.

    A shoe that by the tape stands a little inside a hole too narrow for it stands on that ledge.
    """
    plan = state.plan
    if state.string.landed_on is None:
        return plan.casing.target_shoe_depth_m
    wide = itertools.takewhile(lambda part: part.diameter_m > plan.casing.outer_diameter_m, plan.hole.sections)
    deepest_m = max((part.bottom_m for part in wide), default=0.0)
    return min(lengths.shoe_depth_m(plan, state.string), deepest_m)


def bare_annulus(state: State) -> Profile:
    """Hole less casing, as it will be once the tremie is out."""
    return _annulus(state.plan.hole, state.plan.casing.outer_diameter_m, shoe_m(state), None, None)


def annulus(state: State) -> Profile:
    """Hole less casing and, while it hangs there, the tremie. Falls back to no tremie where it would not fit."""
    plan, tip_m = state.plan, state.grout.tremie_tip_m
    tremie_m = plan.tremie.outer_diameter_m if plan.tremie is not None else None
    if tip_m is not None:
        try:
            tip_m = min(tip_m, plan.hole.bottom_m)
            return _annulus(plan.hole, plan.casing.outer_diameter_m, shoe_m(state), tremie_m, tip_m)
        except ValueError:
            pass
    return bare_annulus(state)
