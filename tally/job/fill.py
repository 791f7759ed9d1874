"""Where the grout of a stage probably is, what it still needs, when returns are due: the handbook put to a stage."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TypedDict

from tally.engineering import pipe, placement
from tally.engineering import tag as tags
from tally.engineering.hole import Profile
from tally.engineering.hook_load import ShoeState
from tally.engineering.placement import Factor, TopRange
from tally.job import geometry, grouting, line, loads, zones
from tally.job.line import meter_tolerance
from tally.job.plan import Plan
from tally.job.plan import Stage as PlannedStage
from tally.job.state import Grout, Stage, State, String

LEAST_RISE_M = 0.3
"""A tag that stands less than this above the last one measures the tape and not the hole."""


@dataclass(frozen=True, slots=True)
class Due:
    """When returns are due, as volume pumped since the stage began [m3]."""

    low_m3: float
    high_m3: float
    fluid: str
    """What should come first: "water" or "grout"."""


class Wanted(TypedDict):
    """What a stage still wants, as the handbook asks for it."""

    profile: Profile
    bottom_m: float
    top_m: float
    grout_out_m3: float
    factor: Factor
    meter_tolerance: float
    zones: tuple[placement.Zone, ...]


@dataclass(frozen=True, slots=True)
class Fill:
    """One stage, worked out at one moment. Volumes in m3, depths in m."""

    theory_m3: float
    """Annulus between the stage's bottom and top, at the planned hole size, the tremie out."""
    planned_m3: float
    """Theory with its allowance, and what stays in the line."""
    planned_high_m3: float
    line_m3: float
    displacing_m3: float
    """Of what is to be pumped: water that pushes the grout down the casing."""
    pumped_m3: float
    out_m3: float
    """Grout that has left the line's end."""
    into_annulus_m3: float
    """Grout and water put into the annulus."""
    top: TopRange
    needed_low_m3: float
    needed_m3: float
    needed_high_m3: float
    """Still to be pumped."""
    due: Due
    factor: Factor
    wanted: Wanted
    aboard_m3: float
    """What is left for the annulus of what was mixed for this stage and of what the bags aboard make."""

    @property
    def chance(self) -> float:
        """That what is aboard suffices, 0 to 1. Worked out where it is shown: no alarm asks for it."""
        return placement.chance_of_enough(**self.wanted, aboard_m3=self.aboard_m3)


def planned_stage(plan: Plan, stage: Stage) -> PlannedStage:
    """The plan's stage that `stage` carries out; past the plan's end, its last one."""
    return plan.stages[min(stage.index, len(plan.stages) - 1)]


def fill(state: State, stage: Stage) -> Fill:
    """`stage` as it stands in `state`."""
    plan = state.plan
    planned = planned_stage(plan, stage)
    entered = _as_entered.of(state, stage)
    profile, bare, known, whole = entered.profile, entered.bare, entered.known, entered.whole
    factor = Factor(1.0 + planned.allowance_share, planned.spread_share)
    tolerance = meter_tolerance(plan)
    bottom_m = min(stage.bottom_m, profile.bottom_m)
    top_m = min(stage.top_m, bottom_m)
    theory_m3 = bare.volume_m3(top_m, bottom_m)
    pumped_m3 = grouting.pumped_m3(stage, state.flow)
    line_m3, displacing_m3 = line.volume_m3(plan, planned), line.displacing_m3(plan, planned)
    out_m3 = _out_m3(state, stage, pumped_m3)
    into_m3 = placement.into_annulus_m3(
        pumped_m3=pumped_m3,
        line_m3=line_m3,
        line_starts=plan.line.starts,
        standing_water_m3=standing_water_m3(state, stage),
    )
    rise = _rise(state, stage, out_m3, factor, tolerance, entered)
    top = placement.top_range(
        profile=profile,
        bottom_m=rise.from_m,
        grout_out_m3=rise.out_m3,
        factor=rise.factor,
        meter_tolerance=0.0,
        zones=known,
    )
    # The tremie comes out in the end, and grout takes its place: what it fills now is still to be pumped, unless as
    # much stands above the stage's top already.
    tremie_m3 = bare.volume_m3(rise.from_m, bottom_m) - profile.volume_m3(rise.from_m, bottom_m)
    if rise.from_m < top_m:
        over_m3 = rise.factor.median * profile.volume_m3(rise.from_m, top_m) + rise.out_m3
        tremie_m3 = max(tremie_m3 - over_m3, 0.0)
    wanted: Wanted = {
        "profile": bare,
        "bottom_m": rise.from_m,
        "top_m": min(top_m, rise.from_m),
        "grout_out_m3": rise.out_m3,
        "factor": rise.factor,
        "meter_tolerance": 0.0,
        "zones": known,
    }
    needed = placement.still_needed_m3(**wanted)
    besides_m3 = max(line_m3 - pumped_m3, 0.0) + tremie_m3
    spare_m3 = _aboard_m3(state, stage) + displacing_m3 - pumped_m3 - besides_m3
    return Fill(
        theory_m3=theory_m3,
        planned_m3=factor.median * theory_m3 + line_m3,
        planned_high_m3=whole.high_m3 + line_m3,
        line_m3=line_m3,
        displacing_m3=displacing_m3,
        pumped_m3=pumped_m3,
        out_m3=out_m3,
        into_annulus_m3=into_m3,
        top=top,
        needed_low_m3=needed.low_m3 + besides_m3,
        needed_m3=needed.likely_m3 + besides_m3,
        needed_high_m3=needed.high_m3 + besides_m3,
        due=entered.window,
        factor=factor,
        wanted=wanted,
        aboard_m3=max(spare_m3, 0.0),
    )


@dataclass(frozen=True, slots=True)
class _Entered:
    """What of a stage follows from plan and entries alone."""

    profile: Profile
    """The annulus with the tremie in it."""
    bare: Profile
    known: tuple[placement.Zone, ...]
    whole: placement.VolumeRange
    """Of the whole stage."""
    window: Due


class _AsEntered:
    """It stands from heartbeat to heartbeat."""

    def __init__(self) -> None:
        self._last: tuple[Plan, String, Grout, Stage, _Entered] | None = None

    def of(self, state: State, stage: Stage) -> _Entered:
        last, now = self._last, (state.plan, state.string, state.grout, stage)
        if last is not None and all(old is new for old, new in zip(last, now, strict=False)):
            return last[4]
        found = _entered(state, stage)
        self._last = (*now, found)
        return found


_as_entered = _AsEntered()


def _entered(state: State, stage: Stage) -> _Entered:
    planned, profile, bare = planned_stage(state.plan, stage), geometry.annulus(state), geometry.bare_annulus(state)
    known = zones.widening(zones.known(state))
    factor, tolerance = Factor(1.0 + planned.allowance_share, planned.spread_share), meter_tolerance(state.plan)
    bottom_m = min(stage.bottom_m, profile.bottom_m)
    whole = placement.volume_range(
        profile=bare,
        bottom_m=bottom_m,
        top_m=min(stage.top_m, bottom_m),
        factor=factor,
        meter_tolerance=tolerance,
        zones=known,
    )
    window = due(state if stage.open else _as_it_hung(state, stage), stage, factor, tolerance)
    return _Entered(profile, bare, known, whole, window)


def _as_it_hung(state: State, stage: Stage) -> State:
    """`state` with the tremie where it hung when `stage` began: afterwards it is out, and the window was not that."""
    return replace(state, grout=replace(state.grout, tremie_tip_m=stage.tip_m))


def _aboard_m3(state: State, stage: Stage) -> float:
    """What was mixed for a stage, pumped or not, and what the bags aboard would still make [m3]."""
    mix = grouting.stage_mix(state.plan, stage.index)
    place = next(place for place, each in enumerate(state.grout.stages) if each is stage)
    return grouting.mixed_m3(state, place) + max(grouting.bags_left(state), 0) * mix.yield_per_bag_m3


def standing_water_m3(state: State, stage: Stage) -> float:
    """Water in a tremie that was hung empty: it stands as high as the hole's [m3]. Only the air above it delays."""
    plan = state.plan
    if plan.line.starts == "water" or plan.tremie is None or planned_stage(plan, stage).method != "tremie":
        return 0.0
    if stage.tip_m is None:
        return 0.0
    height_m = max(stage.tip_m - loads.hole_fluid_m(plan, state.string), 0.0)
    return min(pipe.circle_area_m2(plan.tremie.bore_m) * height_m, plan.line.volume_m3)


@dataclass(frozen=True, slots=True)
class _Rise:
    """From where grout rises, what came out since it stood there, and metered over theoretical volume above."""

    from_m: float
    out_m3: float
    factor: Factor


def _rise(state: State, stage: Stage, out_m3: float, factor: Factor, tolerance: float, entered: _Entered) -> _Rise:
    """From the stage's bottom, or from its last tag, which also tells of the hole below it."""
    profile = entered.profile
    bottom_m = min(stage.bottom_m, profile.bottom_m)
    if not stage.tags:
        return _Rise(bottom_m, out_m3, placement.combined(factor, tolerance))
    tag = stage.tags[-1]
    tag_m, out_at_tag_m3 = min(tag.depth_m, bottom_m), _out_m3(state, stage, tag.pumped_m3)
    # A loss into a fracture says nothing of the rock above it: what is measured begins at the last such tag.
    lost = next((old for old in reversed(stage.tags) if old.lost), None)
    base_m, base_m3 = bottom_m, 0.0
    if lost is not None:
        base_m, base_m3 = min(lost.depth_m, bottom_m), _out_m3(state, stage, lost.pumped_m3)
    tells = tag_m < base_m - LEAST_RISE_M and out_at_tag_m3 > base_m3
    above = tags.factor_above_tag(
        profile=profile,
        bottom_m=base_m,
        tag_depth_m=tag_m if tells else base_m,
        out_m3=out_at_tag_m3 - base_m3 if tells else 0.0,
        prior=factor,
        meter_tolerance=tolerance,
        zones=entered.known,
    )
    return _Rise(tag_m, max(out_m3 - out_at_tag_m3, 0.0), above)


def _out_m3(state: State, stage: Stage, pumped_m3: float) -> float:
    line_m3 = line.volume_m3(state.plan, planned_stage(state.plan, stage))
    return placement.out_of_tremie_m3(pumped_m3=pumped_m3, line_m3=line_m3, line_starts=state.plan.line.starts)


def drinks(state: State) -> bool | None:
    """Whether the ground takes the displaced water: by key if pressed, else as planned; None where nobody knows."""
    pressed = state.grout.drinks_water
    return state.plan.hole.drinks_water if pressed is None else pressed


def due(state: State, stage: Stage, factor: Factor, tolerance: float) -> Due:
    """The window in which returns are due."""
    plan, profile = state.plan, geometry.annulus(state)
    takes = drinks(state)
    bottom_m = min(stage.bottom_m, profile.bottom_m)
    level_m = min(loads.hole_fluid_m(plan, state.string), bottom_m)
    line_m3 = line.volume_m3(plan, planned_stage(plan, stage))
    # Water ahead of the grout reaches surface first, unless the line starts empty and only delays it.
    delay_m3 = 0.0 if plan.line.starts == "water" else line_m3 - standing_water_m3(state, stage)
    known = zones.widening(zones.known(state))
    # Water that stands below surface suggests ground that drinks; a hole that stands full holds its water.
    may_drink = takes is None and level_m > profile.top_m
    if takes:
        full = placement.volume_range(
            profile=profile,
            bottom_m=bottom_m,
            top_m=profile.top_m,
            factor=factor,
            meter_tolerance=tolerance,
            zones=known,
        )
        return Due(full.low_m3 + line_m3, full.high_m3 + line_m3, "grout")
    window = placement.returns_window(
        profile=profile,
        fluid_level_m=level_m,
        factor=factor,
        meter_tolerance=tolerance,
        bore_area_m2=_open_bore_m2(state, stage),
        ground_drinks=may_drink,
        bottom_m=bottom_m,
        zones=known,
    )
    return Due(window.low_m3 + delay_m3, window.high_m3 + (line_m3 if may_drink else delay_m3), "water")


def _open_bore_m2(state: State, stage: Stage) -> float:
    """Bore that fills along with the annulus [m2]: that of a casing whose open end is not yet set in grout.

    Pumped through the casing, the bore is the line and stands full already.
    """
    casing = state.plan.casing
    if planned_stage(state.plan, stage).method == "through casing":
        return 0.0
    first = stage is state.grout.stages[0] if state.grout.stages else True
    return pipe.circle_area_m2(casing.bore_m) if casing.shoe_state is ShoeState.OPEN and first else 0.0
