"""Readings of one second -> heartbeat, with the breaks in the totaliser told apart from volume."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from tally.job import events as ev
from tally.job.plan import Plan
from tally.job.wired import GROUT, MeterPlan, Wired
from tally.meters import counter
from tally.meters.reading import Reading

FASTEST_M3_S = 0.02
"""1,200 L/min: more than any grout pump on such a rig delivers, for a plan that names no pump."""
LEAP_FLOOR_M3 = 0.02
"""With it: what a total may grow between two lines, however close they are."""
PUMP_MARGIN = 2.0
"""A pump may run this much faster than planned where the plan does not say what it can deliver."""
LATE_S = 5.0
"""Lines may come this much closer together than what they tell of happened."""
MOST_SAMPLES = 25
"""Of one quantity in one heartbeat; more tells nothing more, and every byte is in the raw log."""
UPWARD_M3 = 0.001
"""A count that went backward goes forward again once it has grown by more than a shiver."""


@dataclass(frozen=True, slots=True)
class Belief:
    """The largest rise of a total that is believed: what the pump can deliver in the time, and a floor."""

    fastest_m3_s: float = FASTEST_M3_S
    floor_m3: float = LEAP_FLOOR_M3

    def limit_m3(self, passed_s: float) -> float:
        return self.floor_m3 + self.fastest_m3_s * max(passed_s, 0.0)


_BELIEVED = Belief()


def belief(plan: Plan, wired: Wired | None) -> Belief:
    """What is believed of an instrument on this job: by the greatest rate of the plan's pump, and its own steps."""
    if plan.pump is None:
        fastest_m3_s, floor_m3 = FASTEST_M3_S, LEAP_FLOOR_M3
    else:
        fastest_m3_s = plan.pump.greatest_rate_m3_s or PUMP_MARGIN * plan.pump.rate_m3_s
        floor_m3 = fastest_m3_s * LATE_S
    if wired is None:
        return Belief(fastest_m3_s, floor_m3)
    pulses = [wired.factors.get("pulses", 0.0), *(one.factor for one in wired.registers if one.reads == "pulses")]
    step_m3 = (wired.step_m3 or 0.0) if isinstance(wired, MeterPlan) else 0.0
    return Belief(fastest_m3_s, max(floor_m3, 2 * step_m3, *(2 * pulse for pulse in pulses)))


class Sampler:
    """Sorts what an instrument sent since the last second; remembers a doubtful total until the next one settles it."""

    def __init__(
        self,
        plan: Wired | None,
        last_total_m3: float | None,
        *,
        channel: str = GROUT,
        believed: Belief = _BELIEVED,
    ) -> None:
        self._channel = channel
        self._modulus_m3 = plan.modulus_m3 if plan else None
        self.believed = believed
        self._last_m3 = last_total_m3
        self._last_s: float | None = None
        self._doubtful: Reading | None = None
        self._low: Reading | None = None
        """The lowest total since the count began to go backward."""

    @property
    def backward_m3(self) -> float:
        """How far the count has gone backward, once that is more than a shiver; else nothing."""
        if self._low is None or self._last_m3 is None:
            return 0.0
        fallen_m3 = self._last_m3 - self._low.value
        return fallen_m3 if fallen_m3 > self.believed.floor_m3 else 0.0

    def events(self, readings: list[Reading], beat_s: float) -> list[ev.Heartbeat | ev.MeterRebased]:
        """One heartbeat, and before it what was counted up to each break."""
        told: list[ev.Heartbeat | ev.MeterRebased] = []
        kept: list[Reading] = []
        for reading in map(_as_kept, readings):
            if reading.quantity != "total_m3":
                kept.append(reading)
                continue
            for counted, rebased in self._settled(reading):
                if rebased is not None:
                    told += [self._beat(kept, beat_s), rebased] if kept else [rebased]
                    kept = []
                kept.append(counted)
        told.append(self._beat(kept, beat_s))
        return told

    def _settled(self, reading: Reading) -> list[tuple[Reading, ev.MeterRebased | None]]:
        """Totals to record now, each with the break before it, if any."""
        last_m3, doubtful = self._last_m3, self._doubtful
        if last_m3 is None:
            self._take(reading)
            return [(reading, None)]
        if (followed := self._followed(reading, last_m3)) is not None:
            return followed
        step = self._step(last_m3, reading, self._last_s)
        if step.kind == "normal":
            # A doubtful total before it was one bad line: the count is back where it was.
            self._doubtful = None
            self._take(reading)
            return [(reading, None)]
        if step.kind == "rollover":
            self._doubtful = None
            self._take(reading)
            return [(reading, self._rebased(last_m3, reading, step))]
        if step.kind == "backward":
            # A shiver counts once: totals below the highest are left to the raw log until they pass it again.
            if self._low is not None:
                return []
            self._low = reading
            return [(_at(reading, last_m3), self._rebased(last_m3, _at(reading, last_m3), step))]
        if doubtful is None:
            self._doubtful = reading
            return []
        self._doubtful = None
        first = self._step(last_m3, doubtful, self._last_s)
        self._take(doubtful)
        return [(doubtful, self._rebased(last_m3, doubtful, first)), *self._settled(reading)]

    def _followed(self, reading: Reading, last_m3: float) -> list[tuple[Reading, ev.MeterRebased | None]] | None:
        """What a total says of a count that goes backward; None where it says something else.

        Once it goes forward again after more than a shiver, it counts from there, and the operator is asked what the
        way back was: wires that were the wrong way round, or grout that ran back.
        """
        low = self._low
        if low is None or reading.value >= last_m3:
            return None
        move_m3 = reading.value - low.value
        if abs(move_m3) > self.believed.limit_m3(reading.mono_s - low.mono_s):
            return None
        if move_m3 <= 0.0:
            self._low = reading
            return []
        fallen_m3 = last_m3 - low.value
        if fallen_m3 <= self.believed.floor_m3 or move_m3 <= UPWARD_M3:
            return []
        turned = counter.Step(0.0, "backward", fallen_m3)
        self._take(low)
        at_low = _at(reading, low.value)
        return [(at_low, self._rebased(last_m3, at_low, turned)), *self._settled(reading)]

    def _step(self, last_m3: float, reading: Reading, since_s: float | None) -> counter.Step:
        passed_s = max(reading.mono_s - since_s, 0.0) if since_s is not None else 0.0
        limit_m3 = self.believed.limit_m3(passed_s)
        return counter.step(last_m3, reading.value, modulus_m3=self._modulus_m3, jump_limit_m3=limit_m3)

    def _take(self, reading: Reading) -> None:
        self._last_m3, self._last_s, self._low = reading.value, reading.mono_s, None

    def _rebased(self, from_m3: float, to: Reading, step: counter.Step) -> ev.MeterRebased:
        assert step.kind != "normal"
        turned = step.kind == "backward" and to.value < from_m3
        return ev.MeterRebased(
            channel=self._channel,
            from_m3=from_m3,
            to_m3=to.value,
            cause=step.kind,
            counted_m3=step.increment_m3,
            offered_m3=step.doubtful_m3 if turned or step.kind in ("jump", "reset") else 0.0,
        )

    def _beat(self, readings: list[Reading], beat_s: float) -> ev.Heartbeat:
        by_quantity: dict[str, list[Reading]] = defaultdict(list)
        for reading in readings:
            by_quantity[reading.quantity].append(reading)
        return ev.Heartbeat(
            samples=tuple(
                ev.Samples(
                    channel=self._channel,
                    quantity=quantity,  # type: ignore[arg-type]  # the meters room names the same quantities
                    before_s=tuple(round(max(beat_s - reading.mono_s, 0.0), 2) for reading in group),
                    values=tuple(reading.value for reading in group),
                )
                for quantity, group in ((name, thinned(found)) for name, found in by_quantity.items())
            )
        )


def thinned(readings: list[Reading]) -> list[Reading]:
    """At most `MOST_SAMPLES` of them, the last always among them: between two breaks a total only grows."""
    if len(readings) <= MOST_SAMPLES:
        return readings
    last = len(readings) - 1
    return [readings[last * place // (MOST_SAMPLES - 1)] for place in range(MOST_SAMPLES)]


def _as_kept(reading: Reading) -> Reading:
    """Rounded as in the file, so that a total read back is no hair's breadth above the same total sent again."""
    return _at(reading, round(reading.value, 9))


def _at(reading: Reading, value: float) -> Reading:
    return Reading(reading.mono_s, reading.channel, reading.quantity, value)
