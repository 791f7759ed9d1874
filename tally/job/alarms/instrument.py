"""Rules about instruments: what they say of themselves, of each other, and of the pump."""

from __future__ import annotations

from collections.abc import Iterator

from tally.job import grouting, watching
from tally.job.alarms.condition import Condition, Rule, StageRule
from tally.job.fill import Fill
from tally.job.state import Flow, Stage, State, Watched
from tally.job.view.quantity import Kind
from tally.job.watching import FRESH_S

SHOWN_S = 3.0
"""A thing of a moment is raised for so long; it then stays until it is answered."""
FLOWS_SHARE = 0.05
"""Of the planned rate: below it a rate is noise. Common practice."""
RAN_M3 = 0.010
"""So much by another source is a pump that runs."""


def _watched(state: State, *channels: str) -> Iterator[Watched]:
    for instrument in state.plan.instruments:
        if instrument.measures in channels:
            yield watching.watched(state, instrument)


def _flows(state: State) -> Iterator[Flow]:
    """The meter that counts, then every other instrument."""
    if state.plan.meter is not None:
        yield state.flow
    yield from (watching.watched(state, instrument).flow for instrument in state.plan.instruments)


def sources_disagree(state: State, stage: Stage, fill: Fill) -> Condition | None:
    """What counts against a second source of the same volume, since both were last heard without a break."""
    if state.plan.meter is None or state.flow.condition != "LIVE":
        return None
    limits = state.plan.alarms
    for one in _watched(state, "grout in"):
        if one.flow.last_data_s is None or one.flow.condition != "LIVE":
            continue
        counted_m3, checked_m3 = watching.apart_m3(state, one)
        limit_m3 = max(limits.sources_m3, limits.sources_share * max(counted_m3, checked_m3))
        if abs(counted_m3 - checked_m3) > limit_m3:
            return Condition("sources-disagree", counted_m3, limit_m3, Kind.VOLUME, other=checked_m3)
    pumped_m3, drawn_m3 = grouting.drawn_m3(state.grout)
    limit_m3 = max(limits.sources_m3, limits.sources_share * max(pumped_m3, drawn_m3))
    if abs(pumped_m3 - drawn_m3) > limit_m3:
        return Condition("sources-disagree", pumped_m3, limit_m3, Kind.VOLUME, other=drawn_m3)
    return None


def returns_deficit(state: State, stage: Stage, fill: Fill) -> Condition | None:
    """Less coming out than going in, added up since returns began."""
    limits = state.plan.alarms
    for one in _watched(state, "returns out"):
        both = watching.returned_m3(state, one)
        if both is None or one.flow.condition != "LIVE":
            continue
        in_m3, out_m3 = both
        limit_m3 = max(limits.deficit_m3, limits.deficit_share * in_m3)
        if in_m3 - out_m3 > limit_m3:
            return Condition("returns-deficit", in_m3 - out_m3, limit_m3, Kind.VOLUME)
    return None


def meter_frozen(state: State, stage: Stage, fill: Fill) -> Condition | None:
    """The count stands still while something else says that the pump runs."""
    flow = state.flow
    if state.plan.meter is None or flow.condition != "LIVE":
        return None
    moved_s = max(flow.moved_s or 0.0, stage.started_s)
    still_s, limit_s = state.elapsed_s - moved_s, state.plan.alarms.frozen_s
    if still_s <= limit_s or not _pump_runs(state, moved_s):
        return None
    return Condition("meter-frozen", still_s, limit_s, Kind.DURATION)


def _pump_runs(state: State, moved_s: float) -> bool:
    planned_m3_s = state.plan.pump.rate_m3_s if state.plan.pump else 0.0
    rate_m3_s, limit_s = state.flow.rate_m3_s, state.plan.alarms.frozen_s
    if rate_m3_s is not None and rate_m3_s > max(FLOWS_SHARE * planned_m3_s, 1e-5):
        return True
    for one in _watched(state, "grout in"):
        counted_m3, checked_m3 = watching.apart_m3(state, one)
        if (one.flow.moved_s or 0.0) > moved_s + limit_s and checked_m3 > counted_m3 + RAN_M3:
            return True
    started_s = state.grout.pump_moved_s
    said = started_s is not None and started_s > moved_s and state.grout.pump_stop is None
    return said and started_s is not None and state.elapsed_s - started_s > limit_s


def meter_gone(state: State, stage: Stage, fill: Fill) -> Condition | None:
    """The counting meter's port has gone: told at once, before its silence is long enough to be told."""
    flow, limit_s = state.flow, state.plan.alarms.gone_s
    if state.plan.meter is None or flow.condition != "FAULT" or limit_s is None:
        return None
    gone_s = state.elapsed_s - flow.changed_s
    return Condition("meter-gone", gone_s, limit_s, Kind.DURATION) if gone_s > limit_s else None


def meter_backward(state: State) -> Condition | None:
    return _doubted(state, "backward", "meter-backward", 0.0, Kind.VOLUME)


def meter_garbage(state: State) -> Condition | None:
    return _doubted(state, "garbage", "meter-garbage", 0.5, Kind.SHARE)


def meter_flood(state: State) -> Condition | None:
    return _doubted(state, "flood", "meter-flood", 0.0, Kind.COUNT)


def _doubted(state: State, doubt: str, alarm: str, limit: float, kind: Kind) -> Condition | None:
    if state.flow.doubt != doubt and not state.plan.instruments:
        return None
    amounts = [flow.doubt_amount for flow in _flows(state) if flow.doubt == doubt]
    return Condition(alarm, max(amounts), limit, kind) if amounts else None


def meter_blind(state: State, stage: Stage, fill: Fill) -> Condition | None:
    """A meter that keeps no count of its own was away while a stage was under way: nobody knows what went through."""
    flow, meter = state.flow, state.plan.meter
    if meter is None or meter.keeps_count or flow.gap_s is None:
        return None
    from_s, until_s = flow.gap_s
    away_s = until_s - max(from_s, stage.started_s)
    if (
        away_s <= state.plan.alarms.no_data_s
        or state.elapsed_s - until_s > SHOWN_S
        or state.grout.pump_stop is not None
    ):
        return None
    return Condition("meter-blind", away_s, state.plan.alarms.no_data_s, Kind.DURATION)


def check_silent(state: State, stage: Stage, fill: Fill) -> Condition | None:
    """An instrument beside the meter that counts is not heard while a stage is under way."""
    limit_s = max(state.plan.alarms.no_data_s, FRESH_S)
    silent_s = [
        state.elapsed_s - max(stage.started_s, one.flow.last_data_s or 0.0)
        for one in _watched(state, "grout in", "returns out", "pressure", "density")
    ]
    if not silent_s or max(silent_s) <= limit_s:
        return None
    return Condition("check-silent", max(silent_s), limit_s, Kind.DURATION)


def pressure_high(state: State) -> Condition | None:
    pump, gauges = state.plan.pump, state.gauges
    if pump is None or pump.pressure_limit_pa is None or gauges.pressure_pa is None or gauges.pressure_s is None:
        return None
    if state.elapsed_s - gauges.pressure_s > FRESH_S or gauges.pressure_pa <= pump.pressure_limit_pa:
        return None
    return Condition("pressure-high", gauges.pressure_pa, pump.pressure_limit_pa, Kind.PRESSURE)


def rate_high(state: State, stage: Stage, fill: Fill) -> Condition | None:
    """Past what the plan says that the pump can deliver."""
    pump, rate_m3_s = state.plan.pump, state.flow.rate_m3_s
    if pump is None or pump.greatest_rate_m3_s is None or rate_m3_s is None:
        return None
    if rate_m3_s <= pump.greatest_rate_m3_s:
        return None
    return Condition("rate-high", rate_m3_s, pump.greatest_rate_m3_s, Kind.RATE)


STAGE_RULES: tuple[StageRule, ...] = (
    sources_disagree,
    returns_deficit,
    meter_frozen,
    meter_gone,
    meter_blind,
    check_silent,
    rate_high,
)
RULES: tuple[Rule, ...] = (meter_backward, meter_garbage, meter_flood, pressure_high)
