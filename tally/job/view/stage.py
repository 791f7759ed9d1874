"""One stage: pumped against planned, where its grout probably is, when returns are due, what is still needed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from tally.engineering import placement
from tally.job import fill as filling
from tally.job import grouting, watching, zones
from tally.job.fill import Fill
from tally.job.inflow import inflow
from tally.job.state import Stage, State
from tally.job.view.grouted import GroutedView, grouted_view
from tally.job.view.quantity import Kind, Quantity

AT_SURFACE_M = 0.3
"""A top this near to ground level is seen."""


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
    """When the high volume is in, at the pace so far, stops and all; None once it is."""
    chance: Quantity
    """That what is aboard suffices for this stage."""
    zone: ZoneAhead | None
    inflow: InflowView | None
    grouted: GroutedView | None
    started_at: datetime
    ended_at: datetime | None
    outcome: str


def at(state: State, elapsed_s: float | None) -> datetime | None:
    return None if elapsed_s is None else state.at + timedelta(seconds=elapsed_s - state.elapsed_s)


def stage_view(state: State, stage: Stage, begun: int) -> StageView:
    """One stage; `begun` is its place among the stages that were begun, from 1."""
    plan, fill = state.plan, filling.fill(state, stage)
    mix = grouting.stage_mix(plan, stage.index)
    batches = [batch for batch in state.grout.batches if batch.stage == begun - 1]
    mixed_m3 = sum(batch.volume_m3 for batch in batches)
    grout_m3 = fill.pumped_m3 - fill.displacing_m3
    to_mix_m3 = max(grout_m3 + fill.needed_m3 - max(mixed_m3, grout_m3), 0.0)
    done = not stage.open and stage.outcome not in grouting.UNFINISHED
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
        needed=Quantity(0.0 if done else fill.needed_m3, Kind.VOLUME),
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
        good_until=at(state, grouting.oldest_good_until_s(state, begun - 1)) if stage.open else None,
        high_in_at=at(state, _high_in_s(state, stage, fill)),
        chance=Quantity(fill.chance if stage.open else None, Kind.SHARE),
        zone=_zone_ahead(state, fill) if stage.open else None,
        inflow=_inflow(state, stage, fill) if stage.open else None,
        grouted=grouted_view(state, stage, fill) if stage.open else None,
        started_at=stage.started_at,
        ended_at=stage.ended_at,
        outcome=stage.outcome,
    )


def _high_in_s(state: State, stage: Stage, fill: Fill) -> float | None:
    pace_m3_s = grouting.pace_m3_s(state, stage)
    if pace_m3_s is None or fill.needed_high_m3 <= 0.0:
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
