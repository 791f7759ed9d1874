"""Rules about returns, volume, pumping, batches and stock."""

from __future__ import annotations

from tally.engineering import placement
from tally.job import fill as filling
from tally.job import geometry, grouting, line, watching, zones
from tally.job.alarms.condition import Condition, StageRule
from tally.job.fill import Fill
from tally.job.inflow import WORTH_A_LOOK_M, inflow
from tally.job.state import Returns, Stage, State
from tally.job.view.quantity import Kind

RISE_M = 0.3
"""Less than this between two tags is within the reading of the line: common practice."""
ZONE_NEAR_M = 3.0
"""A known zone is announced when the likely top stands no further below it: common practice."""
GRACE = 1.0
"""A whole bag: the last part of one is within the meter's error."""
OFF_BOTTOM_M = 3.048
"""Tremie within 10 ft of bottom: Minn. Rules 4725.3050."""


def returns_overdue(state: State, stage: Stage, fill: Fill) -> Condition | None:
    if any(seen.strength != "none" for seen in stage.returns):
        return None
    if watching.returns_heard(state) is not None:
        return None
    # In a hole that stands full they are due at once; it still takes a little pumping until they can be seen.
    limit_m3 = max(fill.due.high_m3, _no_rise_m3(state, stage.top_m))
    if fill.pumped_m3 <= limit_m3:
        return None
    return Condition("returns-overdue", fill.pumped_m3, limit_m3, Kind.VOLUME)


def no_rise(state: State, stage: Stage, fill: Fill) -> Condition | None:
    """A tag that found the top no higher than the tag before, for all that was pumped between the two.

    Published trigger: Minn. Rules 4727.0980, more than one cubic yard of grout or what fills 10 vertical feet.
    """
    if len(stage.tags) < 2:
        return None
    before, last = stage.tags[-2], stage.tags[-1]
    limit_m3 = _no_rise_m3(state, before.depth_m)
    put_m3 = last.pumped_m3 - before.pumped_m3
    if before.depth_m - last.depth_m > RISE_M or put_m3 <= limit_m3:
        return None
    return Condition("no-rise", put_m3, limit_m3, Kind.VOLUME, last.number)


def _no_rise_m3(state: State, depth_m: float) -> float:
    """The smaller of a volume and a height of fill, at this depth, after which a level should have risen."""
    profile, limits = geometry.annulus(state), state.plan.alarms
    within_m = min(max(depth_m, profile.top_m), profile.bottom_m)
    return min(limits.no_rise_m3, profile.capacity_m3_m(within_m) * limits.no_rise_m)


def returns_stopped(state: State, stage: Stage, fill: Fill) -> Condition | None:
    """Returns were there, then none: for as long as the pump has moved since."""
    limit_s = state.plan.alarms.returns_stop_s
    heard = watching.returns_heard(state)
    if heard is not None and heard.condition == "LIVE" and heard.moved_s is not None:
        pumped_on_s = _moved_until_s(state) - heard.moved_s
        if pumped_on_s >= limit_s:
            return Condition("returns-stopped", pumped_on_s, limit_s, Kind.DURATION)
    if not stage.returns or stage.returns[-1].strength != "none":
        return None
    gone = _gone_since(stage.returns)
    if gone is None:
        return None
    pumped_on_s = _moved_until_s(state) - gone.elapsed_s
    if pumped_on_s < limit_s:
        return None
    return Condition("returns-stopped", pumped_on_s, limit_s, Kind.DURATION, gone.number)


def over_planned(state: State, stage: Stage, fill: Fill) -> Condition | None:
    if _grout_seen(stage) is not None or fill.pumped_m3 <= fill.planned_m3:
        return None
    return Condition("over-planned-volume", fill.pumped_m3, fill.planned_m3, Kind.VOLUME)


def past_high(state: State, stage: Stage, fill: Fill) -> Condition | None:
    """Even the widest hole that is believed in would be full; only a tag tells where the grout is."""
    if _grout_seen(stage) is not None or fill.pumped_m3 <= fill.planned_high_m3:
        return None
    return Condition("past-high-volume", fill.pumped_m3, fill.planned_high_m3, Kind.VOLUME)


def over_mixed(state: State, stage: Stage, fill: Fill) -> Condition | None:
    """What was pumped on this job against its batches, with a line of flush water and what two sources may differ."""
    grout, limits = state.grout, state.plan.alarms
    if not grout.batches:
        return None
    planned = [filling.planned_stage(state.plan, stage) for stage in grout.stages]
    water_m3 = sum(line.displacing_m3(state.plan, one) for one in planned) + state.plan.line.volume_m3 * len(planned)
    pumped_m3 = sum(grouting.pumped_m3(stage, state.flow) for stage in grout.stages)
    mixed_m3 = sum(batch.volume_m3 for batch in grout.batches)
    most_m3 = mixed_m3 + water_m3 + max(limits.sources_m3, limits.sources_share * mixed_m3)
    return Condition("pumped-over-mixed", pumped_m3, most_m3, Kind.VOLUME) if pumped_m3 > most_m3 else None


def pump_stopped(state: State, stage: Stage, fill: Fill) -> Condition | None:
    since_s = grouting.stopped_since_s(state)
    if since_s is None or fill.pumped_m3 <= 0:
        return None
    limit_s = grouting.stage_mix(state.plan, stage.index).working_time_s * state.plan.alarms.pump_stop_share
    still_s = state.elapsed_s - since_s
    return Condition("pump-stopped", still_s, limit_s, Kind.DURATION) if still_s > limit_s else None


def working_time(state: State, stage: Stage, fill: Fill) -> Condition | None:
    mine = len(state.grout.stages) - 1
    oldest_s = min((batch.elapsed_s for batch in state.grout.batches if batch.stage == mine), default=None)
    if oldest_s is None:
        return None
    limit_s = grouting.stage_mix(state.plan, stage.index).working_time_s
    age_s = state.elapsed_s - oldest_s
    return Condition("working-time", age_s, limit_s, Kind.DURATION) if age_s > limit_s else None


def batch_density(state: State, stage: Stage, fill: Fill) -> Condition | None:
    if not state.grout.batches:
        return None
    batch = state.grout.batches[-1]
    if batch.density_kg_m3 is None or batch.stage != len(state.grout.stages) - 1:
        return None
    mix = grouting.stage_mix(state.plan, stage.index)
    low, high = mix.density_kg_m3 - mix.density_band_kg_m3, mix.density_kg_m3 + mix.density_band_kg_m3
    if low <= batch.density_kg_m3 <= high:
        return None
    edge = low if batch.density_kg_m3 < low else high
    return Condition("batch-density", batch.density_kg_m3, edge, Kind.DENSITY, batch.number)


def thin_returns(state: State, stage: Stage, fill: Fill) -> Condition | None:
    found = watching.surface_density(state)
    if found is None:
        return None
    density_kg_m3, entry = found
    mix = grouting.stage_mix(state.plan, stage.index)
    low = mix.density_kg_m3 - mix.density_band_kg_m3
    return Condition("thin-returns", density_kg_m3, low, Kind.DENSITY, entry) if density_kg_m3 < low else None


def stock_short(state: State, stage: Stage, fill: Fill) -> Condition | None:
    needed, left = _bags_to_mix(state, stage, fill, fill.needed_m3), grouting.bags_left(state)
    return Condition("stock-short", float(left), needed, Kind.COUNT) if needed > left + GRACE else None


def stock_thin(state: State, stage: Stage, fill: Fill) -> Condition | None:
    """Enough for the likely need, short of the high one."""
    if stock_short(state, stage, fill) is not None:
        return None
    needed, left = _bags_to_mix(state, stage, fill, fill.needed_high_m3), grouting.bags_left(state)
    return Condition("stock-thin", float(left), needed, Kind.COUNT) if needed > left + GRACE else None


def water_short(state: State, stage: Stage, fill: Fill) -> Condition | None:
    bags = max(_bags_to_mix(state, stage, fill, fill.needed_m3), 0.0)
    per_bag_m3 = grouting.stage_mix(state.plan, stage.index).water_per_bag_m3
    besides_m3 = state.plan.aboard.wash_up_m3 + min(fill.displacing_m3, fill.needed_m3)
    needed_m3, left_m3 = bags * per_bag_m3 + besides_m3, grouting.water_left_m3(state)
    if needed_m3 <= left_m3 + GRACE * per_bag_m3:
        return None
    return Condition("water-short", left_m3, needed_m3, Kind.VOLUME)


def _bags_to_mix(state: State, stage: Stage, fill: Fill, needed_m3: float) -> float:
    """Bags that `needed_m3` takes beyond what is mixed already. What was pumped beyond that was mixed too, or never."""
    mixed_m3 = max(grouting.mixed_m3(state, len(state.grout.stages) - 1), fill.pumped_m3 - fill.displacing_m3)
    grout_m3 = fill.pumped_m3 + needed_m3 - fill.displacing_m3
    return (grout_m3 - mixed_m3) / grouting.stage_mix(state.plan, stage.index).yield_per_bag_m3


def zone_near(state: State, stage: Stage, fill: Fill) -> Condition | None:
    zone = zones.ahead(state, fill.top.likely_m)
    if zone is None or fill.top.likely_m - zone.bottom_m > ZONE_NEAR_M:
        return None
    entry = None if zone.found is None else zone.found.number
    return Condition("zone-near", fill.top.likely_m, zone.bottom_m, Kind.DEPTH, entry)


def finish_late(state: State, stage: Stage, fill: Fill) -> Condition | None:
    """At the pace so far the high volume is not in before the oldest batch's working time ends."""
    if fill.out_m3 <= 0.0:
        return None
    pace_m3_s = grouting.pace_m3_s(state, stage)
    good_until_s = grouting.oldest_good_until_s(state, len(state.grout.stages) - 1)
    if pace_m3_s is None or good_until_s is None or good_until_s <= state.elapsed_s:
        return None
    takes_s = placement.time_to_pump_s(volume_m3=fill.needed_high_m3, flow_m3_s=pace_m3_s)
    left_s = good_until_s - state.elapsed_s
    return Condition("finish-late", takes_s, left_s, Kind.DURATION) if takes_s > left_s else None


def tremie_off_bottom(state: State, stage: Stage, fill: Fill) -> Condition | None:
    """Before the first grout comes out of it."""
    tip_m = _tip_m(state, stage)
    if tip_m is None or fill.out_m3 > 0.0:
        return None
    off_m = stage.bottom_m - tip_m
    return Condition("tremie-off-bottom", off_m, OFF_BOTTOM_M, Kind.LENGTH) if off_m > OFF_BOTTOM_M else None


def tremie_cover(state: State, stage: Stage, fill: Fill) -> Condition | None:
    cover_m = _cover_m(state, stage, fill)
    if cover_m is None or state.plan.tremie is None:
        return None
    least_m = state.plan.tremie.minimum_cover_m
    # as close to it as a pull that was allowed comes
    if not 0.0 <= cover_m < least_m - 1e-9:
        return None
    return Condition("tremie-cover", cover_m, least_m, Kind.LENGTH)


def tremie_above(state: State, stage: Stage, fill: Fill) -> Condition | None:
    cover_m, tip_m = _cover_m(state, stage, fill), _tip_m(state, stage)
    if cover_m is None or tip_m is None or cover_m >= 0.0:
        return None
    return Condition("tremie-above", tip_m, tip_m - cover_m, Kind.DEPTH)


def _tip_m(state: State, stage: Stage) -> float | None:
    """Where the tremie hangs, if the stage is placed by it."""
    by_tremie = filling.planned_stage(state.plan, stage).method == "tremie"
    return state.grout.tremie_tip_m if by_tremie else None


def _cover_m(state: State, stage: Stage, fill: Fill) -> float | None:
    """The tremie's cover once it can have one: the first grout rises to an end that hangs as near to bottom as it
    should. While the pump is stopped by key the end may hang clear, as it should after an interruption."""
    tip_m = _tip_m(state, stage)
    if tip_m is None or fill.out_m3 <= 0.0 or state.grout.pump_stop is not None:
        return None
    tagged_below = bool(stage.tags) and stage.tags[-1].depth_m > tip_m
    if stage.bottom_m - tip_m <= OFF_BOTTOM_M and not tagged_below:
        return None
    return placement.tremie_cover_m(tip_depth_m=tip_m, lowest_top_m=fill.top.low_m)


def grout_under_shoe(state: State, stage: Stage, fill: Fill) -> Condition | None:
    found = inflow(state, stage, fill)
    if found is None or found.rise_m <= WORTH_A_LOOK_M:
        return None
    return Condition("grout-under-shoe", found.rise_m, WORTH_A_LOOK_M, Kind.LENGTH)


def _grout_seen(stage: Stage) -> Returns | None:
    return next((seen for seen in reversed(stage.returns) if seen.fluid == "grout" and seen.strength != "none"), None)


def _gone_since(returns: tuple[Returns, ...]) -> Returns | None:
    """The first of the closing run of "none", if anything came before it."""
    gone = None
    for seen in reversed(returns):
        if seen.strength != "none":
            return gone
        gone = seen
    return None


def _moved_until_s(state: State) -> float:
    moved = [at for at in (state.flow.moved_s, state.grout.pump_moved_s) if at is not None]
    return max(moved, default=0.0)


STAGE_RULES: tuple[StageRule, ...] = (
    returns_overdue,
    no_rise,
    returns_stopped,
    over_planned,
    past_high,
    over_mixed,
    pump_stopped,
    working_time,
    batch_density,
    thin_returns,
    stock_short,
    stock_thin,
    water_short,
    zone_near,
    finish_late,
    tremie_off_bottom,
    tremie_cover,
    tremie_above,
    grout_under_shoe,
)
