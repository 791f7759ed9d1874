"""Where the grout of a stage probably is, what it still needs, when returns are due: the handbook put to a stage."""

from __future__ import annotations

from dataclasses import dataclass

from tally.engineering import pipe, placement
from tally.engineering.hook_load import ShoeState
from tally.engineering.placement import Factor, TopRange
from tally.job import geometry, grouting, loads
from tally.job.plan import Plan
from tally.job.plan import Stage as PlannedStage
from tally.job.state import Stage, State

NO_METER_TOLERANCE = 0.05
"""Spread of a typed volume: common practice for batches measured by the mixer's marks."""


@dataclass(frozen=True, slots=True)
class Due:
    """When returns are due, as volume pumped since the stage began [m3]."""

    low_m3: float
    high_m3: float
    fluid: str
    """What should come first: "water" or "grout"."""


@dataclass(frozen=True, slots=True)
class Fill:
    """One stage, worked out at one moment. Volumes in m3, depths in m."""

    theory_m3: float
    """Annulus between the stage's bottom and top, at the planned hole size."""
    planned_m3: float
    """Theory with its allowance, and what stays in the line."""
    planned_high_m3: float
    line_m3: float
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


def planned_stage(plan: Plan, stage: Stage) -> PlannedStage:
    """The plan's stage that `stage` carries out; past the plan's end, its last one."""
    return plan.stages[min(stage.index, len(plan.stages) - 1)]


def meter_tolerance(plan: Plan) -> float:
    """Half-width of the central 80 % range of the pumped volume [1]."""
    return NO_METER_TOLERANCE if plan.meter is None else plan.meter.tolerance_share


def fill(state: State, stage: Stage) -> Fill:
    """`stage` as it stands in `state`."""
    plan = state.plan
    planned, profile = planned_stage(plan, stage), geometry.annulus(state)
    factor = Factor(1.0 + planned.allowance_share, planned.spread_share)
    tolerance = meter_tolerance(plan)
    bottom_m, top_m = min(stage.bottom_m, profile.bottom_m), stage.top_m
    theory_m3 = profile.volume_m3(top_m, bottom_m)
    pumped_m3 = grouting.pumped_m3(stage, state.flow)
    line_m3 = plan.line.volume_m3
    starts = plan.line.starts
    out_m3 = placement.out_of_tremie_m3(pumped_m3=pumped_m3, line_m3=line_m3, line_starts=starts)
    into_m3 = placement.into_annulus_m3(pumped_m3=pumped_m3, line_m3=line_m3, line_starts=starts)
    combined = placement.combined(factor, tolerance)
    top = _top(state, stage, out_m3, factor, tolerance)
    wanted = [combined.low * theory_m3, factor.median * theory_m3, combined.high * theory_m3]
    low, likely, high = (max(volume + line_m3 - pumped_m3, 0.0) for volume in wanted)
    return Fill(
        theory_m3=theory_m3,
        planned_m3=factor.median * theory_m3 + line_m3,
        planned_high_m3=combined.high * theory_m3 + line_m3,
        line_m3=line_m3,
        pumped_m3=pumped_m3,
        out_m3=out_m3,
        into_annulus_m3=into_m3,
        top=top,
        needed_low_m3=low,
        needed_m3=likely,
        needed_high_m3=high,
        due=due(state, stage, factor, tolerance),
        factor=factor,
    )


def _top(state: State, stage: Stage, out_m3: float, factor: Factor, tolerance: float) -> TopRange:
    profile = geometry.annulus(state)
    bottom_m = min(stage.bottom_m, profile.bottom_m)
    tag = next((tag for tag in reversed(stage.tags) if tag.depth_m < bottom_m), None)
    if tag is None:
        return placement.top_range(
            profile=profile,
            bottom_m=bottom_m,
            grout_out_m3=out_m3,
            factor=factor,
            meter_tolerance=tolerance,
        )
    line = state.plan.line
    return placement.top_range_after_tag(
        profile=profile,
        bottom_m=bottom_m,
        tag_depth_m=tag.depth_m,
        out_at_tag_m3=placement.out_of_tremie_m3(
            pumped_m3=tag.pumped_m3, line_m3=line.volume_m3, line_starts=line.starts
        ),
        grout_out_m3=out_m3,
        prior=factor,
        meter_tolerance=tolerance,
        project=not tag.lost,
    )


def drinks(state: State) -> bool | None:
    """Whether the ground takes the displaced water: by key if pressed, else as planned; None where nobody knows."""
    pressed = state.grout.drinks_water
    return state.plan.hole.drinks_water if pressed is None else pressed


def due(state: State, stage: Stage, factor: Factor, tolerance: float) -> Due:
    """The window in which returns are due."""
    plan, profile = state.plan, geometry.annulus(state)
    takes = drinks(state)
    level_m = min(loads.hole_fluid_m(plan, state.string), stage.bottom_m)
    line_m3 = plan.line.volume_m3
    # Water ahead of the grout reaches surface first, unless the line starts empty and only delays it.
    delay_m3 = 0.0 if plan.line.starts == "water" else line_m3
    full_m3 = profile.volume_m3(profile.top_m, min(stage.bottom_m, profile.bottom_m))
    spread = placement.combined(factor, tolerance)
    if takes:
        return Due(spread.low * full_m3 + line_m3, spread.high * full_m3 + line_m3, "grout")
    window = placement.returns_window(
        profile=profile,
        fluid_level_m=level_m,
        factor=factor,
        meter_tolerance=tolerance,
        bore_area_m2=_open_bore_m2(state, stage),
        ground_drinks=takes is None,
    )
    return Due(window.low_m3 + delay_m3, window.high_m3 + (line_m3 if takes is None else delay_m3), "water")


def _open_bore_m2(state: State, stage: Stage) -> float:
    """Bore that fills along with the annulus [m2]: that of a casing whose open end is not yet set in grout."""
    casing = state.plan.casing
    first = stage is state.grout.stages[0] if state.grout.stages else True
    return pipe.circle_area_m2(casing.bore_m) if casing.shoe_state is ShoeState.OPEN and first else 0.0
