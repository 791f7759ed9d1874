"""The plan's instruments as events: what they sent, how they are, and their bytes in the raw log."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from tally.job import events as ev
from tally.job.plan import Plan
from tally.job.state import Flow, State
from tally.job.wired import GROUT, Instrument, Wired
from tally.live.clock import Clock
from tally.live.ear import Ear
from tally.live.instruments import beside, sharing
from tally.live.sampling import belief
from tally.meters.source import Source
from tally.record.raw_log import RawLog

RawHook = Callable[[str, float, bytes], None]
MeterMaker = Callable[[Plan, Clock, RawHook], Source | None]
"""(plan, clock, hook for raw bytes) -> the meter that counts, not yet started."""
InstrumentMaker = Callable[[str, Wired, Clock, RawHook, Sequence[Wired]], Source | None]
"""(channel, how it is wired, clock, hook for raw bytes, others on its port) -> another instrument, not yet started."""


def _instrument(channel: str, wired: Wired, clock: Clock, on_raw: RawHook, others: Sequence[Wired]) -> Source:
    from tally.live.instruments import instrument

    return instrument(channel, wired, clock, on_raw, others)


class Listener:
    """Listens to every instrument of the plan. Tells events in the order in which they were true; saves none."""

    def __init__(
        self,
        raw_path: Path,
        clock: Clock,
        make_meter: MeterMaker,
        make_instrument: InstrumentMaker = _instrument,
    ) -> None:
        self._raw_path, self._clock = raw_path, clock
        self._make_meter, self._make_instrument = make_meter, make_instrument
        self._ears: list[Ear] = []
        self._raw: RawLog | None = None
        self.plugged = False

    @property
    def raw_trouble(self) -> str:
        return (self._raw.fault or "") if self._raw is not None else ""

    def plug_in(self, state: State) -> list[ev.AnyEvent]:
        """Starts the instruments that the plan names, in place of those before; one that goes on as it was is left."""
        plan = state.plan
        flows = {GROUT: state.flow} | {one.name: one.flow for one in state.watched}
        wanted: dict[str, Wired] = {GROUT: plan.meter} if plan.meter else {}
        wanted |= {one.name: one for one in plan.instruments}
        told: list[ev.AnyEvent] = []
        kept = {
            ear.channel: ear
            for ear in self._ears
            if wanted.get(ear.channel) == ear.wired and sharing(plan, ear.wired) == ear.others
        }
        for ear in self._ears:
            if kept.get(ear.channel) is not ear:
                told += ear.unplug("the plan names another meter now")
        if wanted and self._raw is None:
            self._raw = RawLog(self._raw_path)
        self._ears = []
        for channel, wired in wanted.items():
            if (old := kept.get(channel)) is not None:
                old.believed = belief(plan, wired)
                self._ears.append(old)
                continue
            flow = flows.get(channel, Flow())
            # After a change of the plan the one before was told to be closed; at the start it is as recorded.
            condition = "CLOSED" if self.plugged else flow.condition
            others = sharing(plan, wired)
            ear = Ear(channel, wired, self._clock, flow.last_total_m3, condition, belief(plan, wired), others)
            told += ear.plug_in(self._made(channel, wired, plan, others))
            self._ears.append(ear)
        self.plugged = True
        return told

    def _made(self, channel: str, wired: Wired, plan: Plan, others: tuple[Wired, ...]) -> Callable[[], Source | None]:
        """What makes its source: beside the one that has its port already, if any."""
        if not isinstance(wired, Instrument):
            return lambda: self._make_meter(plan, self._clock, self._keep_raw)
        first = next((ear.source for ear in self._ears if ear.wired.port == wired.port), None)
        return lambda: (
            beside(first, channel, wired, others)
            or self._make_instrument(channel, wired, self._clock, self._keep_raw, others)
        )

    def hear(self) -> list[ev.AnyEvent]:
        """One heartbeat, with what was sent since the last, among changes of the instruments' conditions."""
        before: list[ev.AnyEvent] = []
        after: list[ev.AnyEvent] = []
        samples: list[ev.Samples] = []
        for ear in self._ears:
            heard = ear.hear()
            before += heard.before
            samples += heard.samples
            after += heard.after
        return [*before, ev.Heartbeat(samples=tuple(samples)), *after]

    def close(self) -> None:
        for ear in self._ears:
            ear.unplug("")
        self._ears = []
        if self._raw is not None:
            self._raw.close()

    def _keep_raw(self, channel: str, mono_s: float, data: bytes) -> None:
        if self._raw is not None:
            self._raw.write(channel, mono_s, self._clock.utc(), data)
