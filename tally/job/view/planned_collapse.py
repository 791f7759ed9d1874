"""Collapse as planned: the rating and its formula, and what presses at each step and, at the worst one, each depth."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tally.engineering import collapse
from tally.engineering.collapse import Rating
from tally.engineering.hook_load import FluidLayer, ShoeState
from tally.job import loads
from tally.job.grouted import outside_layers, planned_n, pressure_pa
from tally.job.plan import Plan
from tally.job.strength import ratings
from tally.job.view.planned_load import steps_m
from tally.job.view.quantity import Kind, Quantity

SLICES = 6
"""Depths at which the worst moment is shown."""
SAME_M = 0.01
"""Depths nearer to each other are one row: they would read alike."""


@dataclass(frozen=True, slots=True)
class CollapseRow:
    when: str
    inside: str
    """What stands inside: "empty", "water to its level" or "full of water"."""
    differential: Quantity
    depth: Quantity
    rating: Quantity
    ratio: float | None
    """Rating over differential; None where nothing presses from outside."""


@dataclass(frozen=True, slots=True)
class DepthRow:
    depth: Quantity
    outside: Quantity
    inside: Quantity
    differential: Quantity
    """Below zero, more presses from inside."""


@dataclass(frozen=True, slots=True)
class RiseStep:
    """A stage with its grout on the way up: hook and collapse together, the inside at its worst."""

    stage: str
    top: Quantity
    empty: Quantity
    full: Quantity
    hold_down: Quantity
    differential: Quantity
    depth: Quantity
    ratio: float | None


@dataclass(frozen=True, slots=True)
class CollapsePlan:
    rating: Quantity
    formula: str
    setting_rating: Quantity
    setting_formula: str
    factor: float
    rows: tuple[CollapseRow, ...]
    worst: CollapseRow
    """The least margin of all."""
    worst_by_depth: tuple[DepthRow, ...]
    steps: tuple[RiseStep, ...]


@dataclass(frozen=True, slots=True)
class _Moment:
    when: str
    inside_words: str
    outside: tuple[FluidLayer, ...]
    inside: tuple[FluidLayer, ...]
    bottom_m: float
    rating: Rating


def collapse_plan(plan: Plan) -> CollapsePlan:
    cold, warm = ratings(plan)
    moments = list(_moments(plan, cold, warm))
    rows = [_row(moment) for moment in moments]
    place = min(range(len(rows)), key=lambda each: rows[each].ratio or float("inf"))
    return CollapsePlan(
        rating=Quantity(cold.pressure_pa, Kind.PRESSURE),
        formula=cold.formula,
        setting_rating=Quantity(warm.pressure_pa, Kind.PRESSURE),
        setting_formula=warm.formula,
        factor=plan.limits.collapse_factor,
        rows=tuple(rows),
        worst=rows[place],
        worst_by_depth=_by_depth(moments[place]),
        steps=tuple(_steps(plan, warm)),
    )


def _moments(plan: Plan, cold: Rating, warm: Rating) -> Iterator[_Moment]:
    shoe_m, level_m = plan.casing.target_shoe_depth_m, plan.hole.water_level_m
    closed = plan.casing.shoe_state is not ShoeState.OPEN
    if closed:
        yield _Moment("running in", "empty", loads.water(level_m, shoe_m), (), shoe_m, cold)
    for stage in plan.stages:
        outside, bottom_m = outside_layers(plan, stage), min(stage.bottom_m, shoe_m)
        if closed:
            yield _Moment(stage.name, "empty", outside, (), bottom_m, warm)
        level = loads.water(level_m, bottom_m)
        yield _Moment(stage.name, "water to its level", outside, level, bottom_m, warm)
        yield _Moment(stage.name, "full of water", outside, loads.water(0.0, bottom_m), bottom_m, warm)


def _worst(moment: _Moment) -> tuple[Quantity, Quantity, float | None]:
    """Largest differential, its depth, and the rating over it."""
    worst = collapse.largest_differential(outside=moment.outside, inside=moment.inside, bottom_m=moment.bottom_m)
    presses = worst.pressure_pa > 1.0
    return (
        Quantity(max(worst.pressure_pa, 0.0), Kind.PRESSURE),
        Quantity(worst.depth_m if presses else None, Kind.DEPTH),
        moment.rating.pressure_pa / worst.pressure_pa if presses else None,
    )


def _row(moment: _Moment) -> CollapseRow:
    differential, depth, ratio = _worst(moment)
    rating = Quantity(moment.rating.pressure_pa, Kind.PRESSURE)
    return CollapseRow(moment.when, moment.inside_words, differential, depth, rating, ratio)


def _by_depth(moment: _Moment) -> tuple[DepthRow, ...]:
    """From ground level down, with the depth of the largest among them, in place of an even one that reads the same."""
    worst_m = _worst(moment)[1].si
    depths_m = [moment.bottom_m * place / SLICES for place in range(SLICES + 1)]
    if worst_m is not None:
        depths_m = sorted([worst_m, *(each for each in depths_m if abs(each - worst_m) > SAME_M)])
    found: list[DepthRow] = []
    for depth_m in depths_m:
        out_pa, in_pa = pressure_pa(moment.outside, depth_m), pressure_pa(moment.inside, depth_m)
        pressures = (Quantity(value, Kind.PRESSURE) for value in (out_pa, in_pa, out_pa - in_pa))
        found.append(DepthRow(Quantity(depth_m, Kind.DEPTH), *pressures))
    return tuple(found)


def _steps(plan: Plan, warm: Rating) -> Iterator[RiseStep]:
    shoe_m, is_open = plan.casing.target_shoe_depth_m, plan.casing.shoe_state is ShoeState.OPEN
    for number, stage in enumerate(plan.stages):
        for top_m in steps_m(stage):
            outside, bottom_m = outside_layers(plan, stage, top_m), min(stage.bottom_m, shoe_m)
            empty_n = None if is_open else planned_n(plan, number, outside, ())
            full_n = planned_n(plan, number, outside, loads.water(0.0, shoe_m))
            worst_n = min(load for load in (empty_n, full_n) if load is not None) - plan.limits.hook_n
            inside = loads.water(plan.hole.water_level_m, bottom_m) if is_open else ()
            differential, depth, ratio = _worst(_Moment(stage.name, "", outside, inside, bottom_m, warm))
            yield RiseStep(
                stage=stage.name,
                top=Quantity(top_m, Kind.DEPTH),
                empty=Quantity(empty_n, Kind.LOAD),
                full=Quantity(full_n, Kind.LOAD),
                hold_down=Quantity(max(-worst_n, 0.0), Kind.LOAD),
                differential=differential,
                depth=depth,
                ratio=ratio,
            )
