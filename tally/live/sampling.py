"""Readings of one second -> heartbeat, with the breaks in the totaliser told apart from volume."""

from __future__ import annotations

from collections import defaultdict

from tally.job import events as ev
from tally.job.plan import MeterPlan
from tally.meters import counter
from tally.meters.reading import Reading

FASTEST_M3_S = 0.02
"""1,200 L/min: more than any grout pump on such a rig delivers, so a faster rise of the count is a leap."""
LEAP_FLOOR_M3 = 0.02


class Sampler:
    """Sorts what a meter sent since the last second; remembers a doubtful total until the next one settles it."""

    def __init__(self, plan: MeterPlan | None, last_total_m3: float | None) -> None:
        self._modulus_m3 = plan.modulus_m3 if plan else None
        self._last_m3 = last_total_m3
        self._last_s: float | None = None
        self._doubtful: Reading | None = None
        self._fell = False

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
                    told += [_beat(kept, beat_s), rebased] if kept else [rebased]
                    kept = []
                kept.append(counted)
        told.append(_beat(kept, beat_s))
        return told

    def _settled(self, reading: Reading) -> list[tuple[Reading, ev.MeterRebased | None]]:
        """Totals to record now, each with the break before it, if any."""
        last_m3, doubtful = self._last_m3, self._doubtful
        if last_m3 is None:
            self._take(reading)
            return [(reading, None)]
        step = self._step(last_m3, reading, self._last_s)
        if step.kind == "normal":
            # A doubtful total before it was one bad line: the count is back where it was.
            self._doubtful = None
            self._take(reading)
            return [(reading, None)]
        if step.kind == "rollover":
            self._doubtful = None
            self._take(reading)
            return [(reading, _rebased(last_m3, reading, step))]
        if step.kind == "backward":
            # A shiver counts once: totals below the highest are left to the raw log until they pass it again.
            if self._fell:
                return []
            self._fell = True
            return [(_at(reading, last_m3), _rebased(last_m3, _at(reading, last_m3), step))]
        if doubtful is None:
            self._doubtful = reading
            return []
        self._doubtful = None
        first = self._step(last_m3, doubtful, self._last_s)
        self._take(doubtful)
        return [(doubtful, _rebased(last_m3, doubtful, first)), *self._settled(reading)]

    def _step(self, last_m3: float, reading: Reading, since_s: float | None) -> counter.Step:
        passed_s = max(reading.mono_s - since_s, 0.0) if since_s is not None else 0.0
        return counter.step(
            last_m3,
            reading.value,
            modulus_m3=self._modulus_m3,
            jump_limit_m3=LEAP_FLOOR_M3 + FASTEST_M3_S * passed_s,
        )

    def _take(self, reading: Reading) -> None:
        self._last_m3, self._last_s, self._fell = reading.value, reading.mono_s, False


def _as_kept(reading: Reading) -> Reading:
    """Rounded as in the file, so that a total read back is no hair's breadth above the same total sent again."""
    return _at(reading, round(reading.value, 9))


def _at(reading: Reading, value: float) -> Reading:
    return Reading(reading.mono_s, reading.channel, reading.quantity, value)


def _rebased(from_m3: float, to: Reading, step: counter.Step) -> ev.MeterRebased:
    assert step.kind != "normal"
    return ev.MeterRebased(
        channel="grout",
        from_m3=from_m3,
        to_m3=to.value,
        cause=step.kind,
        counted_m3=step.increment_m3,
        offered_m3=step.doubtful_m3 if step.kind in ("jump", "reset") else 0.0,
    )


def _beat(readings: list[Reading], beat_s: float) -> ev.Heartbeat:
    by_quantity: dict[str, list[Reading]] = defaultdict(list)
    for reading in readings:
        by_quantity[reading.quantity].append(reading)
    return ev.Heartbeat(
        samples=tuple(
            ev.Samples(
                channel="grout",
                quantity=quantity,  # type: ignore[arg-type]  # the meters room names the same quantities
                before_s=tuple(round(max(beat_s - reading.mono_s, 0.0), 2) for reading in group),
                values=tuple(reading.value for reading in group),
            )
            for quantity, group in by_quantity.items()
        )
    )
