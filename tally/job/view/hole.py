"""The hole as it is drawn: everything that has a depth, nothing that has a colour."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from tally.engineering.hole import Profile
from tally.job import fill as filling
from tally.job import geometry, lengths, loads, zones
from tally.job.state import State


@dataclass(frozen=True, slots=True)
class SectionMark:
    top_m: float
    bottom_m: float
    diameter_m: float
    cased: bool


@dataclass(frozen=True, slots=True)
class GroutMark:
    """Grout beside the casing, in place or probably in place."""

    bottom_m: float
    lowest_m: float
    likely_m: float
    highest_m: float
    under_way: bool


@dataclass(frozen=True, slots=True)
class ZoneMark:
    top_m: float
    bottom_m: float
    kind: str


@dataclass(frozen=True, slots=True)
class HoleView:
    bottom_m: float
    sections: tuple[SectionMark, ...]
    water_m: float
    rock_m: float | None
    casing_m: float
    """Outside diameter of the casing."""
    shoe_m: float
    target_m: float
    stick_up_m: float
    centralizers_m: tuple[float, ...]
    tremie_tip_m: float | None
    grout: tuple[GroutMark, ...]
    walls: Profile | None = field(default=None, compare=False, repr=False)
    """The hole as logged; None where it is by its sections."""
    zones: tuple[ZoneMark, ...] = ()

    def width_m(self, top_m: float, bottom_m: float) -> float:
        """Width between two depths [m], as drilled, or as logged: of a round hole of the same volume."""
        if self.walls is not None:
            bottom_m = min(bottom_m, self.walls.bottom_m)
            volume_m3 = self.walls.volume_m3(top_m, bottom_m)
            return math.sqrt(4.0 * volume_m3 / (math.pi * (bottom_m - top_m)))
        middle_m = (top_m + bottom_m) / 2.0
        return next((part for part in self.sections if middle_m < part.bottom_m), self.sections[-1]).diameter_m


def hole(state: State) -> HoleView:
    plan, string = state.plan, state.string
    shoe_m = lengths.shoe_depth_m(plan, string) if string.joints else 0.0
    return HoleView(
        bottom_m=plan.hole.bottom_m,
        sections=tuple(
            SectionMark(part.top_m, part.bottom_m, part.diameter_m, part.cased) for part in plan.hole.sections
        ),
        water_m=loads.hole_fluid_m(plan, string),
        rock_m=plan.hole.rock_m,
        casing_m=plan.casing.outer_diameter_m,
        shoe_m=shoe_m,
        target_m=plan.casing.target_shoe_depth_m,
        stick_up_m=lengths.stick_up_m(plan, string),
        centralizers_m=tuple(shoe_m - above_m for above_m in string.centralizers_above_shoe_m),
        tremie_tip_m=state.grout.tremie_tip_m,
        grout=_grout(state),
        walls=geometry.open_hole(plan.hole) if plan.hole.log else None,
        zones=tuple(ZoneMark(zone.top_m, zone.bottom_m, zone.kind) for zone in zones.known(state)),
    )


def _grout(state: State) -> tuple[GroutMark, ...]:
    marks: list[GroutMark] = []
    stages = state.grout.stages
    for place, stage in enumerate(stages):
        if not stage.open and place + 1 < len(stages):
            # What came after began where this one was found or planned to end.
            top_m = stages[place + 1].bottom_m
            marks.append(GroutMark(stage.bottom_m, top_m, top_m, top_m, under_way=False))
            continue
        tagged = stage.ended_s is not None and stage.tags and stage.tags[-1].elapsed_s >= stage.ended_s
        if tagged:
            top_m = stage.tags[-1].depth_m
            marks.append(GroutMark(stage.bottom_m, top_m, top_m, top_m, under_way=False))
            continue
        if stage.outcome == "good grout at surface":
            marks.append(GroutMark(stage.bottom_m, 0.0, 0.0, 0.0, under_way=False))
            continue
        top = filling.fill(state, stage).top
        marks.append(GroutMark(stage.bottom_m, top.low_m, top.likely_m, top.high_m, under_way=stage.open))
    return tuple(marks)
