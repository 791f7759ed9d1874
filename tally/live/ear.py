"""One instrument as events: what it sent, and how it is."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field

from tally.job import events as ev
from tally.job.wired import Wired
from tally.live.clock import Clock
from tally.live.sampling import Belief, Sampler
from tally.meters.source import MeterStatus, Source

GARBAGE_BEATS = 10
GARBAGE_LINES = 5
"""Fewer unreadable lines than this within so many beats are noise of a plug, not a wrong setting."""
GARBAGE_SHARE = 0.5


@dataclass
class Heard:
    """What one second brought: events before the heartbeat, its samples, events after it."""

    before: list[ev.AnyEvent] = field(default_factory=list)
    samples: tuple[ev.Samples, ...] = ()
    after: list[ev.AnyEvent] = field(default_factory=list)


class Ear:
    """Listens to one instrument under the name `channel`; `others` share its port."""

    def __init__(
        self,
        channel: str,
        wired: Wired,
        clock: Clock,
        last_total_m3: float | None,
        condition: str,
        believed: Belief,
        others: tuple[Wired, ...] = (),
    ) -> None:
        self.channel, self.wired, self.others = channel, wired, others
        self._clock = clock
        self._sampler = Sampler(wired, last_total_m3, channel=channel, believed=believed)
        self.source: Source | None = None
        self._told = (condition, "")
        """Condition and doubt, as they were last told."""
        self._counts: deque[tuple[int, int, int]] = deque([(0, 0, 0)], maxlen=GARBAGE_BEATS + 1)
        """Lines, garbage and readings left out, at each of the last beats."""

    @property
    def believed(self) -> Belief:
        return self._sampler.believed

    @believed.setter
    def believed(self, believed: Belief) -> None:
        self._sampler.believed = believed

    def plug_in(self, make: Callable[[], Source | None]) -> list[ev.AnyEvent]:
        """Starts what `make` makes; the job goes on without it, on typed values, and says why."""
        try:
            self.source = make()
            if self.source is not None:
                self.source.start()
        except Exception as fault:
            self.source = None
            return self._change("FAULT", f"the meter cannot be started: {fault}")
        return []

    def unplug(self, why: str) -> list[ev.AnyEvent]:
        if self.source is not None:
            self.source.stop(0.5)
            self.source = None
        return self._change("CLOSED", why)

    def hear(self) -> Heard:
        if self.source is None:
            return Heard()
        heard = Heard()
        readings, status = self.source.drain(), self.source.status
        live = status.state.name == "LIVE"
        if readings:
            heard.before += self._change("LIVE", status.why if live else "readings arrive", self._told[1])
        *breaks, beat = self._sampler.events(readings, self._clock.monotonic())
        heard.before += breaks
        assert isinstance(beat, ev.Heartbeat)
        heard.samples = beat.samples
        doubt, amount, words = self._doubt(status)
        heard.after = self._change(status.state.name, words or status.why, doubt, amount)
        return heard

    def _doubt(self, status: MeterStatus) -> tuple[str, float, str]:
        """What is wrong with what is heard, by how much, and in words; the gravest of it."""
        lines, garbage, left_out = self._counts[0]
        self._counts.append((status.lines, status.garbage, status.left_out))
        lines, garbage, left_out = status.lines - lines, status.garbage - garbage, status.left_out - left_out
        if (back_m3 := self._sampler.backward_m3) > 0.0:
            return "backward", back_m3, "the count goes backward: check the wires and which way it flows"
        if garbage >= GARBAGE_LINES and garbage > GARBAGE_SHARE * (lines + garbage):
            words = (
                f"mostly garbage, {garbage} of {lines + garbage} lines: check the baud rate and who else is on the port"
            )
            return "garbage", garbage / (lines + garbage), words
        if left_out > 0:
            return (
                "flood",
                float(left_out),
                f"more lines than can be kept: {left_out} readings left out, no volume lost",
            )
        return "", 0.0, ""

    def _change(self, condition: str, why: str, doubt: str = "", amount: float = 0.0) -> list[ev.AnyEvent]:
        if (condition, doubt) == self._told:
            return []
        self._told = (condition, doubt)
        changed = {
            "channel": self.channel, "condition": condition, "why": why[:500], "doubt": doubt, "amount": amount,
        }  # fmt: skip
        return [ev.MeterChanged.model_validate(changed)]
