"""The pump as planned: friction on the grout's way, the pressure to expect, and what pumping does to the casing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tally.engineering import circuit, collapse, heat, hook_load, pipe
from tally.engineering.circuit import Passage
from tally.engineering.collapse import Rating
from tally.engineering.fluid import GRAVITY_M_S2
from tally.engineering.hook_load import FluidLayer
from tally.job import loads
from tally.job.grouted import outside_layers, pressure_pa, sealed
from tally.job.plan import Mix, Plan, Stage
from tally.job.strength import A53B_YIELD_PA, minimum_wall_m
from tally.job.view.quantity import Kind, Quantity

MIXED_C = (90.0 - 32.0) / 1.8
"""Grout as it is pumped, warm from mixing: common practice, on the safe side for plastic."""


@dataclass(frozen=True, slots=True)
class PassageLoss:
    name: str
    length: Quantity
    loss: Quantity


@dataclass(frozen=True, slots=True)
class PressurePlan:
    """A stage at its end, the grout up and the pump at its planned rate: the pump never has more to do."""

    stage: str
    unsaid: tuple[str, ...]
    """What the plan does not say, in words; nothing is guessed in its place."""
    plastic_viscosity: Quantity
    yield_stress: Quantity
    rate: Quantity
    passages: tuple[PassageLoss, ...]
    friction: Quantity
    outside: Quantity
    """What stands outside the outlet."""
    column: Quantity
    """What stands in the line down to the outlet."""
    pump: Quantity
    """Pressure to expect at the pump; 0 where the line falls by itself."""
    limit: Quantity
    rate_at_limit: Quantity
    casing: CasingPressure | None
    """Where the grout goes down the casing itself."""


@dataclass(frozen=True, slots=True)
class CasingPressure:
    burst_rating: Quantity
    burst_formula: str
    inside_over_outside: Quantity
    """The most, with the pump at its limit (else at the pressure to expect) and only water outside."""
    depth: Quantity
    ratio: float | None
    cap: Quantity
    """Pull of that pressure on the cap, which its fastening carries."""
    hook: Quantity
    """On the hook while pumping, friction of the annulus counted; below zero it lifts."""
    bridged: Quantity
    """On the hook with the annulus bridged and the pump at that pressure."""


def pressure_plans(plan: Plan) -> tuple[PressurePlan, ...]:
    return tuple(_pressure(plan, number) for number in range(len(plan.stages)))


def _pressure(plan: Plan, number: int) -> PressurePlan:
    stage, pump = plan.stages[number], plan.pump
    mix, passages = plan.mix(stage.mix), tuple(_passages(plan, stage))
    outlet_m, outside = _outlet_m(plan, stage), outside_layers(plan, stage)
    column_pa = mix.density_kg_m3 * GRAVITY_M_S2 * outlet_m
    outside_pa = pressure_pa(outside, outlet_m)
    losses = _losses_pa(mix, passages, None if pump is None else pump.rate_m3_s)
    friction_pa = None if losses is None else sum(losses)
    pump_pa = None if friction_pa is None else max(friction_pa + outside_pa - column_pa, 0.0)
    annulus_pa = sum(loss for part, loss in zip(passages, losses or (), strict=False) if part.around_m)
    limit_pa = None if pump is None else pump.pressure_limit_pa
    return PressurePlan(
        stage=stage.name,
        unsaid=tuple(_unsaid(plan, stage)),
        plastic_viscosity=Quantity(mix.plastic_viscosity_pa_s, Kind.VISCOSITY),
        yield_stress=Quantity(mix.yield_stress_pa, Kind.YIELD_STRESS),
        rate=Quantity(None if pump is None else pump.rate_m3_s, Kind.RATE),
        passages=tuple(
            PassageLoss(
                part.name, Quantity(part.length_m, Kind.LENGTH), Quantity(losses[at] if losses else None, Kind.PRESSURE)
            )
            for at, part in enumerate(passages)
        ),
        friction=Quantity(friction_pa, Kind.PRESSURE),
        outside=Quantity(outside_pa, Kind.PRESSURE),
        column=Quantity(column_pa, Kind.PRESSURE),
        pump=Quantity(pump_pa, Kind.PRESSURE),
        limit=Quantity(limit_pa, Kind.PRESSURE),
        rate_at_limit=Quantity(_rate_m3_s(mix, passages, limit_pa, outside_pa - column_pa), Kind.RATE),
        casing=_casing(plan, number, limit_pa or pump_pa, annulus_pa) if _presses_casing(plan, stage) else None,
    )


def _presses_casing(plan: Plan, stage: Stage) -> bool:
    """Whether the pump's pressure stands in the casing: not where a pipe inside it stabs into the shoe."""
    return stage.method == "through casing" and (stage.plug_m is not None or plan.line.length_m is None)


def _outlet_m(plan: Plan, stage: Stage) -> float:
    """Where the grout comes out [m]: the shoe, or the tremie's end near the stage's bottom."""
    if stage.method == "through casing":
        return plan.casing.target_shoe_depth_m
    assert plan.tremie is not None
    return min(stage.bottom_m, plan.tremie.length_m)


def _passages(plan: Plan, stage: Stage) -> Iterator[Passage]:
    """From the pump on. The line's length counts down to the outlet; what hangs in the hole is no hose."""
    outlet_m, line, casing = _outlet_m(plan, stage), plan.line, plan.casing
    inner = stage.method == "through casing" and not _presses_casing(plan, stage)
    if inner and line.length_m is not None and line.bore_m is not None:
        yield Passage("hose, pipe", line.bore_m, line.length_m)
    elif line.length_m is not None and line.bore_m is not None and line.length_m > outlet_m:
        yield Passage("hose", line.bore_m, line.length_m - outlet_m)
    if stage.method == "tremie":
        assert plan.tremie is not None
        yield Passage("tremie", plan.tremie.bore_m, outlet_m)
    elif not inner:
        yield Passage("casing", casing.bore_m, outlet_m)
    for section in reversed(plan.hole.sections):
        top_m = max(section.top_m, stage.top_m)
        bottom_m = min(section.bottom_m, stage.bottom_m, casing.target_shoe_depth_m)
        if bottom_m > top_m:
            yield Passage("annulus", section.diameter_m, bottom_m - top_m, casing.outer_diameter_m)


def _unsaid(plan: Plan, stage: Stage) -> Iterator[str]:
    if plan.mix(stage.mix).plastic_viscosity_pa_s is None:
        yield "no rheology given (plastic_viscosity, yield_point of the mix)"
    if plan.pump is None:
        yield "no pump given (rate, pressure_limit)"
    elif plan.pump.pressure_limit_pa is None:
        yield "no limit of the pump's pressure given"
    if plan.line.length_m is None:
        yield "no length and bore of the line given: a hose's friction is not counted"


def _losses_pa(mix: Mix, passages: tuple[Passage, ...], rate_m3_s: float | None) -> list[float] | None:
    if mix.plastic_viscosity_pa_s is None or mix.yield_stress_pa is None or rate_m3_s is None:
        return None
    return [
        circuit.passage_loss_pa(
            passage,
            flow_m3_s=rate_m3_s,
            density_kg_m3=mix.density_kg_m3,
            viscosity_pa_s=mix.plastic_viscosity_pa_s,
            yield_stress_pa=mix.yield_stress_pa,
        )
        for passage in passages
    ]


def _rate_m3_s(mix: Mix, passages: tuple[Passage, ...], limit_pa: float | None, head_pa: float) -> float | None:
    if mix.plastic_viscosity_pa_s is None or mix.yield_stress_pa is None or limit_pa is None:
        return None
    return circuit.flow_at_pressure_m3_s(
        passages,
        limit_pa=limit_pa,
        head_pa=head_pa,
        density_kg_m3=mix.density_kg_m3,
        viscosity_pa_s=mix.plastic_viscosity_pa_s,
        yield_stress_pa=mix.yield_stress_pa,
    )


def burst_rating(plan: Plan) -> Rating:
    """Inside pressure that the casing stands, with the formula that gave it."""
    casing, given_pa = plan.casing, plan.limits.burst_pa
    if given_pa is not None:
        return Rating(given_pa, "as given in the plan")
    if casing.material == "pvc":
        rating_pa = heat.pvc_pressure_rating_pa(
            outer_diameter_m=casing.outer_diameter_m, minimum_wall_m=minimum_wall_m(plan), temperature_c=MIXED_C
        )
        return Rating(rating_pa, f"2 S t/(D-t), S 2000 psi x {heat.pvc_pressure_factor(MIXED_C):.2f} at 32 °C (90 °F)")
    yield_pa = casing.yield_pa or A53B_YIELD_PA
    wall_m = minimum_wall_m(plan)
    rating_pa = collapse.burst_pa(outer_diameter_m=casing.outer_diameter_m, wall_m=wall_m, yield_pa=yield_pa)
    said = "yield as given" if casing.yield_pa else "yield taken as"
    return Rating(rating_pa, f"API 5C3, 0.875 x 2 Y t/D, {said} {yield_pa / 1e6:.0f} MPa")


def _casing(plan: Plan, number: int, at_pump_pa: float | None, annulus_pa: float) -> CasingPressure:
    """The casing under the pump's pressure at the head, full of grout."""
    casing, stage, shoe_m = plan.casing, plan.stages[number], plan.casing.target_shoe_depth_m
    bore_m2, outer_m2 = pipe.circle_area_m2(casing.bore_m), pipe.circle_area_m2(casing.outer_diameter_m)
    weight_n = loads.weight_air_n(plan, shoe_m + casing.stick_up_m)
    grout = (FluidLayer(0.0, shoe_m, plan.mix(stage.mix).density_kg_m3),)
    rating = burst_rating(plan)
    # inside over outside is outside over inside turned round: grout and pump within, the hole's own water without
    water = loads.water(plan.hole.water_level_m, shoe_m)
    most = collapse.largest_differential(outside=grout, inside=water, bottom_m=shoe_m)
    most_pa = None if at_pump_pa is None else most.pressure_pa + at_pump_pa
    hook_n = bridged_n = None
    if not sealed(plan, number):
        inside_pa = pressure_pa(grout, shoe_m)
        outside_pa = pressure_pa(outside_layers(plan, stage), shoe_m) + annulus_pa
        hook_n = plan.limits.hook_n + hook_load.hook_load_n(
            weight_air_n=weight_n,
            pressure_inside_pa=min(inside_pa, outside_pa),  # one that falls by itself stands no higher
            pressure_outside_pa=outside_pa,
            bore_area_m2=bore_m2,
            outer_area_m2=outer_m2,
            shoe=hook_load.ShoeState.CLOSED,
        )
        bridged_n = (
            None
            if at_pump_pa is None
            else plan.limits.hook_n
            - hook_load.worst_lift_n(
                weight_air_n=weight_n,
                pressure_inside_pa=inside_pa,
                pump_pressure_pa=at_pump_pa,
                bore_area_m2=bore_m2,
                outer_area_m2=outer_m2,
            )
        )
    return CasingPressure(
        burst_rating=Quantity(rating.pressure_pa, Kind.PRESSURE),
        burst_formula=rating.formula,
        inside_over_outside=Quantity(most_pa, Kind.PRESSURE),
        depth=Quantity(most.depth_m, Kind.DEPTH),
        ratio=rating.pressure_pa / most_pa if most_pa else None,
        cap=Quantity(None if at_pump_pa is None else at_pump_pa * bore_m2, Kind.LOAD),
        hook=Quantity(hook_n, Kind.LOAD),
        bridged=Quantity(bridged_n, Kind.LOAD),
    )
