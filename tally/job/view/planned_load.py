"""The hook as planned: joint by joint while the casing runs, and step by step while a stage's grout comes up."""

from __future__ import annotations

from dataclasses import dataclass

from tally.engineering import hook_load, pipe
from tally.engineering.hook_load import FluidLayer, ShoeState
from tally.job import loads
from tally.job.grouted import cure, outside_layers, planned_hold_down_n, planned_n, pressure_pa, sealed
from tally.job.plan import Plan, Stage
from tally.job.view.planned_string import joints_needed, lengths_m
from tally.job.view.quantity import Kind, Quantity

STEPS = 4
"""Steps in which a stage's grout is brought up on paper."""


@dataclass(frozen=True, slots=True)
class JointLoad:
    """The string with its last joint on and lowered, before anything is cut off."""

    joint: int
    length: Quantity
    shoe: Quantity
    expected: Quantity
    """As the plan says: dry inside where the end keeps water out."""
    filled: Quantity
    """Standing inside as high as outside."""
    share: Quantity
    """The larger of the two over the lowest limit."""


@dataclass(frozen=True, slots=True)
class LimitPlan:
    name: str
    limit: Quantity
    share: Quantity
    """Largest load of the run over it."""
    passed_at_joint: int | None


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
    dynamic_factor: float
    limit_name: str
    limit: Quantity
    past_limit_at_joint: int | None
    share: Quantity
    """Largest load over the limit."""
    limits: tuple[LimitPlan, ...]
    joints: tuple[JointLoad, ...]


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
    """Depth to inside water at which the casing would not lift; unknown where nothing lifts, where no water is enough,
    or where the end would let it out."""
    cure_density: Quantity
    """Density of fluid standing inside to ground level at which it would not lift, where water is not enough."""
    pump_limit: Quantity
    """Pump pressure at which a bridged annulus lifts the casing full of grout; unknown unless pumped through it."""
    inflow: Quantity
    """How much more presses outside an open end than inside: above zero, grout comes up the casing."""
    inflow_rise: Quantity
    """Height of grout inside that would balance it."""


def load_plan(plan: Plan) -> LoadPlan:
    casing, limits = plan.casing, plan.limits
    target_m, full_m = casing.target_shoe_depth_m, casing.target_shoe_depth_m + casing.stick_up_m
    joints = joint_loads(plan)
    run_n = [joint.expected.si or 0.0 for joint in joints]
    name, limit_n = limits.lowest
    forecast = hook_load.forecast(loads_n=run_n, limit_n=limit_n)
    filled_n = _hanging_n(plan, full_m, target_m, ShoeState.OPEN)
    closed = casing.shoe_state is not ShoeState.OPEN
    return LoadPlan(
        air=Quantity(loads.weight_air_n(plan, full_m) + limits.hook_n, Kind.LOAD),
        at_target=Quantity(_hanging_n(plan, full_m, target_m, casing.shoe_state), Kind.LOAD),
        largest=Quantity(forecast.largest_n, Kind.LOAD),
        largest_at_joint=forecast.largest_at + 1,
        filled=Quantity(filled_n, Kind.LOAD),
        float_failed=Quantity(filled_n * limits.dynamic_factor if closed else None, Kind.LOAD),
        dynamic_factor=limits.dynamic_factor,
        limit_name=name,
        limit=Quantity(limit_n, Kind.LOAD),
        past_limit_at_joint=None if forecast.first_past_limit is None else forecast.first_past_limit + 1,
        share=Quantity(forecast.largest_n / limit_n, Kind.SHARE),
        limits=tuple(_limit(name, limit_n, run_n) for name, limit_n in limits.named),
        joints=joints,
    )


def _limit(name: str, limit_n: float, run_n: list[float]) -> LimitPlan:
    found = hook_load.forecast(loads_n=run_n, limit_n=limit_n)
    return LimitPlan(
        name=name,
        limit=Quantity(limit_n, Kind.LOAD),
        share=Quantity(found.largest_n / limit_n, Kind.SHARE),
        passed_at_joint=None if found.first_past_limit is None else found.first_past_limit + 1,
    )


def joint_loads(plan: Plan) -> tuple[JointLoad, ...]:
    """In rack order, as many joints as the string takes."""
    casing, limit_n, needed = plan.casing, plan.limits.lowest[1], joints_needed(plan)
    found: list[JointLoad] = []
    for number, length_m in enumerate(lengths_m(plan)[:needed], 1):
        at_depth = number == needed  # the stick-up takes what the rack is out by
        shoe_m = casing.target_shoe_depth_m if at_depth else length_m - casing.stick_up_m
        expected_n = _hanging_n(plan, length_m, shoe_m, casing.shoe_state)
        filled_n = _hanging_n(plan, length_m, shoe_m, ShoeState.OPEN)
        found.append(
            JointLoad(
                joint=number,
                length=Quantity(length_m, Kind.LENGTH),
                shoe=Quantity(shoe_m, Kind.DEPTH),
                expected=Quantity(expected_n, Kind.LOAD),
                filled=Quantity(filled_n, Kind.LOAD),
                share=Quantity(max(expected_n, filled_n) / limit_n, Kind.SHARE),
            )
        )
    return tuple(found)


def _hanging_n(plan: Plan, length_m: float, shoe_m: float, shoe: ShoeState) -> float:
    """Hook load in the hole's own water, dry inside where the end keeps it out [N]."""
    depth_m = max(shoe_m, 0.0)
    outside = loads.water(plan.hole.water_level_m, depth_m)
    return loads.load_n(plan, length_m=length_m, shoe_m=depth_m, outside=outside, inside=(), shoe=shoe)


def steps_m(stage: Stage) -> tuple[float, ...]:
    """Tops of the grout on its way up, the stage's own top last [m]."""
    rise_m = (stage.bottom_m - stage.top_m) / STEPS
    return (*(stage.bottom_m - step * rise_m for step in range(1, STEPS)), stage.top_m)


def stage_load(plan: Plan, number: int) -> StageLoad:
    stage, casing = plan.stages[number], plan.casing
    is_sealed, outside = sealed(plan, number), outside_layers(plan, stage)
    is_open = casing.shoe_state is ShoeState.OPEN
    empty_n = None if is_open else planned_n(plan, number, outside, ())
    full_n = planned_n(plan, number, outside, loads.water(0.0, casing.target_shoe_depth_m))
    hold_n = planned_hold_down_n(plan, number)
    inflow_pa = _inflow_pa(plan, outside) if is_open and not is_sealed else None
    cure_m, density = _cure(plan, outside) if hold_n > 0 and not (is_open or is_sealed) else (None, None)
    return StageLoad(
        empty=Quantity(empty_n, Kind.LOAD),
        full=Quantity(full_n, Kind.LOAD),
        sealed=is_sealed,
        hold_down=Quantity(hold_n, Kind.LOAD),
        cure=Quantity(cure_m, Kind.DEPTH),
        cure_density=Quantity(density, Kind.DENSITY),
        pump_limit=Quantity(_pump_limit_pa(plan, stage, is_sealed), Kind.PRESSURE),
        inflow=Quantity(inflow_pa, Kind.PRESSURE),
        inflow_rise=Quantity(None if inflow_pa is None else _rise_m(plan, stage, inflow_pa), Kind.LENGTH),
    )


def _cure(plan: Plan, outside: tuple[FluidLayer, ...]) -> tuple[float | None, float | None]:
    shoe_m = plan.casing.target_shoe_depth_m
    length_m, outside_pa = shoe_m + plan.casing.stick_up_m, pressure_pa(outside, shoe_m)
    return cure(plan, length_m=length_m, shoe_m=shoe_m, outside_pa=outside_pa)


def _rise_m(plan: Plan, stage: Stage, inflow_pa: float) -> float:
    return max(inflow_pa, 0.0) / (plan.mix(stage.mix).density_kg_m3 * loads.G_M_S2)


def _pump_limit_pa(plan: Plan, stage: Stage, is_sealed: bool) -> float | None:
    if stage.method != "through casing" or is_sealed:
        return None
    casing, shoe_m = plan.casing, plan.casing.target_shoe_depth_m
    grout = (FluidLayer(0.0, shoe_m, plan.mix(stage.mix).density_kg_m3),)
    return hook_load.pump_pressure_limit_pa(
        weight_air_n=loads.weight_air_n(plan, shoe_m + casing.stick_up_m),
        pressure_inside_pa=pressure_pa(grout, shoe_m),
        bore_area_m2=pipe.circle_area_m2(casing.bore_m),
        outer_area_m2=pipe.circle_area_m2(casing.outer_diameter_m),
    )


def _inflow_pa(plan: Plan, outside: tuple[FluidLayer, ...]) -> float:
    """Outside over inside at the shoe, with the inside still at the hole's water level."""
    shoe_m = plan.casing.target_shoe_depth_m
    return pressure_pa(outside, shoe_m) - pressure_pa(loads.water(plan.hole.water_level_m, shoe_m), shoe_m)
