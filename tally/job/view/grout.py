"""The grouting as its screen shows it: the stage, the pump, what is aboard, and what comes before and after."""

from __future__ import annotations

from dataclasses import dataclass

from tally.job import fill as filling
from tally.job import grouting
from tally.job.decide.grout import next_stage
from tally.job.decide.refusal import Refusal
from tally.job.state import Stage, State
from tally.job.view.between_stages import SettingView, StartView, setting, start
from tally.job.view.instruments import InstrumentRow, instruments, trouble
from tally.job.view.quantity import Kind, Quantity
from tally.job.view.stage import StageView, stage_view


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
        setting=setting(state, stage),
        tremie=Quantity(state.grout.tremie_tip_m, Kind.DEPTH),
        start=start(state),
        drinks=filling.drinks(state),
        trend=_trend(state, stage),
        instruments=instruments(state),
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
