"""Rules about returns, volume, pumping, batches and stock."""

from __future__ import annotations

from tally.job import geometry, grouting
from tally.job.alarms.condition import Condition, Rule
from tally.job.fill import Fill
from tally.job.state import Returns, Stage, State
from tally.job.view.quantity import Kind

RISE_M = 0.3
"""Less than this between two tags is within the reading of the line: common practice."""


def returns_overdue(state: State, fill: Fill | None) -> Condition | None:
    stage = state.grout.stage
    if stage is None or fill is None or any(seen.strength != "none" for seen in stage.returns):
        return None
    # In a hole that stands full they are due at once; it still takes a little pumping until they can be seen.
    limit_m3 = max(fill.due.high_m3, _no_rise_m3(state, stage.top_m))
    if fill.pumped_m3 <= limit_m3:
        return None
    return Condition("returns-overdue", fill.pumped_m3, limit_m3, Kind.VOLUME)


def no_rise(state: State, fill: Fill | None) -> Condition | None:
    """A tag that found the top no higher than the tag before, for all that was pumped between the two.

    Published trigger: Minn. Rules 4727.0980, more than one cubic yard of grout or what fills 10 vertical feet.
    """
    stage = state.grout.stage
    if stage is None or len(stage.tags) < 2:
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


def returns_stopped(state: State, fill: Fill | None) -> Condition | None:
    """Returns were there, then none: for as long as the pump has moved since."""
    stage = state.grout.stage
    if stage is None or not stage.returns or stage.returns[-1].strength != "none":
        return None
    gone = _gone_since(stage.returns)
    if gone is None:
        return None
    pumped_on_s = _moved_until_s(state) - gone.elapsed_s
    limit_s = state.plan.alarms.returns_stop_s
    if pumped_on_s < limit_s:
        return None
    return Condition("returns-stopped", pumped_on_s, limit_s, Kind.DURATION, gone.number)


def over_planned(state: State, fill: Fill | None) -> Condition | None:
    stage = state.grout.stage
    if stage is None or fill is None or _grout_seen(stage) is not None or fill.pumped_m3 <= fill.planned_m3:
        return None
    return Condition("over-planned-volume", fill.pumped_m3, fill.planned_m3, Kind.VOLUME)


def pump_stopped(state: State, fill: Fill | None) -> Condition | None:
    stage, since_s = state.grout.stage, grouting.stopped_since_s(state)
    if stage is None or since_s is None or fill is None or fill.pumped_m3 <= 0:
        return None
    limit_s = grouting.stage_mix(state.plan, stage.index).working_time_s * state.plan.alarms.pump_stop_share
    still_s = state.elapsed_s - since_s
    return Condition("pump-stopped", still_s, limit_s, Kind.DURATION) if still_s > limit_s else None


def working_time(state: State, fill: Fill | None) -> Condition | None:
    stage = state.grout.stage
    if stage is None:
        return None
    mine = len(state.grout.stages) - 1
    oldest_s = min((batch.elapsed_s for batch in state.grout.batches if batch.stage == mine), default=None)
    if oldest_s is None:
        return None
    limit_s = grouting.stage_mix(state.plan, stage.index).working_time_s
    age_s = state.elapsed_s - oldest_s
    return Condition("working-time", age_s, limit_s, Kind.DURATION) if age_s > limit_s else None


def batch_density(state: State, fill: Fill | None) -> Condition | None:
    if state.grout.stage is None or not state.grout.batches:
        return None
    batch = state.grout.batches[-1]
    if batch.density_kg_m3 is None or batch.stage != len(state.grout.stages) - 1:
        return None
    mix = grouting.stage_mix(state.plan, state.grout.stages[-1].index)
    low, high = mix.density_kg_m3 - mix.density_band_kg_m3, mix.density_kg_m3 + mix.density_band_kg_m3
    if low <= batch.density_kg_m3 <= high:
        return None
    edge = low if batch.density_kg_m3 < low else high
    return Condition("batch-density", batch.density_kg_m3, edge, Kind.DENSITY, batch.number)


def thin_returns(state: State, fill: Fill | None) -> Condition | None:
    stage = state.grout.stage
    seen = _grout_seen(stage) if stage is not None else None
    if stage is None or seen is None or seen.density_kg_m3 is None:
        return None
    mix = grouting.stage_mix(state.plan, stage.index)
    low = mix.density_kg_m3 - mix.density_band_kg_m3
    if seen.density_kg_m3 >= low:
        return None
    return Condition("thin-returns", seen.density_kg_m3, low, Kind.DENSITY, seen.number)


def stock_short(state: State, fill: Fill | None) -> Condition | None:
    stage = state.grout.stage
    if stage is None or fill is None:
        return None
    mix = grouting.stage_mix(state.plan, stage.index)
    mine = len(state.grout.stages) - 1
    mixed_m3 = sum(batch.volume_m3 for batch in state.grout.batches if batch.stage == mine)
    short_m3 = fill.pumped_m3 + fill.needed_m3 - mixed_m3
    needed = short_m3 / mix.yield_per_bag_m3
    left = grouting.bags_left(state)
    # A whole bag of grace: the last part of a bag is within the meter's error.
    return Condition("stock-short", float(left), needed, Kind.COUNT) if needed > left + 1 else None


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


RULES: tuple[Rule, ...] = (
    returns_overdue,
    no_rise,
    returns_stopped,
    over_planned,
    pump_stopped,
    working_time,
    batch_density,
    thin_returns,
    stock_short,
)
