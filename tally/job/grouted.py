"""The casing beside which grout stands, as planned and as it is: what lifts it, and what presses on its wall."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from tally.engineering import collapse, hook_load, pipe
from tally.engineering.hook_load import FluidLayer, ShoeState
from tally.job import fill as filling
from tally.job import geometry, grouting, lengths, line, loads
from tally.job.fill import Fill
from tally.job.plan import Plan
from tally.job.plan import Stage as PlannedStage
from tally.job.state import Grout, Stage, State, String

pressure_pa = hook_load.column_pressure_pa


def cure(plan: Plan, *, length_m: float, shoe_m: float, outside_pa: float) -> tuple[float | None, float | None]:
    """Depth to inside water [m] that keeps a closed end down, or the density [kg/m3] that does where water is too
    light; outside_pa [Pa] at the shoe.

    A float lets out what stands above balance, so that only what stays below it helps.
    """
    casing, weight_n = plan.casing, loads.weight_air_n(plan, length_m)
    bore_m2, outer_m2 = pipe.circle_area_m2(casing.bore_m), pipe.circle_area_m2(casing.outer_diameter_m)
    if casing.shoe_state is ShoeState.FLOAT and weight_n < outside_pa * (outer_m2 - bore_m2):
        return None, None
    level_m = hook_load.inside_level_for_load_m(
        weight_air_n=weight_n,
        pressure_outside_pa=outside_pa,
        bore_area_m2=bore_m2,
        outer_area_m2=outer_m2,
        shoe_depth_m=shoe_m,
        inside_kg_m3=loads.WATER_KG_M3,
    )
    if level_m is not None:
        return level_m, None
    density = hook_load.inside_density_for_load_kg_m3(
        weight_air_n=weight_n,
        pressure_outside_pa=outside_pa,
        bore_area_m2=bore_m2,
        outer_area_m2=outer_m2,
        column_m=shoe_m,
    )
    return None, density


# --- as planned ---------------------------------------------------------------------------------------------------


def outside_layers(plan: Plan, stage: PlannedStage, top_m: float | None = None) -> tuple[FluidLayer, ...]:
    """Annulus with the stage's grout at its top, or at `top_m` on the way there: the water it pushed up stands on it,
    to surface (the worst case) unless the ground drinks."""
    top_m = stage.top_m if top_m is None else top_m
    level_m = plan.hole.water_level_m if plan.hole.drinks_water else 0.0
    return _column(level_m, top_m, stage.bottom_m, plan.mix(stage.mix).density_kg_m3, plan.hole.bottom_m)


def _column(level_m: float, top_m: float, bottom_m: float, grout_kg_m3: float, hole_m: float) -> tuple[FluidLayer, ...]:
    grout = (FluidLayer(top_m, bottom_m, grout_kg_m3),) if top_m < bottom_m else ()
    return (*loads.water(level_m, top_m), *grout, *loads.water(bottom_m, hole_m))


def sealed(plan: Plan, number: int) -> bool:
    """True where an earlier stage, set by then, holds the casing's end."""
    shoe_m = plan.casing.target_shoe_depth_m
    return any(earlier.top_m < shoe_m <= earlier.bottom_m + 1e-6 for earlier in plan.stages[:number])


def planned_n(plan: Plan, number: int, outside: Sequence[FluidLayer], inside: Sequence[FluidLayer]) -> float:
    """Hook load at the planned depth in these columns, the end as stage `number` finds it [N]."""
    casing, shoe_m = plan.casing, plan.casing.target_shoe_depth_m
    shoe = ShoeState.SEALED if sealed(plan, number) else casing.shoe_state
    length_m = shoe_m + casing.stick_up_m
    return loads.load_n(plan, length_m=length_m, shoe_m=shoe_m, outside=outside, inside=inside, shoe=shoe)


def planned_hold_down_n(plan: Plan, number: int) -> float:
    """What must hold the casing down with the stage's grout at its top, empty or full of water, the worse [N]."""
    outside, full = outside_layers(plan, plan.stages[number]), loads.water(0.0, plan.casing.target_shoe_depth_m)
    empty = () if plan.casing.shoe_state is not ShoeState.OPEN else full
    worst_n = min(planned_n(plan, number, outside, inside) for inside in (empty, full))
    return hook_load.hold_down_n(worst_n - plan.limits.hook_n)  # the hook's own weight holds nothing down


# --- as it is -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Grouted:
    """The columns with the grout at the highest top that is believed in, the worst for lift and collapse; what follows
    from them is worked out when it is asked for."""

    plan: Plan
    outside: tuple[FluidLayer, ...]
    inside: tuple[FluidLayer, ...]
    """Empty for a closed end or a float of which no level inside was ever read: taken as dry."""
    length_m: float
    shoe_m: float
    bottom_m: float
    """Of what is still liquid beside the casing."""
    shoe: ShoeState

    @property
    def hold_down_n(self) -> float:
        """What must hold the casing down; 0 where it stays by itself. The hook's own weight holds nothing down."""
        load_n = loads.load_n(
            self.plan,
            length_m=self.length_m,
            shoe_m=self.shoe_m,
            outside=self.outside,
            inside=self.inside,
            shoe=self.shoe,
        )
        return hook_load.hold_down_n(load_n - self.plan.limits.hook_n)

    @property
    def cure_m(self) -> float | None:
        """Depth to inside water at which it would stay; None where nothing lifts, or no water does."""
        if self.shoe not in (ShoeState.FLOAT, ShoeState.CLOSED) or self.hold_down_n <= 0.0:
            return None
        outside_pa = pressure_pa(self.outside, self.shoe_m)
        return cure(self.plan, length_m=self.length_m, shoe_m=self.shoe_m, outside_pa=outside_pa)[0]

    @property
    def most_pa(self) -> float:
        """No less than presses anywhere: the outside alone, at the bottom. Costs little to know."""
        return pressure_pa(self.outside, self.bottom_m)

    @property
    def pressed_pa(self) -> float:
        """The most that presses from outside over inside, anywhere along the casing."""
        worst = collapse.largest_differential(outside=self.outside, inside=self.inside, bottom_m=self.bottom_m)
        return max(worst.pressure_pa, 0.0)


def grouted(state: State, stage: Stage, fill: Fill) -> Grouted | None:
    """None until grout stands in the annulus."""
    top_m = fill.top.high_m
    if fill.out_m3 <= 0.0 or top_m >= stage.bottom_m:
        return None
    plan, string, shoe_m = state.plan, state.string, geometry.shoe_m(state)
    grout_kg_m3 = grouting.stage_mix(plan, stage.index).density_kg_m3
    return Grouted(
        plan=plan,
        outside=_column(water_m(state, fill), top_m, stage.bottom_m, grout_kg_m3, plan.hole.bottom_m),
        inside=_inside(state, stage, fill, shoe_m),
        length_m=lengths.length_m(plan, string) if string.joints else shoe_m + plan.casing.stick_up_m,
        shoe_m=shoe_m,
        bottom_m=min(stage.bottom_m, shoe_m),
        shoe=ShoeState.SEALED if _set_before.of(state, stage) else plan.casing.shoe_state,
    )


def water_m(state: State, fill: Fill) -> float:
    """Depth to the water that stands on the grout: all that was put in lifts it, unless the ground drinks [m]."""
    bare, level_m = geometry.bare_annulus(state), loads.hole_fluid_m(state.plan, state.string)
    if filling.drinks(state):
        return level_m
    return bare.top_of_fill_m(min(level_m, bare.bottom_m), fill.into_annulus_m3)


def _inside(state: State, stage: Stage, fill: Fill, shoe_m: float) -> tuple[FluidLayer, ...]:
    """What stands in the casing: where grout goes down its own bore, that and the water sent after it; the hole's
    water where its end is open; else the level read last, and nothing where none was."""
    plan, string = state.plan, state.string
    if line.bare_casing(filling.planned_stage(plan, stage)):
        mixed_m3 = grouting.mixed_m3(state, state.grout.stages.index(stage))
        after_m = max(fill.pumped_m3 - mixed_m3, 0.0) / pipe.circle_area_m2(plan.casing.bore_m)
        grout_kg_m3 = grouting.stage_mix(plan, stage.index).density_kg_m3
        return _column(0.0, min(after_m, shoe_m), shoe_m, grout_kg_m3, shoe_m)
    if plan.casing.shoe_state is ShoeState.OPEN and string.inside_fluid_m is None:
        return loads.water(loads.hole_fluid_m(plan, string), shoe_m)
    return loads.inside_column(plan, string, shoe_m)


class _SetBefore:
    """Whether an earlier stage, set by now, holds the casing's end: by the lowest top that is believed in. It stands
    from heartbeat to heartbeat."""

    def __init__(self) -> None:
        self._last: tuple[Plan, String, Grout, bool] | None = None

    def of(self, state: State, stage: Stage) -> bool:
        if stage is state.grout.stages[0]:
            return False
        last, now = self._last, (state.plan, state.string, state.grout)
        if last is not None and all(old is new for old, new in zip(last, now, strict=False)):
            return last[3]
        shoe_m = geometry.shoe_m(state)
        found = any(
            earlier.bottom_m + 1e-6 >= shoe_m > _lowest_m(state, earlier)
            for earlier in state.grout.stages
            if earlier is not stage
        )
        self._last = (*now, found)
        return found


_set_before = _SetBefore()


def _lowest_m(state: State, stage: Stage) -> float:
    return stage.tags[-1].depth_m if stage.tags else filling.fill(state, stage).top.low_m
