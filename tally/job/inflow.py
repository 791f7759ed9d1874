"""Grout that comes up inside an open casing: what presses outside its end, and what inside."""

from __future__ import annotations

from dataclasses import dataclass

from tally.engineering import hook_load
from tally.engineering.hook_load import FluidLayer, ShoeState
from tally.job import fill as filling
from tally.job import geometry, grouting, loads
from tally.job.fill import Fill
from tally.job.grouted import water_m
from tally.job.state import Stage, State

WORTH_A_LOOK_M = 3.0
"""Less grout than this inside is drilled out with the shoe, and two levels and a likely top are no better known: common
practice."""


@dataclass(frozen=True, slots=True)
class Inflow:
    """At the end of an open casing beside which grout stands."""

    difference_pa: float
    """Outside less inside; above zero grout comes up."""
    inside_m: float
    """Depth to the water inside: as read last, else as high as outside, since the end lets water through."""
    rise_m: float
    """Grout that would come to stand inside, pushing up the water there; the outside is taken as kept full."""
    balance_m: float
    """Depth to inside water that would hold it; negative above ground, where the casing must be capped and filled."""


def inflow(state: State, stage: Stage, fill: Fill) -> Inflow | None:
    """None where no grout stands beside the end, or nothing can come up: a float, a closed or a set end."""
    plan, string = state.plan, state.string
    planned = filling.planned_stage(plan, stage)
    first = stage is state.grout.stages[0]
    if plan.casing.shoe_state is not ShoeState.OPEN or planned.method == "through casing" or not first:
        return None
    shoe_m, top_m = geometry.shoe_m(state), fill.top.likely_m
    if top_m >= shoe_m:
        return None
    level_m = water_m(state, fill)
    outside = (*loads.water(level_m, top_m), FluidLayer(top_m, stage.bottom_m, _density_kg_m3(state, stage)))
    outside_pa = hook_load.column_pressure_pa(outside, shoe_m)
    inside_m = level_m if string.inside_fluid_m is None else string.inside_fluid_m
    inside_pa = hook_load.column_pressure_pa(loads.water(inside_m, shoe_m), shoe_m)
    grout_kg_m3 = _density_kg_m3(state, stage)
    rise_m = max(outside_pa - inside_pa, 0.0) / (grout_kg_m3 * loads.G_M_S2)
    balance_m = shoe_m - outside_pa / (loads.WATER_KG_M3 * loads.G_M_S2)
    return Inflow(outside_pa - inside_pa, inside_m, rise_m, balance_m)


def _density_kg_m3(state: State, stage: Stage) -> float:
    return grouting.stage_mix(state.plan, stage.index).density_kg_m3
