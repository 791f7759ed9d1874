"""What the grout meter has counted: how heartbeats, faults and answers change it. Volume only ever grows."""

from __future__ import annotations

from dataclasses import replace

from tally.job import events as ev
from tally.job.state import Flow, Interruption

TREND_POINTS = 240
STOPPED_AFTER_S = 20.0
"""A pump whose count has not grown for this long stands still; strokes of a slow piston pump are seconds apart."""
MOVED_M3 = 1e-6
"""The file keeps totals to the millilitre."""
MOST_INTERRUPTIONS = 500


def after_beat(
    flow: Flow, beat: ev.Heartbeat, now_s: float, *, stage: int | None, stage_started_s: float = 0.0
) -> Flow:
    """`flow` one heartbeat later; `stage` is the place of the stage under way, begun at `stage_started_s`."""
    if not beat.samples:
        return flow
    metered, last, offered, resuming = flow.metered_m3, flow.last_total_m3, flow.offered_m3, flow.resuming
    rate = flow.rate_m3_s
    for samples in beat.samples:
        if samples.quantity == "rate_m3_s" and samples.values:
            rate = samples.values[-1]
        if samples.quantity != "total_m3":
            continue
        for total in samples.values:
            step = 0.0 if last is None else total - last
            last = total
            if resuming:
                # Nobody saw how this volume came about: it waits for the operator's word.
                offered += max(step, 0.0)
                resuming = False
            elif step > 0:
                metered += step
    grown = metered > flow.metered_m3 + MOVED_M3
    trend, trend_step_s = _thinned(flow, now_s, metered) if grown else (flow.trend, flow.trend_step_s)
    return replace(
        flow,
        metered_m3=metered,
        last_total_m3=last,
        offered_m3=offered,
        resuming=resuming,
        rate_m3_s=rate,
        last_data_s=now_s,
        moved_s=now_s if grown else flow.moved_s,
        interruptions=_interruptions(flow, now_s, stage, stage_started_s) if grown else flow.interruptions,
        trend=trend,
        trend_step_s=trend_step_s,
    )


def _interruptions(flow: Flow, now_s: float, stage: int | None, started_s: float) -> tuple[Interruption, ...]:
    if stage is None or flow.moved_s is None or now_s - flow.moved_s <= STOPPED_AFTER_S:
        return flow.interruptions
    if flow.moved_s < started_s:
        # What the pump did before this stage interrupts nothing of it.
        return flow.interruptions
    return (*flow.interruptions, Interruption(stage, flow.moved_s, now_s))[-MOST_INTERRUPTIONS:]


def _thinned(flow: Flow, now_s: float, metered_m3: float) -> tuple[tuple[tuple[float, float], ...], float]:
    """The trend with one more point where one is due, and its step: when it is full, half as many at twice the step."""
    trend, step_s = flow.trend, flow.trend_step_s
    if trend and now_s - trend[-1][0] < step_s:
        return trend, step_s
    if len(trend) >= TREND_POINTS:
        trend, step_s = trend[::2], step_s * 2
    return (*trend, (now_s, metered_m3)), step_s


def after_change(flow: Flow, change: ev.MeterChanged, now_s: float) -> Flow:
    """A meter that comes back after having been away offers what it moved meanwhile."""
    back = change.condition == "LIVE" and flow.condition != "LIVE" and flow.last_total_m3 is not None
    gone = change.condition in ("FAULT", "CLOSED", "OPENING")
    return replace(
        flow,
        condition=change.condition,
        why=change.why,
        changed_s=now_s,
        # A silent line that speaks again carried no news, but its totaliser went on counting in our hearing's absence.
        resuming=flow.resuming or back or (gone and flow.last_total_m3 is not None),
        rate_m3_s=flow.rate_m3_s if change.condition == "LIVE" else None,
    )


def after_rebase(flow: Flow, rebase: ev.MeterRebased, now_s: float) -> Flow:
    """The next total is counted from `to_m3` on; the step itself only as far as the event says."""
    return replace(
        flow,
        metered_m3=flow.metered_m3 + rebase.counted_m3,
        offered_m3=flow.offered_m3 + rebase.offered_m3,
        last_total_m3=rebase.to_m3,
        rebased=flow.rebased + 1,
        rebased_cause=rebase.cause,
        rebased_step_m3=abs(rebase.to_m3 - rebase.from_m3),
        rebased_s=now_s,
    )


def after_answer(flow: Flow, answer: ev.GapAnswered) -> Flow:
    return replace(
        flow,
        metered_m3=flow.metered_m3 + answer.counted_m3,
        answered_m3=flow.answered_m3 + answer.counted_m3,
        offered_m3=max(flow.offered_m3 - answer.offered_m3, 0.0),
    )
