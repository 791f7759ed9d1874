"""Readings on their way from a meter's thread to whoever drains them: bounded, yet the last total gets through."""

import threading
from collections.abc import Iterable

from tally.meters.reading import Reading


class Backlog:
    """Readings in order of arrival. Past `limit` it thins out the middle; see `thinned`."""

    def __init__(self, limit: int = 20_000) -> None:
        if limit < 40:
            raise ValueError(f"limit is {limit}; it must be at least 40")
        self._limit = limit
        self._lock = threading.Lock()
        self._readings: list[Reading] = []
        self.coalesced = 0

    def put(self, readings: Iterable[Reading]) -> None:
        with self._lock:
            self._readings += readings
            if len(self._readings) > self._limit:
                kept = thinned(self._readings, self._limit // 2)
                self.coalesced += len(self._readings) - len(kept)
                self._readings = kept

    def take(self) -> list[Reading]:
        """All readings since the last call."""
        with self._lock:
            taken, self._readings = self._readings, []
        return taken


def thinned(readings: list[Reading], most: int) -> list[Reading]:
    """First and last of each quantity and both sides of every fall of a total, so that the same volume comes out.

    A total that falls all the time (a broken meter) could still fill the memory: past `most` the middle goes too.
    """
    keep: set[int] = set()
    before: dict[tuple[str, str], int] = {}
    for index, reading in enumerate(readings):
        key = (reading.channel, reading.quantity)
        previous = before.get(key)
        if previous is None:
            keep.add(index)
        elif reading.quantity == "total_m3" and reading.value < readings[previous].value:
            keep |= {previous, index}
        before[key] = index
    lasts = set(before.values())
    ordered = sorted(keep | lasts)
    if len(ordered) > most:
        early = ordered[: most // 2]
        ordered = sorted({*early, *ordered[-(most - len(early)) :], *lasts})
    return [readings[index] for index in ordered]
