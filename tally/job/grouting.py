"""The grouting as entered: how an entry changes it, and the volumes that follow from it and the meter's count."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from tally.job import events as ev
from tally.job.hole import ZoneKind
from tally.job.metering import STOPPED_AFTER_S
from tally.job.plan import Mix, Plan
from tally.job.state import Batch, Checked, Dip, Flow, FoundZone, Grout, Kept, Returns, Stage, State, Stop, Tag

UNFINISHED = ("left to set", "given up")
"""Outcomes after which the same planned stage goes on, from wherever its grout is tagged."""
LOSS_M = 1.0
"""Height of the zone that a tag with grout lost below it stands for: common practice, about the reach of a line."""
PACE_AFTER_S = 120.0
"""Less pumping than this tells nothing of a pace."""
RUN_DOWN_S = 5.0
"""A pump turns over this long after it was stopped; movement later than that is a new start."""


def after(plan: Plan, grout: Grout, kept: Kept) -> Grout:
    """`grout` with one more entry; entries about other things leave it as it is."""
    event = kept.entry.event
    match event:
        case ev.StageStarted():
            return _started(grout, kept, event)
        case ev.BatchMixed():
            return replace(grout, batches=(*grout.batches, _batch(plan, grout, kept, event)))
        case ev.BatchWeighed() if grout.batches:
            weighed = replace(grout.batches[-1], density_kg_m3=event.density_kg_m3)
            return replace(grout, batches=(*grout.batches[:-1], weighed))
        case ev.TremieSet():
            grout = replace(grout, tremie_tip_m=event.tip_m or None, tremie_out=event.tip_m == 0)
            return _last_stage_after(grout, kept) if grout.stage else grout
        case ev.ZoneNoted() if event.bottom_m > event.top_m:
            return _with_zone(grout, kept, event.top_m, event.bottom_m, event.of, event.note)
        case ev.TremiePulled() if plan.tremie is not None and grout.tremie_tip_m is not None:
            tip_m = grout.tremie_tip_m - event.sections * plan.tremie.section_m
            return replace(grout, tremie_tip_m=max(tip_m, 0.0) or None, tremie_out=tip_m <= 0)
        case ev.CheckConfirmed():
            return _checked(grout, Checked(kept.entry.number, event.check, True, "", kept.entry.at))
        case ev.CheckOverridden():
            return _checked(grout, Checked(kept.entry.number, event.check, False, event.reason, kept.entry.at))
        case ev.GroundDrinks():
            return replace(grout, drinks_water=event.drinks)
        case ev.TopTagged(lost=True) if grout.stages:
            grout = _with_zone(grout, kept, event.depth_m, event.depth_m + LOSS_M, "loss", "grout lost below a tag")
            return _last_stage_after(grout, kept)
        case ev.PumpStopped():
            return replace(grout, pump_stop=Stop(kept.elapsed_s, event.reason))
        case ev.PumpStarted():
            return replace(grout, pump_stop=None, pump_moved_s=kept.elapsed_s)
        case ev.StockDelivered():
            return replace(
                grout,
                bags_delivered=grout.bags_delivered + event.bags,
                water_delivered_m3=grout.water_delivered_m3 + event.water_m3,
            )
        case ev.TankDipped() if grout.stage is not None:
            pumped = pumped_by(grout.stage, kept.metered_m3)
            dip = Dip(kept.entry.number, event.volume_m3, len(grout.stages) - 1, pumped)
            return replace(grout, dips=(*grout.dips, dip))
        case ev.VolumeAdded() | ev.ToppedUp() | ev.ReturnsSeen() | ev.TopTagged() | ev.StageEnded() if grout.stages:
            return _last_stage_after(grout, kept)
    return grout


def _checked(grout: Grout, checked: Checked) -> Grout:
    others = (each for each in grout.checks if each.check != checked.check)
    return replace(grout, checks=(*others, checked))


def _with_zone(grout: Grout, kept: Kept, top_m: float, bottom_m: float, kind: ZoneKind, note: str) -> Grout:
    found = FoundZone(kept.entry.number, top_m, bottom_m, kind, note, kept.entry.at)
    return replace(grout, zones=(*grout.zones, found))


def _started(grout: Grout, kept: Kept, event: ev.StageStarted) -> Grout:
    stage = Stage(
        index=event.stage,
        bottom_m=event.bottom_m,
        top_m=event.top_m,
        started_number=kept.entry.number,
        started_at=kept.entry.at,
        started_s=kept.elapsed_s,
        metered_at_start_m3=kept.metered_m3,
        tip_m=grout.tremie_tip_m,
    )
    return replace(grout, stages=(*grout.stages, stage), pump_stop=None, pump_moved_s=None)


def _batch(plan: Plan, grout: Grout, kept: Kept, event: ev.BatchMixed) -> Batch:
    under_way = grout.stage
    mix = stage_mix(plan, coming_index(grout) if under_way is None else under_way.index)
    return Batch(
        number=kept.entry.number,
        # Mixed ahead of its stage, a batch belongs to the one that begins next.
        stage=len(grout.stages) - 1 if under_way else len(grout.stages),
        bags=event.bags,
        water_m3=event.water_m3,
        # Water beyond the recipe adds its own volume to the batch.
        volume_m3=event.bags * (mix.yield_per_bag_m3 - mix.water_per_bag_m3) + event.water_m3,
        density_kg_m3=event.density_kg_m3,
        elapsed_s=kept.elapsed_s,
        at=kept.entry.at,
    )


def _last_stage_after(grout: Grout, kept: Kept) -> Grout:
    stage, event, entry = grout.stages[-1], kept.entry.event, kept.entry
    moved_s = grout.pump_moved_s
    pumped_m3 = pumped_by(stage, kept.metered_m3)
    match event:
        case ev.VolumeAdded() if stage.open:
            stage = replace(stage, typed_m3=stage.typed_m3 + event.volume_m3)
            moved_s = kept.elapsed_s
        case ev.ToppedUp() if not stage.open:
            stage = replace(stage, topped_up_m3=stage.topped_up_m3 + event.volume_m3)
        case ev.ReturnsSeen() if stage.open:
            seen = Returns(
                entry.number,
                event.strength,
                event.fluid,
                event.density_kg_m3,
                pumped_m3,
                kept.metered_m3,
                kept.elapsed_s,
                entry.at,
            )
            stage = replace(stage, returns=(*stage.returns, seen))
        case ev.TopTagged():
            tag = Tag(entry.number, event.depth_m, pumped_m3, event.lost, kept.elapsed_s, entry.at)
            stage = replace(stage, tags=(*stage.tags, tag))
        case ev.TremieSet() if pumped_m3 <= 0.0:
            stage = replace(stage, tip_m=grout.tremie_tip_m)
        case ev.StageEnded() if stage.open:
            stage = replace(
                stage,
                ended_at=entry.at,
                ended_s=kept.elapsed_s,
                metered_at_end_m3=kept.metered_m3,
                outcome=event.outcome,
                remark=event.remark,
            )
    return replace(grout, stages=(*grout.stages[:-1], stage), pump_moved_s=moved_s)


def coming_index(grout: Grout) -> int:
    """Place in the plan of the stage that comes next: a stage that was left to set is begun again."""
    if not grout.stages:
        return 0
    last = grout.stages[-1]
    return last.index if last.open or last.outcome in UNFINISHED else last.index + 1


def stage_mix(plan: Plan, index: int) -> Mix:
    """The mix of the plan's stage `index`; past the last stage, the last one's."""
    return plan.mix(plan.stages[min(index, len(plan.stages) - 1)].mix)


def pumped_by(stage: Stage, metered_m3: float) -> float:
    """Pumped in `stage` [m3] by the time the meter had counted `metered_m3`; typed volumes included."""
    until = metered_m3 if stage.metered_at_end_m3 is None else stage.metered_at_end_m3
    return max(until - stage.metered_at_start_m3, 0.0) + stage.typed_m3


def pumped_m3(stage: Stage, flow: Flow) -> float:
    """Pumped in `stage` so far [m3]."""
    return pumped_by(stage, flow.metered_m3)


def pace_m3_s(state: State, stage: Stage) -> float | None:
    """Volume over time since the stage's grout first moved, stops and all [m3/s]; None while that tells nothing."""
    moved = next((at_s for at_s, _ in state.flow.trend if at_s >= stage.started_s), None)
    began_s = stage.started_s if moved is None else moved
    lasted_s, done_m3 = state.elapsed_s - began_s, pumped_m3(stage, state.flow)
    return done_m3 / lasted_s if stage.open and lasted_s >= PACE_AFTER_S and done_m3 > 0.0 else None


def drawn_m3(grout: Grout) -> tuple[float, float]:
    """(pumped, drawn from the tank) in the stage under way, over the times between two dips of which the second found
    less: where it found more, the tank was filled in between and says nothing [m3]."""
    mine = [dip for dip in grout.dips if dip.stage == len(grout.stages) - 1]
    fallen = [(a, b) for a, b in pairwise(mine) if b.volume_m3 <= a.volume_m3]
    return sum(b.pumped_m3 - a.pumped_m3 for a, b in fallen), sum(a.volume_m3 - b.volume_m3 for a, b in fallen)


def mixed_m3(state: State, place: int) -> float:
    """Mixed for the stage at `place` among those that were begun [m3]."""
    return sum(batch.volume_m3 for batch in state.grout.batches if batch.stage == place)


def oldest_good_until_s(state: State, place: int) -> float | None:
    """When the working time of the stage's oldest batch ends [session s]; None before one was mixed."""
    begun = [batch.elapsed_s for batch in state.grout.batches if batch.stage == place]
    index = state.grout.stages[place].index
    return min(begun) + stage_mix(state.plan, index).working_time_s if begun else None


def bags_left(state: State) -> int:
    """Bags aboard that were not mixed."""
    grout = state.grout
    return state.plan.aboard.bags + grout.bags_delivered - sum(batch.bags for batch in grout.batches)


def water_left_m3(state: State) -> float:
    """Mixing water aboard that was not used [m3]."""
    grout = state.grout
    used = sum(batch.water_m3 for batch in grout.batches)
    return state.plan.aboard.water_m3 + grout.water_delivered_m3 - used


def stopped_since_s(state: State) -> float | None:
    """When the pump was last seen to move in the stage under way [session s]; None while it moves or before it did."""
    stage = state.grout.stage
    if stage is None:
        return None
    stop = state.grout.pump_stop
    if stop is not None:
        # Whoever starts the pump again may forget the key; the meter does not.
        return max(stop.from_s, state.flow.moved_s or 0.0) if _moves_again(state, stop) else stop.from_s
    moved = [at for at in (state.flow.moved_s, state.grout.pump_moved_s) if at is not None and at >= stage.started_s]
    return max(moved, default=None)


def _moves_again(state: State, stop: Stop) -> bool:
    return state.flow.moved_s is not None and state.flow.moved_s > stop.from_s + RUN_DOWN_S


def pump_words(state: State) -> str:
    """Whether grout moves: "moving", "still" or "not started"."""
    since_s = stopped_since_s(state)
    if since_s is None:
        return "not started"
    stop = state.grout.pump_stop
    stopped = stop is not None and not _moves_again(state, stop)
    return "still" if stopped or state.elapsed_s - since_s > STOPPED_AFTER_S else "moving"
