"""The grouting: what was pumped against what is planned, where the grout probably is, when returns are due."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

from tally.engineering import placement
from tally.job import fill as filling
from tally.job import grouting, starting, watching, zones
from tally.job.decide.grout import next_stage
from tally.job.decide.refusal import Refusal
from tally.job.fill import Fill
from tally.job.inflow import inflow
from tally.job.state import Stage, State
from tally.job.view.instruments import InstrumentRow, instruments, trouble
from tally.job.view.quantity import Kind, Quantity


@dataclass(frozen=True, slots=True)
class TremieView:
    tip: Quantity
    cover: Quantity
    """Tip below the lowest top (worst case); negative when the tip is above it."""
    may_pull: int
    """Sections that may be pulled now with the least cover kept."""
    hangs: bool
    waits: bool = False
    """No grout has left its end yet: it hangs in water as it should."""


@dataclass(frozen=True, slots=True)
class ReturnsView:
    due_low: Quantity
    due_high: Quantity
    due_fluid: str
    to_go: Quantity
    """Still to be pumped until returns are overdue; negative past it."""
    verdict: str
    """"not yet due", "due now", "overdue", "seen" or "stopped"."""
    until_due: Quantity
    """Still to be pumped until they are first due; zero past it."""
    due_in: Quantity
    """The time that takes at this rate; unknown while nothing moves."""
    strength: str
    fluid: str
    seen_at: datetime | None
    first_at: datetime | None
    density: Quantity


@dataclass(frozen=True, slots=True)
class BatchRow:
    place: int
    number: int
    bags: int
    volume: Quantity
    density: Quantity
    age: Quantity
    at: datetime


@dataclass(frozen=True, slots=True)
class ZoneAhead:
    """The known zone that the grout comes to next."""

    kind: str
    bottom: Quantity
    above: Quantity
    """Its lower end over the likely top."""


@dataclass(frozen=True, slots=True)
class InflowView:
    """What makes grout come up inside an open casing."""

    difference: Quantity
    balance: Quantity
    """Depth to inside water that would hold it; negative above ground."""


@dataclass(frozen=True, slots=True)
class StageView:
    name: str
    begun: int
    """How many stages were begun, this one included."""
    planned_stages: int
    mix: str
    bottom: Quantity
    top: Quantity
    theory: Quantity
    planned: Quantity
    planned_high: Quantity
    line: Quantity
    displacing: Quantity
    """Of what is planned: water that pushes the grout down the casing, and then the pump stops; unknown by tremie."""
    pumped: Quantity
    out: Quantity
    share: Quantity
    """Pumped over planned."""
    needed_low: Quantity
    needed: Quantity
    needed_high: Quantity
    bags_needed: int
    unseen: bool
    """Even the lowest top stands at the surface by volume, and no grout was seen there: only a tag tells."""
    top_low: Quantity
    top_likely: Quantity
    top_high: Quantity
    time_to_top: Quantity
    returns: ReturnsView
    tremie: TremieView | None
    batches: tuple[BatchRow, ...]
    mixed: Quantity
    density_wanted: Quantity
    oldest_batch: Quantity
    working_time: Quantity
    good_until: datetime | None
    """When the working time of the oldest batch ends: by then the tremie is out. None without one or stage."""
    high_in_at: datetime | None
    """When the high volume is in, at the pace so far, stops and all."""
    chance: Quantity
    """That what is aboard suffices for this stage."""
    zone: ZoneAhead | None
    inflow: InflowView | None
    started_at: datetime
    ended_at: datetime | None
    outcome: str


EARLY_S = 60.0
"""A look this much ahead of its time counts."""
AT_SURFACE_M = 0.3
"""A top this near to ground level is seen."""
LEVEL_LOOKS_S = (900.0, 1_800.0, 3_600.0)
"""Looks at the level after a stage ends, 15, 30 and 60 min on: common practice."""


@dataclass(frozen=True, slots=True)
class SettingView:
    """The clocks of a stage that has ended."""

    look: Quantity
    """After the end, the look at the level that is next or due; unknown once all are made."""
    look_at: datetime | None
    look_due: bool
    lift: str
    """What waits for it: "drilling on" or "the next lift"."""
    set_at: datetime
    waits: Quantity
    """Until then; zero past it."""
    fell: Quantity
    """By how much the top fell between the first and the last tag after the end; unknown with fewer than two."""


@dataclass(frozen=True, slots=True)
class StartView:
    """A stage that is to be begun: what it takes, and the high volume against the mix's working time."""

    planned: Quantity
    """With what stays in the line, as the stage will show it."""
    bags: int
    high: Quantity
    bags_high: int
    takes: Quantity
    """Time that the high volume takes, at the plan's rate or the pace of the stage before; unknown without either."""
    working: Quantity
    """What is left of the working time: of a batch that is mixed already, else the mix's own."""
    go: bool | None
    least_rate: Quantity
    """At which it would be in."""


@dataclass(frozen=True, slots=True)
class GroutView:
    stage: StageView | None
    """The stage under way, or the last one that was."""
    under_way: bool
    next_stage: str
    """What "start the next stage" would begin, or why it would not."""
    metered: bool
    meter_why: str
    """What is wrong with the meter, in words; empty while it counts."""
    rate: Quantity
    pump: str
    """"moving", "still" or "not started"."""
    pump_still: Quantity
    pump_still_limit: Quantity
    bags_left: int
    water_left: Quantity
    gap: Quantity
    """Volume that the meter moved unseen and that waits for an answer; unknown when there is none."""
    setting: SettingView | None
    """Once a stage has ended."""
    tremie: Quantity
    """Depth of its end; unknown while it is out of the hole."""
    start: StartView | None
    """Whether the next stage can be begun in time; None where none is to be begun."""
    drinks: bool | None
    trend: tuple[tuple[float, float], ...]
    """(minutes since the stage began, pumped in it [m3])."""
    instruments: tuple[InstrumentRow, ...]


def grout(state: State) -> GroutView:
    stages = state.grout.stages
    stage = stages[-1] if stages else None
    since_s = grouting.stopped_since_s(state)
    still_s = None if since_s is None else state.elapsed_s - since_s
    offered_m3 = state.flow.offered_m3
    return GroutView(
        stage=stage_view(state, stage, len(stages)) if stage else None,
        under_way=state.grout.stage is not None,
        next_stage=_next_words(state),
        metered=state.plan.meter is not None,
        meter_why=trouble(state.flow),
        rate=Quantity(state.flow.rate_m3_s, Kind.RATE),
        pump=grouting.pump_words(state),
        pump_still=Quantity(still_s, Kind.DURATION),
        pump_still_limit=Quantity(_still_limit_s(state, stage), Kind.DURATION),
        bags_left=grouting.bags_left(state),
        water_left=Quantity(grouting.water_left_m3(state), Kind.VOLUME),
        gap=Quantity(offered_m3 if offered_m3 > 0 else None, Kind.VOLUME),
        setting=_setting(state, stage),
        tremie=Quantity(state.grout.tremie_tip_m, Kind.DEPTH),
        start=_start(state),
        drinks=filling.drinks(state),
        trend=_trend(state, stage),
        instruments=instruments(state),
    )


def _setting(state: State, stage: Stage | None) -> SettingView | None:
    if stage is None or stage.ended_s is None:
        return None
    tags = [tag for tag in stage.tags if tag.elapsed_s >= stage.ended_s]
    made = len([each for each in LEVEL_LOOKS_S if any(tag.elapsed_s - stage.ended_s >= each - EARLY_S for tag in tags)])
    look_s = LEVEL_LOOKS_S[made] if made < len(LEVEL_LOOKS_S) else None
    since_s = state.elapsed_s - stage.ended_s
    waiting_s = grouting.stage_mix(state.plan, stage.index).waiting_time_s
    last = stage.index + 1 >= len(state.plan.stages) and stage.outcome not in grouting.UNFINISHED
    set_at = _at(state, stage.ended_s + waiting_s)
    assert set_at is not None
    return SettingView(
        look=Quantity(look_s, Kind.DURATION),
        look_at=None if look_s is None else _at(state, stage.ended_s + look_s),
        look_due=look_s is not None and since_s >= look_s - EARLY_S,
        lift="drilling on" if last else "the next lift",
        set_at=set_at,
        waits=Quantity(max(waiting_s - since_s, 0.0), Kind.DURATION),
        fell=Quantity(tags[-1].depth_m - tags[0].depth_m if len(tags) > 1 else None, Kind.LENGTH),
    )


def _start(state: State) -> StartView | None:
    """The coming stage by its plan: only what was mixed for it already is of the day."""
    following = next_stage(state)
    if isinstance(following, Refusal):
        return None
    coming = starting.start(state, *following)
    bag_m3 = grouting.stage_mix(state.plan, coming.index).yield_per_bag_m3
    return StartView(
        planned=Quantity(coming.planned_m3, Kind.VOLUME),
        bags=math.ceil(max(coming.planned_m3 - coming.water_m3, 0.0) / bag_m3),
        high=Quantity(coming.high_m3, Kind.VOLUME),
        bags_high=math.ceil(max(coming.high_m3 - coming.water_m3, 0.0) / bag_m3),
        takes=Quantity(coming.takes_s, Kind.DURATION),
        working=Quantity(coming.left_s, Kind.DURATION),
        go=coming.go,
        least_rate=Quantity(coming.high_m3 / coming.left_s if coming.left_s > 0 else None, Kind.RATE),
    )


def _next_words(state: State) -> str:
    following = next_stage(state)
    if isinstance(following, Refusal):
        return following.reason if not following.values else "nothing is left to fill"
    return state.plan.stages[following[0]].name


def _still_limit_s(state: State, stage: Stage | None) -> float | None:
    if stage is None:
        return None
    return grouting.stage_mix(state.plan, stage.index).working_time_s * state.plan.alarms.pump_stop_share


def _trend(state: State, stage: Stage | None) -> tuple[tuple[float, float], ...]:
    if stage is None:
        return ()
    start_m3 = stage.metered_at_start_m3
    return tuple(
        ((at_s - stage.started_s) / 60.0, metered_m3 - start_m3)
        for at_s, metered_m3 in state.flow.trend
        if at_s >= stage.started_s
    )


def stage_view(state: State, stage: Stage, begun: int) -> StageView:
    """One stage; `begun` is its place among the stages that were begun, from 1."""
    plan, fill = state.plan, filling.fill(state, stage)
    mix = grouting.stage_mix(plan, stage.index)
    batches = [batch for batch in state.grout.batches if batch.stage == begun - 1]
    mixed_m3 = sum(batch.volume_m3 for batch in batches)
    grout_m3 = fill.pumped_m3 - fill.displacing_m3
    to_mix_m3 = max(grout_m3 + fill.needed_m3 - max(mixed_m3, grout_m3), 0.0)
    rate = state.flow.rate_m3_s
    until_s = state.elapsed_s if stage.ended_s is None else stage.ended_s
    return StageView(
        name=filling.planned_stage(plan, stage).name,
        begun=begun,
        planned_stages=len(plan.stages),
        mix=mix.name,
        bottom=Quantity(stage.bottom_m, Kind.DEPTH),
        top=Quantity(stage.top_m, Kind.DEPTH),
        theory=Quantity(fill.theory_m3, Kind.VOLUME),
        planned=Quantity(fill.planned_m3, Kind.VOLUME),
        planned_high=Quantity(fill.planned_high_m3, Kind.VOLUME),
        line=Quantity(fill.line_m3, Kind.VOLUME),
        displacing=Quantity(fill.displacing_m3 or None, Kind.VOLUME),
        pumped=Quantity(fill.pumped_m3, Kind.VOLUME),
        out=Quantity(fill.out_m3, Kind.VOLUME),
        share=Quantity(fill.pumped_m3 / fill.planned_m3 if fill.planned_m3 > 0 else None, Kind.SHARE),
        needed_low=Quantity(fill.needed_low_m3, Kind.VOLUME),
        needed=Quantity(fill.needed_m3, Kind.VOLUME),
        needed_high=Quantity(fill.needed_high_m3, Kind.VOLUME),
        bags_needed=-int(-to_mix_m3 // mix.yield_per_bag_m3),
        unseen=_unseen(stage, fill),
        top_low=Quantity(fill.top.low_m, Kind.DEPTH),
        top_likely=Quantity(fill.top.likely_m, Kind.DEPTH),
        top_high=Quantity(fill.top.high_m, Kind.DEPTH),
        time_to_top=Quantity(fill.needed_m3 / rate if rate and rate > 0 and stage.open else None, Kind.DURATION),
        returns=_returns(stage, fill, rate if stage.open else None, heard=watching.returns_heard(state) is not None),
        tremie=_tremie(state, fill),
        batches=tuple(
            BatchRow(
                place=place,
                number=batch.number,
                bags=batch.bags,
                volume=Quantity(batch.volume_m3, Kind.VOLUME),
                density=Quantity(batch.density_kg_m3, Kind.DENSITY),
                age=Quantity(until_s - batch.elapsed_s, Kind.DURATION),
                at=batch.at,
            )
            for place, batch in enumerate(batches, start=1)
        ),
        mixed=Quantity(mixed_m3, Kind.VOLUME),
        density_wanted=Quantity(mix.density_kg_m3, Kind.DENSITY),
        oldest_batch=Quantity(until_s - batches[0].elapsed_s if batches else None, Kind.DURATION),
        working_time=Quantity(mix.working_time_s, Kind.DURATION),
        good_until=_at(state, grouting.oldest_good_until_s(state, begun - 1)) if stage.open else None,
        high_in_at=_at(state, _high_in_s(state, stage, fill)),
        chance=Quantity(fill.chance if stage.open else None, Kind.SHARE),
        zone=_zone_ahead(state, fill) if stage.open else None,
        inflow=_inflow(state, stage, fill) if stage.open else None,
        started_at=stage.started_at,
        ended_at=stage.ended_at,
        outcome=stage.outcome,
    )


def _at(state: State, elapsed_s: float | None) -> datetime | None:
    return None if elapsed_s is None else state.at + timedelta(seconds=elapsed_s - state.elapsed_s)


def _high_in_s(state: State, stage: Stage, fill: Fill) -> float | None:
    pace_m3_s = grouting.pace_m3_s(state, stage)
    if pace_m3_s is None:
        return None
    return state.elapsed_s + placement.time_to_pump_s(volume_m3=fill.needed_high_m3, flow_m3_s=pace_m3_s)


def _zone_ahead(state: State, fill: Fill) -> ZoneAhead | None:
    zone = zones.ahead(state, fill.top.likely_m)
    if zone is None:
        return None
    above_m = fill.top.likely_m - zone.bottom_m
    return ZoneAhead(zone.kind, Quantity(zone.bottom_m, Kind.DEPTH), Quantity(above_m, Kind.LENGTH))


def _inflow(state: State, stage: Stage, fill: Fill) -> InflowView | None:
    found = inflow(state, stage, fill)
    if found is None or found.difference_pa <= 0.0:
        return None
    return InflowView(Quantity(found.difference_pa, Kind.PRESSURE), Quantity(found.balance_m, Kind.DEPTH))


def _returns(stage: Stage, fill: Fill, rate_m3_s: float | None, *, heard: bool) -> ReturnsView:
    last = stage.returns[-1] if stage.returns else None
    first = next((seen for seen in stage.returns if seen.strength != "none"), None)
    if heard and (last is None or last.strength == "none"):
        verdict = "seen"
    elif first is not None and last is not None:
        verdict = "stopped" if last.strength == "none" else "seen"
    elif fill.pumped_m3 > fill.due.high_m3:
        verdict = "overdue"
    else:
        verdict = "due now" if fill.pumped_m3 >= fill.due.low_m3 else "not yet due"
    until_m3 = max(fill.due.low_m3 - fill.pumped_m3, 0.0)
    weighed = next((seen.density_kg_m3 for seen in reversed(stage.returns) if seen.density_kg_m3), None)
    return ReturnsView(
        due_low=Quantity(fill.due.low_m3, Kind.VOLUME),
        due_high=Quantity(fill.due.high_m3, Kind.VOLUME),
        due_fluid=fill.due.fluid,
        to_go=Quantity(fill.due.high_m3 - fill.pumped_m3, Kind.VOLUME),
        verdict=verdict,
        until_due=Quantity(until_m3, Kind.VOLUME),
        due_in=Quantity(until_m3 / rate_m3_s if rate_m3_s and rate_m3_s > 0 else None, Kind.DURATION),
        strength=last.strength if last else "",
        fluid=last.fluid if last else "",
        seen_at=last.at if last else None,
        first_at=first.at if first else None,
        density=Quantity(weighed, Kind.DENSITY),
    )


def _unseen(stage: Stage, fill: Fill) -> bool:
    full = stage.top_m <= AT_SURFACE_M and fill.top.low_m <= stage.top_m + AT_SURFACE_M
    return stage.open and full and not any(seen.fluid == "grout" for seen in stage.returns)


def _tremie(state: State, fill: Fill) -> TremieView | None:
    tremie, tip_m = state.plan.tremie, state.grout.tremie_tip_m
    if tremie is None:
        return None
    if tip_m is None:
        return TremieView(Quantity(None, Kind.DEPTH), Quantity(None, Kind.LENGTH), 0, hangs=False)
    may_pull = placement.sections_that_may_be_pulled(
        tip_depth_m=tip_m,
        lowest_top_m=fill.top.low_m,
        section_lengths_m=[tremie.section_m] * int(tip_m // tremie.section_m),
        minimum_cover_m=tremie.minimum_cover_m,
    )
    return TremieView(
        tip=Quantity(tip_m, Kind.DEPTH),
        cover=Quantity(tip_m - fill.top.low_m, Kind.LENGTH),
        may_pull=may_pull,
        hangs=True,
        waits=fill.out_m3 <= 0.0,
    )
