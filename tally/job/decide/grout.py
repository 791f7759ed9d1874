"""Entries about the grouting."""

from __future__ import annotations

from tally.job import events as ev
from tally.job import geometry, grouting, lengths, starting
from tally.job import intents as want
from tally.job.alarms.meter import GAP_WORTH_ASKING_M3
from tally.job.decide.refusal import Deciders, Decision, Refusal, of, within
from tally.job.state import Stage, State
from tally.job.view.quantity import Kind

MOST_BAGS = 500
MOST_DELIVERED_BAGS = 10_000
MOST_DELIVERED_M3 = 1_000.0
MOST_VOLUME_M3 = 50.0
MOST_STROKES = 100_000
SAME_VOLUME_M3 = 0.001
AGAINST = "against"
"""Field of a refusal that asks why a stage is begun all the same."""


def next_stage(state: State) -> tuple[int, float, float] | Refusal:
    """(place in the plan, bottom, top) of the stage that comes next."""
    plan, begun = state.plan, state.grout.stages
    last = begun[-1] if begun else None
    if last is None:
        return 0, min(plan.stages[0].bottom_m, geometry.annulus(state).bottom_m), plan.stages[0].top_m
    if last.open:
        return Refusal("stage", "a stage is under way; end it before the next begins")
    after_end = [tag for tag in last.tags if last.ended_s is not None and tag.elapsed_s >= last.ended_s]
    if last.outcome in grouting.UNFINISHED or after_end or _stands_higher(state, last):
        return _from_tag(state, last)
    if last.index + 1 >= len(plan.stages):
        return Refusal("stage", "every planned stage is done; tag the top if it has settled, then top it up")
    planned = plan.stages[last.index + 1]
    return last.index + 1, planned.bottom_m, planned.top_m


def _stands_higher(state: State, last: Stage) -> bool:
    """Whether a tag that still holds found the top above where the stage was to end."""
    return bool(last.tags) and _still_holds(state, last) and last.tags[-1].depth_m < last.top_m


def _still_holds(state: State, last: Stage) -> bool:
    """A tag from before more was pumped says nothing of where the grout stands now."""
    return grouting.pumped_m3(last, state.flow) - last.tags[-1].pumped_m3 <= SAME_VOLUME_M3


def _from_tag(state: State, last: Stage) -> tuple[int, float, float] | Refusal:
    if not last.tags or not _still_holds(state, last):
        return Refusal("stage", "where the last stage left off is not known: tag the top first")
    depth_m = last.tags[-1].depth_m
    for index in range(last.index, len(state.plan.stages)):
        if state.plan.stages[index].top_m < depth_m:
            return index, depth_m, state.plan.stages[index].top_m
    return Refusal(
        "stage",
        "the top was tagged at {0}, above every planned stage: nothing is left to fill",
        values=of(Kind.DEPTH, depth_m),
    )


def _start_stage(state: State, intent: want.StartStage) -> Decision:
    following = next_stage(state)
    if isinstance(following, Refusal):
        return following
    if state.string.landed_on is None and not intent.sure:
        return Refusal("stage", "the casing is not landed yet", "grout it all the same? Enter again records it")
    if (early := _too_early(state)) and not intent.sure:
        return early
    coming, against = starting.start(state, *following), intent.against.strip()
    if coming.go is False and not against:
        return Refusal(
            AGAINST,
            "NO-GO: the high volume takes {0}, the mix works {1}",
            "Begin against it? Its reason is recorded",
            of(Kind.DURATION, coming.takes_s or 0.0, max(coming.left_s, 0.0)),
        )
    index, bottom_m, top_m = following
    return [ev.StageStarted(stage=index, bottom_m=bottom_m, top_m=top_m, against=against if coming.go is False else "")]


def _too_early(state: State) -> Refusal | None:
    """A stage that was left to set carries the next once it has; of that its mix's waiting time is known."""
    last = state.grout.stages[-1] if state.grout.stages else None
    if last is None or last.ended_s is None or last.outcome != "left to set":
        return None
    waits_s = grouting.stage_mix(state.plan, last.index).waiting_time_s
    since_s = state.elapsed_s - last.ended_s
    if since_s >= waits_s:
        return None
    return Refusal(
        "stage",
        "the stage below was left to set {0} ago, and its mix waits {1}",
        "has it set, by its sample or a hard tag? Enter again records it",
        of(Kind.DURATION, since_s, waits_s),
    )


def _mix_batch(state: State, intent: want.MixBatch) -> Decision:
    if not 1 <= intent.bags <= MOST_BAGS:
        return Refusal("bags", f"given {intent.bags}; a whole number from 1 to {MOST_BAGS} is accepted")
    left = grouting.bags_left(state)
    if intent.bags > left and not intent.sure:
        return Refusal("bags", f"only {left} bags are aboard by the count", "counted wrong? Enter again records it")
    stage = state.grout.stage
    mix = grouting.stage_mix(state.plan, stage.index if stage else grouting.coming_index(state.grout))
    water_m3 = intent.bags * mix.water_per_bag_m3 if intent.water_m3 is None else intent.water_m3
    if wrong := within("water", water_m3, 0.0, MOST_VOLUME_M3, Kind.VOLUME):
        return wrong
    return [ev.BatchMixed(bags=intent.bags, water_m3=water_m3, typed=intent.typed)]


def _weigh_batch(state: State, intent: want.WeighBatch) -> Decision:
    if not state.grout.batches:
        return Refusal("density", "no batch was mixed yet")
    if wrong := within("density", intent.density_kg_m3, 900.0, 3_000.0, Kind.DENSITY):
        return wrong
    return [ev.BatchWeighed(density_kg_m3=intent.density_kg_m3, typed=intent.typed)]


def _under_way(state: State, field: str) -> Refusal | None:
    return None if state.grout.stage else Refusal(field, "no stage is under way; start one first")


def _add_volume(state: State, intent: want.AddVolume) -> Decision:
    if wrong := _under_way(state, "volume") or within("volume", intent.volume_m3, 1e-5, MOST_VOLUME_M3, Kind.VOLUME):
        return wrong
    if state.plan.meter is not None and state.flow.condition == "LIVE" and not intent.sure:
        return Refusal(
            "volume",
            "the meter is counting; a typed volume is added to it",
            "not seen by the meter? Enter again adds it",
        )
    return [ev.VolumeAdded(volume_m3=intent.volume_m3, typed=intent.typed)]


def _add_strokes(state: State, intent: want.AddStrokes) -> Decision:
    if not 1 <= intent.strokes <= MOST_STROKES:
        return Refusal("strokes", f"given {intent.strokes}; a whole number from 1 to {MOST_STROKES} is accepted")
    pump = state.plan.pump
    if pump is None or pump.stroke_m3 is None or pump.efficiency_share is None:
        lacks = "no [pump]: it needs one with" if pump is None else "in its [pump] no"
        return Refusal(
            "strokes", f"the plan has {lacks} stroke_volume and efficiency, which say what a stroke is; type the volume"
        )
    volume_m3 = round(intent.strokes * pump.stroke_m3 * pump.efficiency_share, 9)
    decided = _add_volume(state, want.AddVolume(volume_m3, intent.typed, sure=intent.sure))
    if isinstance(decided, Refusal):
        return decided
    counted = {"strokes": intent.strokes, "stroke_m3": pump.stroke_m3, "efficiency_share": pump.efficiency_share}
    return [ev.VolumeAdded.model_validate({"volume_m3": volume_m3, "typed": intent.typed} | counted)]


def _dip_tank(state: State, intent: want.DipTank) -> Decision:
    """A dip; where no meter counts, what was drawn since the last one is pumped."""
    tank, stage = state.plan.tank, state.grout.stage
    if tank is None:
        return Refusal("dip", "the plan has no [tank]; `v` takes a volume")
    if wrong := _under_way(state, "dip") or within("dip", intent.dip_m, 0.0, tank.full_m, Kind.LENGTH):
        return wrong
    volume_m3 = round(tank.volume_m3(intent.dip_m), 9)
    found: list[ev.AnyEvent] = [ev.TankDipped(dip_m=intent.dip_m, volume_m3=volume_m3, typed=intent.typed)]
    mine = [dip for dip in state.grout.dips if dip.stage == len(state.grout.stages) - 1]
    if stage is not None and state.plan.meter is None and mine and mine[-1].volume_m3 - volume_m3 > 1e-5:
        found.append(ev.VolumeAdded(volume_m3=mine[-1].volume_m3 - volume_m3, typed=f"drawn, dip {intent.typed}"))
    return found


def _top_up(state: State, intent: want.TopUp) -> Decision:
    stages = state.grout.stages
    if not stages or stages[-1].open:
        return Refusal("top-up", "topping up is for a stage that has ended; what is pumped now goes in as its volume")
    return within("top-up", intent.volume_m3, 1e-5, MOST_VOLUME_M3, Kind.VOLUME) or [
        ev.ToppedUp(volume_m3=intent.volume_m3, typed=intent.typed)
    ]


def _stop_pump(state: State, intent: want.StopPump) -> Decision:
    if wrong := _under_way(state, "pump"):
        return wrong
    if state.grout.pump_stop is not None:
        return Refusal("pump", "the pump is down as stopped already")
    return [ev.PumpStopped(reason=intent.reason)]


def _start_pump(state: State, intent: want.StartPump) -> Decision:
    return _under_way(state, "pump") or [ev.PumpStarted()]


def _see_returns(state: State, intent: want.SeeReturns) -> Decision:
    if wrong := _under_way(state, "returns"):
        return wrong
    if intent.density_kg_m3 is not None and (
        wrong := within("density", intent.density_kg_m3, 900.0, 3_000.0, Kind.DENSITY)
    ):
        return wrong
    return [ev.ReturnsSeen(strength=intent.strength, fluid=intent.fluid, density_kg_m3=intent.density_kg_m3)]


def _tag_top(state: State, intent: want.TagTop) -> Decision:
    stages = state.grout.stages
    if not stages:
        return Refusal("tag", "no stage was begun yet; there is no grout to tag")
    depth_m = lengths.from_ground_m(state.plan, intent.depth_m)
    if not 0 <= depth_m <= stages[-1].bottom_m:
        return Refusal(
            "tag",
            "given {0}; from {1} to the stage's bottom, {2}, is accepted",
            values=of(Kind.DEPTH, depth_m, 0.0, stages[-1].bottom_m),
        )
    return [ev.TopTagged(depth_m=depth_m, typed=intent.typed, lost=intent.lost)]


def _note_zone(state: State, intent: want.NoteZone) -> Decision:
    height_m = state.plan.casing.measured_from_m
    given = intent.top_m, intent.bottom_m
    for depth_m in given:
        if wrong := within("zone", depth_m, height_m, state.plan.hole.bottom_m + height_m, Kind.DEPTH):
            return wrong
    if intent.bottom_m <= intent.top_m:
        words = "given {0} to {1}; from its top down to its bottom is accepted"
        return Refusal("zone", words, values=of(Kind.DEPTH, *given))
    top_m, bottom_m = (depth_m - height_m for depth_m in given)
    return [ev.ZoneNoted(top_m=top_m, bottom_m=bottom_m, of=intent.kind, typed=intent.typed)]


def _end_stage(state: State, intent: want.EndStage) -> Decision:
    stage = state.grout.stage
    if stage is None:
        return Refusal("stage", "no stage is under way")
    if state.flow.offered_m3 > GAP_WORTH_ASKING_M3 and not intent.sure:
        return Refusal(
            "stage",
            "the meter moved {0} unseen, and nobody has said how much of it counts; once ended, this stage takes none",
            "end it all the same? Enter again records it",
            of(Kind.VOLUME, state.flow.offered_m3),
        )
    seen = any(look.fluid == "grout" and look.strength == "full" for look in stage.returns)
    if intent.outcome == "good grout at surface" and not seen and not intent.sure:
        return Refusal(
            "stage",
            "no full-strength grout was seen at surface in this stage",
            "finish all the same? Enter again records it",
        )
    return [ev.StageEnded(outcome=intent.outcome, remark=intent.remark)]


def _take_delivery(state: State, intent: want.TakeDelivery) -> Decision:
    if not 0 <= intent.bags <= MOST_DELIVERED_BAGS:
        return Refusal("bags", f"given {intent.bags}; a whole number from 0 to {MOST_DELIVERED_BAGS} is accepted")
    if wrong := within("water", intent.water_m3, 0.0, MOST_DELIVERED_M3, Kind.VOLUME):
        return wrong
    if not intent.bags and not intent.water_m3:
        return Refusal("delivery", "given no bags and no water; a delivery brings one or both")
    return [ev.StockDelivered(bags=intent.bags, water_m3=intent.water_m3)]


DECIDERS: Deciders = {
    want.StartStage: _start_stage,
    want.MixBatch: _mix_batch,
    want.WeighBatch: _weigh_batch,
    want.AddVolume: _add_volume,
    want.AddStrokes: _add_strokes,
    want.DipTank: _dip_tank,
    want.TopUp: _top_up,
    want.StopPump: _stop_pump,
    want.StartPump: _start_pump,
    want.SeeReturns: _see_returns,
    want.TagTop: _tag_top,
    want.NoteZone: _note_zone,
    want.EndStage: _end_stage,
    want.TakeDelivery: _take_delivery,
    want.SetGroundDrinks: lambda state, intent: [ev.GroundDrinks(drinks=intent.drinks)],
}
