"""Rules about the grout meter."""

from __future__ import annotations

from tally.job.alarms.condition import Condition, Rule, StageRule
from tally.job.fill import Fill
from tally.job.state import Stage, State
from tally.job.view.quantity import Kind

GAP_WORTH_ASKING_M3 = 0.0005
"""Half a litre: less is the last drip of a meter, not a gap."""
REBASE_SHOWN_S = 3.0


def no_meter_data(state: State, stage: Stage, fill: Fill) -> Condition | None:
    flow = state.flow
    if state.plan.meter is None:
        return None
    heard_s = max(stage.started_s, flow.last_data_s or 0.0)
    silent_s, limit_s = state.elapsed_s - heard_s, state.plan.alarms.no_data_s
    return Condition("no-meter-data", silent_s, limit_s, Kind.DURATION) if silent_s > limit_s else None


def meter_gap(state: State) -> Condition | None:
    offered_m3 = state.flow.offered_m3
    if offered_m3 <= GAP_WORTH_ASKING_M3:
        return None
    return Condition("meter-gap", offered_m3, GAP_WORTH_ASKING_M3, Kind.VOLUME)


def meter_rebased(state: State) -> Condition | None:
    flow = state.flow
    if flow.rebased_s is None or state.elapsed_s - flow.rebased_s > REBASE_SHOWN_S:
        return None
    return Condition("meter-rebased", flow.rebased_step_m3, 0.0, Kind.VOLUME)


STAGE_RULES: tuple[StageRule, ...] = (no_meter_data,)
RULES: tuple[Rule, ...] = (meter_gap, meter_rebased)
