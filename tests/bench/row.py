"""One measured ratio."""

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


Bench = Callable[[], Iterator[Row]]


def median_s(work: Callable[[], object], times: int) -> float:
    """Median of `times` runs, the first of them not counted."""
    work()
    spent: list[float] = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        spent.append(time.perf_counter() - begun)
    return statistics.median(spent)


def in_turn_s(ours: Callable[[], object], baseline: Callable[[], object], times: int) -> tuple[float, float]:
    """Medians of both, run turn by turn so that a busy moment falls on both."""
    spent: tuple[list[float], list[float]] = ([], [])
    for work in (ours, baseline):
        work()
    for _ in range(times):
        for place, work in enumerate((ours, baseline)):
            begun = time.perf_counter()
            work()
            spent[place].append(time.perf_counter() - begun)
    return statistics.median(spent[0]), statistics.median(spent[1])
