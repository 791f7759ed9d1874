"""What a rule file may ask of plan and session: a small closed set of facts, and how each is found."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Literal

from tally.job import geometry, grouting, lengths
from tally.job.fill import fill
from tally.job.plan import Mix, Plan
from tally.job.plan import Stage as PlannedStage
from tally.job.state import Stage, State
from tally.job.view.quantity import Kind

BAG_94_LB_KG = 94 * 0.45359237
PLAIN = ("cement", "bentonite", "sand")
"""Of a recipe: what holds bentonite or not by its name."""
SAME_M = 0.01
"""Two depths that are this near leave no gap in a seal."""


@dataclass(frozen=True, slots=True)
class Found:
    """What plan or session say on one rule."""

    si: float | None = None
    shown: bool | None = None
    """Of a fact without a value: whether it is so; None: nothing shows it."""
    basis: str = ""
    """Where the figure comes from, or why there is none."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing that can be checked: what it is, how a rule's value reads it, and how it is found."""

    words: str
    sense: Literal["at least", "at most", "so"]
    kind: Kind | None
    """None: a fact that is so or not, and takes no value."""
    find: Callable[[Plan, State | None], Found]


# --- casing and hole ----------------------------------------------------------------------------------------------


def _gaps_m(plan: Plan) -> Iterator[float]:
    """Hole less casing, as diameters [m], over what is to be sealed in open hole."""
    top_m, bottom_m = min(stage.top_m for stage in plan.stages), max(stage.bottom_m for stage in plan.stages)
    bottom_m = min(bottom_m, plan.casing.target_shoe_depth_m)
    for section in plan.hole.sections:
        if not section.cased and section.top_m < bottom_m and section.bottom_m > top_m:
            yield section.diameter_m - plan.casing.outer_diameter_m
    for point in plan.hole.log:
        if top_m <= point.depth_m <= bottom_m:
            yield point.diameter_m - plan.casing.outer_diameter_m


def _wider(plan: Plan, state: State | None) -> Found:
    gap_m = min(_gaps_m(plan), default=None)
    return Found(gap_m, basis="narrowest hole by bit size and caliper, over the interval to be sealed")


def _annulus(plan: Plan, state: State | None) -> Found:
    gap_m = min(_gaps_m(plan), default=None)
    basis = "half of hole less casing where it is narrowest, the casing in the middle"
    return Found(None if gap_m is None else gap_m / 2, basis=basis)


def _above_ground(plan: Plan, state: State | None) -> Found:
    if state is not None and state.string.stick_up_m is not None:
        return Found(state.string.stick_up_m, basis="stick-up as read last")
    if state is not None and state.string.landed_on is not None:
        return Found(basis="the stick-up was not read")
    return Found(plan.casing.stick_up_m, basis="stick-up as planned")


def _shoe_m(plan: Plan, state: State | None) -> tuple[float, str]:
    if state is not None and state.string.joints:
        return lengths.shoe_depth_m(plan, state.string), "shoe by the measured joints"
    return plan.casing.target_shoe_depth_m, "shoe as planned"


def _casing_depth(plan: Plan, state: State | None) -> Found:
    shoe_m, basis = _shoe_m(plan, state)
    return Found(shoe_m, basis=basis)


def _length(plan: Plan, state: State | None) -> Found:
    if state is not None and state.string.joints:
        return Found(lengths.length_m(plan, state.string), basis="string by the measured joints")
    return Found(plan.casing.target_shoe_depth_m + plan.casing.stick_up_m, basis="shoe and stick-up as planned")


def _into_rock(plan: Plan, state: State | None) -> Found:
    shoe_m, basis = _shoe_m(plan, state)
    if plan.hole.rock_m is None:
        return Found(basis="the plan gives no depth to rock")
    return Found(shoe_m - plan.hole.rock_m, basis=f"{basis}, below the rock's top")


def _wall(plan: Plan, state: State | None) -> Found:
    casing = plan.casing
    if casing.minimum_wall_m is not None:
        return Found(casing.minimum_wall_m, basis="least wall as planned")
    return Found((casing.outer_diameter_m - casing.bore_m) / 2, basis="wall by outside and bore as planned")


def _bore(plan: Plan, state: State | None) -> Found:
    return Found(plan.casing.bore_m, basis="bore as planned")


# --- mix ----------------------------------------------------------------------------------------------------------


def _densities(plan: Plan, state: State | None) -> tuple[list[float], str]:
    if state is None or not state.grout.batches:
        used = [plan.mix(stage.mix).density_kg_m3 for stage in plan.stages]
        return used, "mix as planned"
    weighed = [batch.density_kg_m3 for batch in state.grout.batches if batch.density_kg_m3 is not None]
    return weighed, f"{len(weighed)} of {len(state.grout.batches)} batches weighed"


def _density_least(plan: Plan, state: State | None) -> Found:
    found, basis = _densities(plan, state)
    return Found(min(found, default=None), basis=f"the lightest; {basis}")


def _density_most(plan: Plan, state: State | None) -> Found:
    found, basis = _densities(plan, state)
    return Found(max(found, default=None), basis=f"the heaviest; {basis}")


def _water(plan: Plan, state: State | None) -> Found:
    """Water to 94 lb of cement [m3], the wettest of the mixes in use."""
    mixes = [plan.mix(stage.mix) for stage in plan.stages]
    wet = [mix.water_per_bag_m3 / mix.bag_kg * BAG_94_LB_KG for mix in mixes if mix.bag_of == "cement"]
    return Found(max(wet, default=None), basis="the wettest mix as planned" if wet else "no mix is of cement")


def _bentonite(plan: Plan, state: State | None) -> Found:
    mixes = [plan.mix(stage.mix) for stage in plan.stages]
    if any(mix.bentonite_share and mix.bentonite_basis == "water" for mix in mixes):
        return Found(basis="bentonite is given by weight of water")
    of_cement = [mix for mix in mixes if mix.bag_of == "cement"]
    unclear = [part.name for mix in of_cement if mix.kind == "recipe" for part in mix.parts if part.name not in PLAIN]
    if unclear:
        return Found(basis=f"a recipe names {', '.join(unclear)}: whether there is bentonite in it is not known")
    dry = [_clay_share(mix) for mix in of_cement]
    return Found(max(dry, default=None), basis="by weight of cement, as planned" if dry else "no mix is of cement")


def _clay_share(mix: Mix) -> float:
    """Bentonite over cement by mass [1]; a recipe names it among what goes in."""
    if mix.kind != "recipe":
        return mix.bentonite_share
    return sum(part.mass_kg for part in mix.parts if part.name == "bentonite") / mix.bag_kg


def _wait(plan: Plan, state: State | None) -> Found:
    return Found(
        min(plan.mix(stage.mix).waiting_time_s for stage in plan.stages),
        basis="the shortest waiting time of the plan's mixes; what is done after the session is not in it",
    )


# --- placing ------------------------------------------------------------------------------------------------------


def _stages(state: State | None) -> tuple[Stage, ...]:
    return () if state is None else state.grout.stages


def _planned(plan: Plan, stage: Stage) -> PlannedStage:
    return plan.stages[min(stage.index, len(plan.stages) - 1)]


def _off_bottom(plan: Plan, state: State | None) -> Found:
    tremied = [stage for stage in _stages(state) if _planned(plan, stage).method == "tremie"]
    if not tremied:
        return Found(basis="no stage was begun by tremie")
    if any(stage.tip_m is None for stage in tremied):
        return Found(basis="the tremie's depth was not entered before a stage began")
    off_m = max(stage.bottom_m - stage.tip_m for stage in tremied if stage.tip_m is not None)
    return Found(off_m, basis="the tremie's end above the stage's bottom when it began, the largest")


def _raised(state: State, *names: str) -> int:
    return sum(alarm.alarm in names for alarm in state.alarms)


def _submerged(plan: Plan, state: State | None) -> Found:
    if state is None or not any(stage.tip_m is not None for stage in state.grout.stages):
        return Found(basis="the tremie's depth was not entered")
    raised = _raised(state, "tremie-above", "tremie-cover")
    basis = f"by the likely top: {raised} alarms of cover" if raised else "by the likely top, no alarm of cover"
    return Found(shown=not raised, basis=basis)


def _cover(plan: Plan, state: State | None) -> Found:
    if plan.tremie is None:
        return Found(basis="the plan has no tremie")
    if state is not None and _raised(state, "tremie-above", "tremie-cover"):
        return Found(basis="an alarm of cover was raised: see what was done")
    return Found(plan.tremie.minimum_cover_m, basis="the cover at which the alarm is set, by the likely top")


def _good_returns(plan: Plan, state: State | None) -> Found:
    """Grout at the density of the mix was seen at surface before the last stage that reaches it ended."""
    reaching = [stage for stage in _stages(state) if stage.top_m <= 0.0]
    if not reaching:
        return Found(basis="no stage up to ground level was begun")
    stage = reaching[-1]
    mix = plan.mix(_planned(plan, stage).mix)
    back = [seen.density_kg_m3 for seen in stage.returns if seen.strength != "none" and seen.fluid == "grout"]
    if not back:
        return Found(shown=False if not stage.open else None, basis="no grout was seen at surface")
    if back[-1] is None:
        return Found(basis="grout was seen at surface and not weighed there")
    return Found(
        shown=back[-1] >= mix.density_kg_m3 - mix.density_band_kg_m3,
        basis="last density at surface against the mix less its band",
    )


def _returns_density(plan: Plan, state: State | None) -> Found:
    seen = [row.density_kg_m3 for stage in _stages(state) for row in stage.returns if row.fluid == "grout"]
    weighed = [density for density in seen if density is not None]
    return Found(weighed[-1] if weighed else None, basis="grout at surface, weighed last" if weighed else "not weighed")


def _seal_depth(plan: Plan, state: State | None) -> Found:
    """How far the seal reaches down from ground level without a gap [m]."""
    spans, basis = [(stage.top_m, stage.bottom_m) for stage in plan.stages], "stages as planned"
    if state is not None and state.grout.stages:
        reached = [(_reached_m(stage), stage.bottom_m) for stage in state.grout.stages if not stage.open]
        spans = [(top_m, bottom_m) for top_m, bottom_m in reached if top_m is not None]
        basis = "stages that were ended, without a gap from ground level"
    down_m = 0.0
    for top_m, bottom_m in sorted(spans):
        if top_m <= down_m + SAME_M:
            down_m = max(down_m, bottom_m)
    return Found(down_m, basis=basis)


def _reached_m(stage: Stage) -> float | None:
    """Where the grout of an ended stage was found, or its planned top; None where it fell short and nobody tagged."""
    if stage.outcome not in grouting.UNFINISHED:
        return stage.top_m
    after = [tag.depth_m for tag in stage.tags if stage.ended_s is not None and tag.elapsed_s >= stage.ended_s]
    return after[0] if after else None


def _interruption(plan: Plan, state: State | None) -> Found:
    if state is None or not state.grout.stages:
        return Found(basis="no stage was begun")
    stops = [seen.until_s - seen.from_s for seen in state.flow.interruptions]
    return Found(max(stops, default=0.0), basis="the longest that the meter saw within a stage")


def _volume(plan: Plan, state: State | None) -> Found:
    ended = [stage for stage in _stages(state) if not stage.open]
    if state is None or not ended:
        return Found(basis="no stage was ended")
    bare = geometry.bare_annulus(state)
    top_m, bottom_m = min(stage.top_m for stage in ended), min(max(stage.bottom_m for stage in ended), bare.bottom_m)
    theory_m3 = bare.volume_m3(min(top_m, bottom_m), bottom_m)
    # What is left in the line at a stage's end seals nothing.
    out_m3 = sum(fill(state, stage).out_m3 for stage in ended)
    return Found(
        out_m3 / theory_m3 - 1 if theory_m3 > 0 else None, basis="out of the line over the annulus in theory, less one"
    )


def _weighed(plan: Plan, state: State | None) -> Found:
    if state is None or not state.grout.batches:
        return Found(basis="no batch was mixed")
    left = sum(batch.density_kg_m3 is None for batch in state.grout.batches)
    return Found(shown=not left, basis=f"{left} batches not weighed" if left else "every batch was weighed")


def _soon(plan: Plan, state: State | None) -> Found:
    if state is None or state.string.landed_at_s is None or not state.grout.stages:
        return Found(basis="casing landed and grout begun are not both in the session")
    return Found(
        max(state.grout.stages[0].started_s - state.string.landed_at_s, 0.0), basis="from landed to first stage"
    )


FACTS: dict[str, Fact] = {
    "annulus_min": Fact("space between casing and hole, on each side", "at least", Kind.DIAMETER, _annulus),
    "hole_over_casing_min": Fact("hole wider than the casing, as diameters", "at least", Kind.DIAMETER, _wider),
    "casing_above_ground_min": Fact("casing above ground", "at least", Kind.LENGTH, _above_ground),
    "casing_depth_min": Fact("depth of the casing", "at least", Kind.DEPTH, _casing_depth),
    "casing_length_min": Fact("length of the casing, shoe included", "at least", Kind.LENGTH, _length),
    "casing_into_rock_min": Fact("casing into the rock", "at least", Kind.LENGTH, _into_rock),
    "wall_min": Fact("wall of the casing", "at least", Kind.DIAMETER, _wall),
    "bore_min": Fact("bore of the casing", "at least", Kind.DIAMETER, _bore),
    "grout_density_min": Fact("density mixed", "at least", Kind.DENSITY, _density_least),
    "grout_density_max": Fact("density mixed", "at most", Kind.DENSITY, _density_most),
    "returns_density_min": Fact("density of the grout at surface", "at least", Kind.DENSITY, _returns_density),
    "returns_as_mixed": Fact("grout at surface as dense as mixed", "so", None, _good_returns),
    "water_per_94_lb_max": Fact("water to 94 lb of cement", "at most", Kind.VOLUME, _water),
    "bentonite_max": Fact("bentonite by weight of cement", "at most", Kind.SHARE, _bentonite),
    "batches_weighed": Fact("every batch weighed", "so", None, _weighed),
    "tremie_within": Fact("tremie's end off the bottom at the start", "at most", Kind.LENGTH, _off_bottom),
    "tremie_submerged": Fact("tremie's end kept in the grout", "so", None, _submerged),
    "cover_min": Fact("cover of the tremie's end", "at least", Kind.LENGTH, _cover),
    "depth_of_seal_min": Fact("seal down from ground level, without a gap", "at least", Kind.DEPTH, _seal_depth),
    "interruption_max": Fact("longest stop of the pump within a stage", "at most", Kind.DURATION, _interruption),
    "excess_min": Fact("out of the line beyond the annulus in theory", "at least", Kind.SHARE, _volume),
    "grout_begun_within": Fact("from casing landed to grout begun", "at most", Kind.DURATION, _soon),
    "wait_time_min": Fact("waiting time before drilling on", "at least", Kind.DURATION, _wait),
}
"""The closed set of what a rule file may ask. Any other rule is a text that is reported as not shown."""
