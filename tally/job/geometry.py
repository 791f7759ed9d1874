"""The hole and its annulus as compiled profiles: made once for each hole, casing and tremie position."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise, takewhile

from tally.engineering.hole import PipeSpan, Profile, Segment, Walls
from tally.job import lengths
from tally.job.hole import Hole
from tally.job.plan import Plan
from tally.job.state import State

KEPT = 24
"""Profiles of a hole logged at ten thousand depths take most of a megabyte each."""


@dataclass(frozen=True, slots=True, eq=False)
class _This:
    """One hole as a key by what it is, not by what it holds: a logged hole has too many points to compare each time.

    The cache holds the key and the key holds the hole, so that no other can take its place in memory meanwhile.
    """

    hole: Hole

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _This) and other.hole is self.hole

    def __hash__(self) -> int:
        return id(self.hole)


def _by_bit(hole: Hole, top_m: float, bottom_m: float) -> Iterator[Segment]:
    if top_m < bottom_m:
        for part in hole.sections:
            upper_m, lower_m = max(part.top_m, top_m), min(part.bottom_m, bottom_m)
            if upper_m < lower_m:
                yield Segment(upper_m, lower_m, part.diameter_m, part.diameter_m)


def _stretches(hole: Hole) -> Iterator[Segment]:
    """The hole from ground level down: straight between readings of its log, by bit size where there are none."""
    reached_m = 0.0
    for above, below in pairwise(hole.log):
        if hole.log_gap_m is not None and below.depth_m - above.depth_m > hole.log_gap_m:
            continue
        yield from _by_bit(hole, reached_m, above.depth_m)
        yield Segment(above.depth_m, below.depth_m, above.diameter_m, below.diameter_m)
        reached_m = below.depth_m
    yield from _by_bit(hole, reached_m, hole.bottom_m)


@lru_cache(maxsize=KEPT)
def _walls(this: _This) -> Walls | str:
    """The hole's walls, once for a plan: what hangs in them comes and goes."""
    try:
        return Walls(list(_stretches(this.hole)))
    except ValueError as fault:
        return str(fault)


@lru_cache(maxsize=KEPT)
def _compiled(this: _This, pipes: tuple[PipeSpan, ...]) -> Profile | str:
    """The profile, or why there is none: a hole that is too narrow is found so once, not at every look."""
    walls = _walls(this)
    if isinstance(walls, str):
        return walls
    try:
        return walls.less(pipes)
    except ValueError as fault:
        return str(fault)


def _annulus(
    hole: Hole, outer_diameter_m: float, shoe_m: float, tremie_m: float | None = None, tip_m: float | None = None
) -> Profile:
    pipes = [PipeSpan(0.0, shoe_m, outer_diameter_m)] if shoe_m > 0 else []
    if tremie_m is not None and tip_m:
        pipes.append(PipeSpan(0.0, tip_m, tremie_m))
    found = _compiled(_This(hole), tuple(pipes))
    if isinstance(found, str):
        raise ValueError(found)
    return found


def open_hole(hole: Hole) -> Profile:
    """The hole with nothing in it: as logged, by bit size where it was not."""
    return _annulus(hole, 0.0, 0.0)


def planned_annulus(plan: Plan) -> Profile:
    """Hole less casing at its planned depth, without a tremie."""
    return _annulus(plan.hole, plan.casing.outer_diameter_m, plan.casing.target_shoe_depth_m)


def shoe_m(state: State) -> float:
    """Depth to which casing fills the hole for volumes [m]: as run once it is landed, else as planned.

    A shoe that by the tape stands a little inside a hole too narrow for it stands on that ledge.
    """
    plan = state.plan
    if state.string.landed_on is None:
        return plan.casing.target_shoe_depth_m
    return min(lengths.shoe_depth_m(plan, state.string), _free_m(_This(plan.hole), plan.casing.outer_diameter_m))


@lru_cache(maxsize=KEPT)
def _free_m(this: _This, outer_diameter_m: float) -> float:
    """Depth down to which the hole is wider than a pipe [m]."""
    walls = open_hole(this.hole).segments
    free = takewhile(lambda part: min(part.top_diameter_m, part.bottom_diameter_m) > outer_diameter_m, walls)
    return max((part.bottom_m for part in free), default=0.0)


def bare_annulus(state: State) -> Profile:
    """Hole less casing, as it will be once the tremie is out."""
    return _annulus(state.plan.hole, state.plan.casing.outer_diameter_m, shoe_m(state))


def annulus(state: State) -> Profile:
    """Hole less casing and, while it hangs there, the tremie. Falls back to no tremie where it would not fit."""
    plan, tip_m = state.plan, state.grout.tremie_tip_m
    tremie_m = plan.tremie.outer_diameter_m if plan.tremie is not None else None
    if tip_m is None:
        return bare_annulus(state)
    try:
        return _annulus(
            plan.hole, plan.casing.outer_diameter_m, shoe_m(state), tremie_m, min(tip_m, plan.hole.bottom_m)
        )
    except ValueError:
        return bare_annulus(state)
