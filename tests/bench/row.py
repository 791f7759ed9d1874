"""One measured ratio, or one measured difference of memory."""

import statistics
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Row:
    what: str
    ours_s: float
    baseline_s: float
    most: float | None = None
    """The ratio that is wanted at most."""

    @property
    def ratio(self) -> float:
        return self.ours_s / self.baseline_s


@dataclass(frozen=True, slots=True)
class Size:
    what: str
    ours_mb: float
    baseline_mb: float
    most_mb: float
    """The difference that is wanted at most."""


Bench = Callable[[], Iterator[Row | Size]]


Clock = Callable[[], float]
WALL: Clock = time.perf_counter
"""For work that waits: for a disk, a process, a screen."""
CPU: Clock = time.thread_time
"""For work that only reckons: a busy machine makes it wait, and that is not its doing."""


def median_s(work: Callable[[], object], times: int, clock: Clock = WALL) -> float:
    """Median of `times` runs, the first of them not counted."""
    work()
    spent: list[float] = []
    for _ in range(times):
        begun = clock()
        work()
        spent.append(clock() - begun)
    return statistics.median(spent)


def in_turn_s(
    ours: Callable[[], object], baseline: Callable[[], object], times: int, clock: Clock = WALL
) -> tuple[float, float]:
    """Medians of both, run turn by turn so that a busy moment falls on both."""
    spent: tuple[list[float], list[float]] = ([], [])
    for work in (ours, baseline):
        work()
    for _ in range(times):
        for place, work in enumerate((ours, baseline)):
            begun = clock()
            work()
            spent[place].append(clock() - begun)
    return statistics.median(spent[0]), statistics.median(spent[1])
