"""The grouting as the report tells it: each stage with everything that went into it and came back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from tally.job import events as ev
from tally.job import fill as filling
from tally.job import geometry, grouting
from tally.job.plan import Mix
from tally.job.state import Batch, Returns, Stage, State, Tag
from tally.job.view.entered import at_elapsed, entered
from tally.job.view.quantity import Kind, Quantity


@dataclass(frozen=True, slots=True)
class MixReport:
    name: str
    bag: Quantity
    parts: tuple[tuple[str, Quantity], ...]
    """Solids to one bag, the bag's own first, of a mix that is no more than told by these: bentonite or a recipe."""
    water_per_bag: Quantity
    bentonite: Quantity
    bentonite_basis: str
    sand_per_bag: Quantity
    yield_per_bag: Quantity
    density: Quantity
    density_band: Quantity
    working_time: Quantity
    waiting_time: Quantity


@dataclass(frozen=True, slots=True)
class BatchReport:
    number: int
    place: int
    bags: int
    water: Quantity
    volume: Quantity
    density: Quantity
    verdict: str
    """"as wanted", "low", "high" or "not weighed"."""
    at: datetime


@dataclass(frozen=True, slots=True)
class ReturnsRow:
    number: int
    strength: str
    fluid: str
    density: Quantity
    pumped: Quantity
    at: datetime


@dataclass(frozen=True, slots=True)
class TagRow:
    number: int
    depth: Quantity
    pumped: Quantity
    lost: bool
    after_end: bool
    at: datetime


SILENT = "the meter was silent; whether the pump stood is not known"


@dataclass(frozen=True, slots=True)
class InterruptionRow:
    source: Literal["meter", "key"]
    began_at: datetime
    ended_at: datetime | None
    """None while it lasts."""
    lasted: Quantity
    reason: str
    silent: bool = False
    """The meter sent nothing, and nobody said that the pump stood."""


@dataclass(frozen=True, slots=True)
class StageReport:
    begun: int
    """Its place among the stages that were begun, from 1."""
    planned_place: int
    """Its place in the plan, from 1."""
    name: str
    method: str
    bottom: Quantity
    top: Quantity
    mix: MixReport
    theory: Quantity
    allowance: Quantity
    planned: Quantity
    planned_high: Quantity
    pumped: Quantity
    metered: Quantity
    typed: Quantity
    line: Quantity
    out: Quantity
    excess: Quantity
    """Out of the line over the annulus in theory, from the stage's bottom to `found`, less one."""
    found: Quantity
    """Where the grout was found after the stage ended; its planned top where nobody looked."""
    """Out of the line beyond theory, as a share of the annulus in theory."""
    batches: tuple[BatchReport, ...]
    bags: int
    mixed: Quantity
    due_low: Quantity
    due_high: Quantity
    due_fluid: str
    returns: tuple[ReturnsRow, ...]
    first_returns: ReturnsRow | None
    full_returns: ReturnsRow | None
    last_returns: ReturnsRow | None
    good_grout: ReturnsRow | None
    """When grout at full strength was first seen at surface."""
    tags: tuple[TagRow, ...]
    topped_up: Quantity
    """Poured in from the top after the end."""
    interruptions: tuple[InterruptionRow, ...]
    times_interrupted: int
    """A stop that both the meter and a key tell counts once."""
    interrupted: Quantity
    """All interruptions together, none counted twice."""
    started_at: datetime
    ended_at: datetime | None
    lasted: Quantity
    oldest_batch: Quantity
    """Age of the first batch when the stage ended."""
    outcome: str
    remark: str
    set_until: datetime | None
    """End and waiting time of the mix: nothing drills on before."""


def stage_reports(state: State) -> tuple[StageReport, ...]:
    return tuple(_stage(state, place, stage) for place, stage in enumerate(state.grout.stages))


def loose_batches(state: State) -> tuple[BatchReport, ...]:
    """Batches mixed for a stage that was not begun."""
    begun = len(state.grout.stages)
    mix = grouting.stage_mix(state.plan, begun)
    loose = [batch for batch in state.grout.batches if batch.stage >= begun]
    return tuple(_batch(mix, place, batch) for place, batch in enumerate(loose, start=1))


def _stage(state: State, place: int, stage: Stage) -> StageReport:
    plan, fill = state.plan, filling.fill(state, stage)
    planned, mix = filling.planned_stage(plan, stage), grouting.stage_mix(plan, stage.index)
    batches = [batch for batch in state.grout.batches if batch.stage == place]
    until_s = state.elapsed_s if stage.ended_s is None else stage.ended_s
    returns = [_returns(seen) for seen in stage.returns]
    coming = [row for row in returns if row.strength != "none"]
    full = [row for row in coming if row.strength == "full"]
    interruptions = tuple(_interruptions(state, place, stage))
    stops = _merged([(begin, end) for begin, end, row in interruptions if not row.silent])
    found_m = _found_m(stage)
    bare = geometry.bare_annulus(state)
    bottom_m = min(stage.bottom_m, bare.bottom_m)
    filled_m3 = bare.volume_m3(min(found_m, bottom_m), bottom_m)
    excess = fill.out_m3 / filled_m3 - 1 if filled_m3 > 0 and fill.out_m3 > 0 else None
    return StageReport(
        begun=place + 1,
        planned_place=stage.index + 1,
        name=planned.name,
        method=planned.method,
        bottom=Quantity(stage.bottom_m, Kind.DEPTH),
        top=Quantity(stage.top_m, Kind.DEPTH),
        mix=mix_report(mix),
        theory=Quantity(fill.theory_m3, Kind.VOLUME),
        allowance=Quantity(planned.allowance_share, Kind.SHARE),
        planned=Quantity(fill.planned_m3, Kind.VOLUME),
        planned_high=Quantity(fill.planned_high_m3, Kind.VOLUME),
        pumped=Quantity(fill.pumped_m3, Kind.VOLUME),
        metered=Quantity(fill.pumped_m3 - stage.typed_m3, Kind.VOLUME),
        typed=Quantity(stage.typed_m3, Kind.VOLUME),
        line=Quantity(fill.line_m3, Kind.VOLUME),
        out=Quantity(fill.out_m3, Kind.VOLUME),
        excess=Quantity(excess, Kind.SHARE),
        found=Quantity(found_m, Kind.DEPTH),
        batches=tuple(_batch(mix, number, batch) for number, batch in enumerate(batches, start=1)),
        bags=sum(batch.bags for batch in batches),
        mixed=Quantity(sum(batch.volume_m3 for batch in batches), Kind.VOLUME),
        due_low=Quantity(fill.due.low_m3, Kind.VOLUME),
        due_high=Quantity(fill.due.high_m3, Kind.VOLUME),
        due_fluid=fill.due.fluid,
        returns=tuple(returns),
        first_returns=coming[0] if coming else None,
        full_returns=full[0] if full else None,
        last_returns=coming[-1] if coming else None,
        good_grout=next((row for row in full if row.fluid == "grout"), None),
        tags=tuple(_tag(stage, tag) for tag in stage.tags),
        topped_up=Quantity(stage.topped_up_m3, Kind.VOLUME),
        interruptions=tuple(row for _, _, row in interruptions),
        times_interrupted=len(stops),
        interrupted=Quantity(sum(end - begin for begin, end in stops), Kind.DURATION),
        started_at=stage.started_at,
        ended_at=stage.ended_at,
        lasted=Quantity(until_s - stage.started_s, Kind.DURATION),
        oldest_batch=Quantity(until_s - batches[0].elapsed_s if batches else None, Kind.DURATION),
        outcome=stage.outcome,
        remark=stage.remark,
        set_until=stage.ended_at + timedelta(seconds=mix.waiting_time_s) if stage.ended_at else None,
    )


def _found_m(stage: Stage) -> float:
    """A stage that was left to set short of its top is judged by what it filled."""
    short = stage.outcome in ("left to set", "given up")
    after = [tag.depth_m for tag in stage.tags if stage.ended_s is not None and tag.elapsed_s >= stage.ended_s]
    return after[0] if short and after else stage.top_m


def _parts(mix: Mix) -> tuple[tuple[str, Quantity], ...]:
    told = mix.kind in ("bentonite", "recipe")
    return tuple((part.name, Quantity(part.mass_kg, Kind.MASS)) for part in mix.parts) if told else ()


def mix_report(mix: Mix) -> MixReport:
    return MixReport(
        name=mix.name,
        bag=Quantity(mix.bag_kg, Kind.MASS),
        parts=_parts(mix),
        water_per_bag=Quantity(mix.water_per_bag_m3, Kind.VOLUME),
        bentonite=Quantity(mix.bentonite_share, Kind.SHARE),
        bentonite_basis=mix.bentonite_basis,
        sand_per_bag=Quantity(mix.sand_per_bag_kg, Kind.MASS),
        yield_per_bag=Quantity(mix.yield_per_bag_m3, Kind.VOLUME),
        density=Quantity(mix.density_kg_m3, Kind.DENSITY),
        density_band=Quantity(mix.density_band_kg_m3, Kind.DENSITY),
        working_time=Quantity(mix.working_time_s, Kind.DURATION),
        waiting_time=Quantity(mix.waiting_time_s, Kind.DURATION),
    )


def _batch(mix: Mix, place: int, batch: Batch) -> BatchReport:
    return BatchReport(
        number=batch.number,
        place=place,
        bags=batch.bags,
        water=Quantity(batch.water_m3, Kind.VOLUME),
        volume=Quantity(batch.volume_m3, Kind.VOLUME),
        density=Quantity(batch.density_kg_m3, Kind.DENSITY),
        verdict=_density_verdict(mix, batch.density_kg_m3),
        at=batch.at,
    )


def _density_verdict(mix: Mix, density_kg_m3: float | None) -> str:
    if density_kg_m3 is None:
        return "not weighed"
    off_kg_m3 = density_kg_m3 - mix.density_kg_m3
    if abs(off_kg_m3) <= mix.density_band_kg_m3:
        return "as wanted"
    return "high" if off_kg_m3 > 0 else "low"


def _returns(seen: Returns) -> ReturnsRow:
    return ReturnsRow(
        number=seen.number,
        strength=seen.strength,
        fluid="" if seen.strength == "none" else seen.fluid,
        density=Quantity(seen.density_kg_m3, Kind.DENSITY),
        pumped=Quantity(seen.pumped_m3, Kind.VOLUME),
        at=seen.at,
    )


def _tag(stage: Stage, tag: Tag) -> TagRow:
    return TagRow(
        number=tag.number,
        depth=Quantity(tag.depth_m, Kind.DEPTH),
        pumped=Quantity(tag.pumped_m3, Kind.VOLUME),
        lost=tag.lost,
        after_end=stage.ended_s is not None and tag.elapsed_s >= stage.ended_s,
        at=tag.at,
    )


def stops_s(state: State, place: int, stage: Stage) -> list[tuple[float, float]]:
    """(from, until) [session s] of each time that the pump stood still in the stage, by meter or by key.

    A time when the meter was silent is none, unless somebody said so.
    """
    return _merged([(begin_s, end_s) for begin_s, end_s, row in _interruptions(state, place, stage) if not row.silent])


def _interruptions(state: State, place: int, stage: Stage) -> Iterator[tuple[float, float, InterruptionRow]]:
    """(from, until, row) [session s] of each stop in the stage, by meter and by key, in order of their start."""
    keyed = list(_keyed(state, stage))
    found = [(begin_s, end_s, "key", ends, reason, False) for begin_s, end_s, ends, reason in keyed]
    for seen in state.flow.interruptions:
        if seen.stage == place:
            reasons = [reason for begin_s, end_s, _, reason in keyed if begin_s < seen.until_s and seen.from_s < end_s]
            silent = seen.silent and not reasons
            told = SILENT if silent else "; ".join(filter(None, reasons))
            found.append((seen.from_s, seen.until_s, "meter", True, told, silent))
    for begin_s, end_s, source, ends, reason, silent in sorted(found):
        yield (
            begin_s,
            end_s,
            InterruptionRow(
                source="key" if source == "key" else "meter",
                began_at=at_elapsed(state, begin_s),
                ended_at=at_elapsed(state, end_s) if ends else None,
                lasted=Quantity(end_s - begin_s, Kind.DURATION),
                reason=reason,
                silent=silent,
            ),
        )


def _keyed(state: State, stage: Stage) -> Iterator[tuple[float, float, bool, str]]:
    """(from, until, whether it ended, reason) of each stop that was entered by key."""
    until_s = state.elapsed_s if stage.ended_s is None else stage.ended_s
    starts = [start.elapsed_s for start in entered(state, ev.PumpStarted)]
    for stop in entered(state, ev.PumpStopped):
        if stage.started_s <= stop.elapsed_s <= until_s:
            again_s = next((start_s for start_s in starts if stop.elapsed_s <= start_s <= until_s), None)
            ended = again_s is not None or not stage.open
            yield stop.elapsed_s, until_s if again_s is None else again_s, ended, stop.event.reason


def _merged(spans: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Spans that overlap as one."""
    merged: list[tuple[float, float]] = []
    for begin, end in sorted(spans):
        if merged and begin <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], end))
        else:
            merged.append((begin, end))
    return merged
