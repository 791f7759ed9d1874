"""The casing as planned: how many joints it takes, what the hoist must carry, what collapse it must stand."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate

from tally.engineering import collapse, hook_load, pipe
from tally.engineering.collapse import Rating
from tally.engineering.hook_load import FluidLayer, ShoeState
from tally.job import lengths, loads
from tally.job.plan import Plan, Stage
from tally.job.view.quantity import Kind, Quantity

_pressure = hook_load.column_pressure_pa

A53B_YIELD_PA = 35_000 * collapse.PSI_PA
"""ASTM A53 grade B, the softest casing in common use: taken where the plan gives no collapse rating for steel."""
SETTING_C = 49.0
"""Plastic casing while cement sets beside it (120 °F), common practice; a thick annulus can be hotter still."""


@dataclass(frozen=True, slots=True)
class StringPlan:
    outer_diameter: Quantity
    bore: Quantity
    line_mass: Quantity
    connection: str
    shoe_end: str
    needed: Quantity
    """Length that puts the shoe at its depth with the planned stick-up."""
    on_rack: int
    rack: Quantity
    """Length of a string of every joint on the rack, connections and shoe counted."""
    joints_needed: int | None
    """In rack order; None where the rack is too short."""
    cut_off: Quantity
    shoe: Quantity
    stick_up: Quantity


@dataclass(frozen=True, slots=True)
class LoadPlan:
    """Hook loads, hook and elevator included where the readings include them."""

    air: Quantity
    at_target: Quantity
    """At the planned depth in the hole's water; an end that lets no water in hangs empty."""
    largest: Quantity
    largest_at_joint: int
    filled: Quantity
    """At the planned depth with the inside standing as high as the water outside."""
    float_failed: Quantity
    """The end gives way, the casing fills, and the load comes on moving; unknown for an open end."""
    limit_name: str
    limit: Quantity
    past_limit_at_joint: int | None
    share: Quantity
    """Largest load over the limit."""


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
class CollapsePlan:
    rating: Quantity
    formula: str
    setting_rating: Quantity
    setting_formula: str
    factor: float
    rows: tuple[CollapseRow, ...]


@dataclass(frozen=True, slots=True)
class StageLoad:
    """The hook with the stage's grout standing at its top: negative loads lift."""

    empty: Quantity
    """Unknown for an open end, which cannot be empty."""
    full: Quantity
    """Inside full of water to ground level; for an open end, level with balance."""
    sealed: bool
    """The end stands in an earlier stage that has set: no pressure reaches it."""
    hold_down: Quantity
    """What must hold the casing down in the worse of these; a hoist cannot."""
    cure: Quantity
    """Depth to inside water at which a closed end would not lift; unknown where nothing lifts or no water is enough."""
    pump_limit: Quantity
    """Pump pressure at which a bridged annulus lifts the casing full of grout; unknown unless pumped through it."""
    inflow: Quantity
    """How much more presses outside an open end than inside: above zero, grout comes up the casing."""


def string_plan(plan: Plan) -> StringPlan:
    casing = plan.casing
    needed_m = casing.target_shoe_depth_m + casing.stick_up_m
    reached_m = _lengths_m(plan)
    count = next((number for number, made_m in enumerate(reached_m, 1) if made_m >= needed_m - 1e-9), None)
    made_m = reached_m[count - 1] if count else reached_m[-1]
    return StringPlan(
        outer_diameter=Quantity(casing.outer_diameter_m, Kind.DIAMETER),
        bore=Quantity(casing.bore_m, Kind.DIAMETER),
        line_mass=Quantity(casing.mass_kg_m, Kind.LINE_MASS),
        connection=casing.connection,
        shoe_end={"open": "open end", "float": "float shoe", "closed": "closed end"}[casing.shoe],
        needed=Quantity(needed_m, Kind.LENGTH),
        on_rack=len(casing.rack_m),
        rack=Quantity(reached_m[-1], Kind.LENGTH),
        joints_needed=count,
        cut_off=Quantity(made_m - needed_m if count else None, Kind.LENGTH),
        shoe=Quantity(casing.target_shoe_depth_m, Kind.DEPTH),
        stick_up=Quantity(casing.stick_up_m, Kind.LENGTH),
    )


def _lengths_m(plan: Plan) -> list[float]:
    """Length of the string after each joint of the rack, in its order [m]."""
    casing = plan.casing
    alone_m = lengths.length_of_m(plan, casing.rack_m[:1])
    gain_m = casing.weld_gap_m - casing.make_up_loss_m
    return list(accumulate((joint_m + gain_m for joint_m in casing.rack_m[1:]), initial=alone_m))


def load_plan(plan: Plan) -> LoadPlan:
    casing, limits = plan.casing, plan.limits
    target_m, full_m = casing.target_shoe_depth_m, casing.target_shoe_depth_m + casing.stick_up_m
    reached_m = [made_m for made_m in _lengths_m(plan) if made_m < full_m] + [full_m]
    run_n = [
        _hanging_n(plan, made_m, min(made_m - casing.stick_up_m, target_m), casing.shoe_state) for made_m in reached_m
    ]
    name, limit_n = limits.lowest
    forecast = hook_load.forecast(loads_n=run_n, limit_n=limit_n)
    filled_n = _hanging_n(plan, full_m, target_m, ShoeState.OPEN)
    closed = casing.shoe_state is not ShoeState.OPEN
    return LoadPlan(
        air=Quantity(loads.weight_air_n(plan, full_m) + limits.hook_n, Kind.LOAD),
        at_target=Quantity(run_n[-1], Kind.LOAD),
        largest=Quantity(forecast.largest_n, Kind.LOAD),
        largest_at_joint=forecast.largest_at + 1,
        filled=Quantity(filled_n, Kind.LOAD),
        float_failed=Quantity(filled_n * limits.dynamic_factor if closed else None, Kind.LOAD),
        limit_name=name,
        limit=Quantity(limit_n, Kind.LOAD),
        past_limit_at_joint=None if forecast.first_past_limit is None else forecast.first_past_limit + 1,
        share=Quantity(forecast.largest_n / limit_n, Kind.SHARE),
    )


def _hanging_n(plan: Plan, length_m: float, shoe_m: float, shoe: ShoeState) -> float:
    """Hook load in the hole's own water, dry inside where the end keeps it out [N]."""
    depth_m = max(shoe_m, 0.0)
    outside = loads.water(plan.hole.water_level_m, depth_m)
    return loads.load_n(plan, length_m=length_m, shoe_m=depth_m, outside=outside, inside=(), shoe=shoe)


def outside_layers(plan: Plan, stage: Stage) -> tuple[FluidLayer, ...]:
    """Annulus with the stage's grout at its top: the water it pushed up stands on it, to surface unless the ground
    drinks."""
    level_m = plan.hole.water_level_m if plan.hole.drinks_water else 0.0
    grout = FluidLayer(stage.top_m, stage.bottom_m, plan.mix(stage.mix).density_kg_m3)
    below = loads.water(stage.bottom_m, plan.hole.bottom_m)
    return (*loads.water(level_m, stage.top_m), grout, *below)


def sealed(plan: Plan, number: int) -> bool:
    """True where an earlier stage, set by then, holds the casing's end."""
    shoe_m = plan.casing.target_shoe_depth_m
    return any(earlier.top_m < shoe_m <= earlier.bottom_m + 1e-6 for earlier in plan.stages[:number])


def stage_load(plan: Plan, number: int) -> StageLoad:
    stage, casing = plan.stages[number], plan.casing
    shoe_m = casing.target_shoe_depth_m
    is_sealed = sealed(plan, number)
    outside = outside_layers(plan, stage)
    shoe = ShoeState.SEALED if is_sealed else casing.shoe_state

    def load_n(inside: tuple[FluidLayer, ...]) -> float:
        length_m, state = shoe_m + casing.stick_up_m, shoe
        if shoe is ShoeState.FLOAT and _pressure(inside, shoe_m) > _pressure(outside, shoe_m):
            state = ShoeState.OPEN  # a float lets out what stands above balance
        return loads.load_n(plan, length_m=length_m, shoe_m=shoe_m, outside=outside, inside=inside, shoe=state)

    empty_n = None if casing.shoe_state is ShoeState.OPEN else load_n(())
    full_n = load_n(loads.water(0.0, shoe_m))
    # the hook's own weight holds nothing down
    worst_n = min(load for load in (empty_n, full_n) if load is not None) - plan.limits.hook_n
    return StageLoad(
        empty=Quantity(empty_n, Kind.LOAD),
        full=Quantity(full_n, Kind.LOAD),
        sealed=is_sealed,
        hold_down=Quantity(hook_load.hold_down_n(worst_n), Kind.LOAD),
        cure=Quantity(_cure_m(plan, outside) if shoe is ShoeState.CLOSED and worst_n < 0 else None, Kind.DEPTH),
        pump_limit=Quantity(_pump_limit_pa(plan, stage, is_sealed), Kind.PRESSURE),
        inflow=Quantity(_inflow_pa(plan, outside) if shoe is ShoeState.OPEN else None, Kind.PRESSURE),
    )


def _cure_m(plan: Plan, outside: tuple[FluidLayer, ...]) -> float | None:
    casing, shoe_m = plan.casing, plan.casing.target_shoe_depth_m
    return hook_load.inside_level_for_load_m(
        weight_air_n=loads.weight_air_n(plan, shoe_m + casing.stick_up_m),
        pressure_outside_pa=_pressure(outside, shoe_m),
        bore_area_m2=pipe.circle_area_m2(casing.bore_m),
        outer_area_m2=pipe.circle_area_m2(casing.outer_diameter_m),
        shoe_depth_m=shoe_m,
        inside_kg_m3=loads.WATER_KG_M3,
    )


def _pump_limit_pa(plan: Plan, stage: Stage, is_sealed: bool) -> float | None:
    if stage.method != "through casing" or is_sealed:
        return None
    casing, shoe_m = plan.casing, plan.casing.target_shoe_depth_m
    grout = (FluidLayer(0.0, shoe_m, plan.mix(stage.mix).density_kg_m3),)
    return hook_load.pump_pressure_limit_pa(
        weight_air_n=loads.weight_air_n(plan, shoe_m + casing.stick_up_m),
        pressure_inside_pa=_pressure(grout, shoe_m),
        bore_area_m2=pipe.circle_area_m2(casing.bore_m),
        outer_area_m2=pipe.circle_area_m2(casing.outer_diameter_m),
    )


def _inflow_pa(plan: Plan, outside: tuple[FluidLayer, ...]) -> float:
    """Outside over inside at the shoe, with the inside still at the hole's water level."""
    shoe_m = plan.casing.target_shoe_depth_m
    inside = loads.water(plan.hole.water_level_m, shoe_m)
    return _pressure(outside, shoe_m) - _pressure(inside, shoe_m)


def ratings(plan: Plan) -> tuple[Rating, Rating]:
    """Collapse pressure cold, and while cement sets beside it: the same for steel, less for plastic."""
    casing, given_pa = plan.casing, plan.limits.collapse_pa
    wall_m = (casing.outer_diameter_m - casing.bore_m) / 2.0
    warm = collapse.pvc_modulus_factor(SETTING_C)
    if given_pa is not None:
        cold = Rating(given_pa, "as given in the plan")
        derated = Rating(given_pa * warm, f"as given, modulus x {warm:.2f} at {SETTING_C:.0f} °C")
        return cold, cold if casing.material == "steel" else derated
    if casing.material == "steel":
        api = collapse.api_collapse(outer_diameter_m=casing.outer_diameter_m, wall_m=wall_m, yield_pa=A53B_YIELD_PA)
        steel = Rating(api.pressure_pa, f"{api.formula}, yield taken as 241 MPa (35 000 psi)")
        return steel, steel
    minimum_m = wall_m / pipe.AVERAGE_WALL_RATIO
    outer_m = casing.outer_diameter_m
    plastic = collapse.plastic_collapse(outer_diameter_m=outer_m, minimum_wall_m=minimum_m)
    setting = collapse.plastic_collapse(outer_diameter_m=outer_m, minimum_wall_m=minimum_m, temperature_c=SETTING_C)
    return plastic, Rating(setting.pressure_pa, f"{setting.formula} at {SETTING_C:.0f} °C")


def collapse_plan(plan: Plan) -> CollapsePlan:
    cold, warm = ratings(plan)
    shoe_m, level_m = plan.casing.target_shoe_depth_m, plan.hole.water_level_m
    closed = plan.casing.shoe_state is not ShoeState.OPEN
    rows: list[CollapseRow] = []
    if closed:
        rows.append(_row("running in", "empty", loads.water(level_m, shoe_m), (), shoe_m, cold))
    for stage in plan.stages:
        outside, bottom_m = outside_layers(plan, stage), min(stage.bottom_m, shoe_m)
        if closed:
            rows.append(_row(stage.name, "empty", outside, (), bottom_m, warm))
        level = loads.water(level_m, bottom_m)
        rows.append(_row(stage.name, "water to its level", outside, level, bottom_m, warm))
        rows.append(_row(stage.name, "full of water", outside, loads.water(0.0, bottom_m), bottom_m, warm))
    return CollapsePlan(
        rating=Quantity(cold.pressure_pa, Kind.PRESSURE),
        formula=cold.formula,
        setting_rating=Quantity(warm.pressure_pa, Kind.PRESSURE),
        setting_formula=warm.formula,
        factor=plan.limits.collapse_factor,
        rows=tuple(rows),
    )


def _row(
    when: str,
    inside_words: str,
    outside: tuple[FluidLayer, ...],
    inside: tuple[FluidLayer, ...],
    bottom_m: float,
    rating: Rating,
) -> CollapseRow:
    worst = collapse.largest_differential(outside=outside, inside=inside, bottom_m=bottom_m)
    presses = worst.pressure_pa > 1.0
    return CollapseRow(
        when=when,
        inside=inside_words,
        differential=Quantity(max(worst.pressure_pa, 0.0), Kind.PRESSURE),
        depth=Quantity(worst.depth_m if presses else None, Kind.DEPTH),
        rating=Quantity(rating.pressure_pa, Kind.PRESSURE),
        ratio=rating.pressure_pa / worst.pressure_pa if presses else None,
    )
