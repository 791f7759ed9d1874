"""What the grout meter has counted: how heartbeats, faults and answers change it. Volume only ever grows."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from tally.job import events as ev
from tally.job.state import Flow, Interruption
from tally.job.wired import GROUT

TREND_POINTS = 240
STOPPED_AFTER_S = 20.0
"""A pump whose count has not grown for this long stands still; strokes of a slow piston pump are seconds apart."""
MOVED_M3 = 1e-6
"""The file keeps totals to the millilitre."""
MOST_INTERRUPTIONS = 500


Sampled = tuple[str, str, Sequence[float]]
"""Channel, quantity and values, in the order in which they came."""


class Count:
    """The count of one instrument over any number of heartbeats: `flow` is what it has come to."""

    def __init__(self, flow: Flow, channel: str = GROUT) -> None:
        self._flow, self._beats, self._channel = flow, 0, channel
        self._metered_m3, self._last_m3, self._offered_m3 = flow.metered_m3, flow.last_total_m3, flow.offered_m3
        self._resuming, self._rate_m3_s = flow.resuming, flow.rate_m3_s
        self._last_data_s, self._moved_s, self._silent = flow.last_data_s, flow.moved_s, flow.silent
        self._interruptions, self._trend, self._trend_step_s = flow.interruptions, flow.trend, flow.trend_step_s

    @property
    def flow(self) -> Flow:
        if not self._beats:
            return self._flow
        return replace(
            self._flow,
            metered_m3=self._metered_m3,
            last_total_m3=self._last_m3,
            offered_m3=self._offered_m3,
            resuming=self._resuming,
            rate_m3_s=self._rate_m3_s,
            last_data_s=self._last_data_s,
            moved_s=self._moved_s,
            silent=self._silent,
            interruptions=self._interruptions,
            trend=self._trend,
            trend_step_s=self._trend_step_s,
        )

    @property
    def metered_m3(self) -> float:
        return self._metered_m3

    def beat(self, sampled: Iterable[Sampled], now_s: float, stage: int | None, stage_started_s: float) -> None:
        """One heartbeat that brought samples; `stage` is the place of the one under way, begun at `stage_started_s`."""
        before_m3, heard = self._metered_m3, False
        for channel, quantity, values in sampled:
            if channel != self._channel:
                continue
            heard = True
            if quantity == "total_m3":
                self._count(values)
            elif quantity == "rate_m3_s" and values:
                self._rate_m3_s = values[-1]
        if not heard:
            return
        self._beats += 1
        self._silent |= self._last_data_s is not None and now_s - self._last_data_s > STOPPED_AFTER_S
        self._last_data_s = now_s
        if self._metered_m3 > before_m3 + MOVED_M3:
            self._interrupt(now_s, stage, stage_started_s)
            self._moved_s, self._silent = now_s, False
            if not self._trend or now_s - self._trend[-1][0] >= self._trend_step_s:
                self._trend, self._trend_step_s = _thinned(self._trend, self._trend_step_s, now_s, self._metered_m3)

    def _count(self, totals: Sequence[float]) -> None:
        metered, last = self._metered_m3, self._last_m3
        for total in totals:
            step = 0.0 if last is None else total - last
            last = total
            if self._resuming:
                # Nobody saw how this volume came about: it waits for the operator's word.
                self._offered_m3 += max(step, 0.0)
                self._resuming = False
            elif step > 0:
                metered += step
        self._metered_m3, self._last_m3 = metered, last

    def _interrupt(self, now_s: float, stage: int | None, started_s: float) -> None:
        moved_s = self._moved_s
        if stage is None or moved_s is None or now_s - moved_s <= STOPPED_AFTER_S:
            return
        if moved_s >= started_s:  # what the pump did before this stage interrupts nothing of it
            gap = Interruption(stage, moved_s, now_s, self._silent)
            self._interruptions = (*self._interruptions, gap)[-MOST_INTERRUPTIONS:]


def after_beat(
    flow: Flow, beat: ev.Heartbeat, now_s: float, *, stage: int | None, stage_started_s: float = 0.0
) -> Flow:
    """`flow` one heartbeat later."""
    if not beat.samples:
        return flow
    count = Count(flow)
    count.beat(
        [(samples.channel, samples.quantity, samples.values) for samples in beat.samples], now_s, stage, stage_started_s
    )
    return count.flow


def _thinned(
    trend: tuple[tuple[float, float], ...], step_s: float, now_s: float, metered_m3: float
) -> tuple[tuple[tuple[float, float], ...], float]:
    """The trend with one more point, and its step: when it is full, half as many at twice the step."""
    if len(trend) >= TREND_POINTS:
        trend, step_s = trend[::2], step_s * 2
    return (*trend, (now_s, metered_m3)), step_s


def after_change(flow: Flow, change: ev.MeterChanged, now_s: float) -> Flow:
    """A meter that comes back after having been away offers what it moved meanwhile."""
    back = change.condition == "LIVE" and flow.condition != "LIVE" and flow.last_total_m3 is not None
    gone = change.condition in ("FAULT", "CLOSED", "OPENING")
    away_s = now_s if flow.condition == "LIVE" and change.condition != "LIVE" else flow.away_s
    return replace(
        flow,
        condition=change.condition,
        why=change.why,
        changed_s=flow.changed_s if change.condition == flow.condition else now_s,
        doubt=change.doubt,
        doubt_amount=change.amount,
        away_s=None if change.condition == "LIVE" else away_s,
        gap_s=(away_s, now_s) if back and away_s is not None else flow.gap_s,
        # A silent line that speaks again carried no news, but its totaliser went on counting in our hearing's absence.
        resuming=flow.resuming or back or (gone and flow.last_total_m3 is not None),
        rate_m3_s=flow.rate_m3_s if change.condition == "LIVE" else None,
    )


def after_restart(flow: Flow) -> Flow:
    """A new run of the recorder: nobody has listened since the last."""
    return replace(
        flow,
        condition="CLOSED",
        rate_m3_s=None,
        resuming=flow.last_total_m3 is not None,
        away_s=flow.last_data_s,
        doubt="",
        doubt_amount=0.0,
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
