"""The backlog: bounded, and the same volume comes out however long nobody drains it."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.meters.backlog import Backlog, thinned
from tally.meters.reading import Reading


def totals(values: list[float]) -> list[Reading]:
    return [Reading(float(i), "in", "total_m3", value) for i, value in enumerate(values)]


def risen(readings: list[Reading]) -> float:
    """The sum of all rises, which is what a totaliser that was reset in between has counted."""
    values = [r.value for r in readings if r.quantity == "total_m3"]
    return sum(max(0.0, after - before) for before, after in pairwise(values))


@given(st.lists(st.integers(0, 1000), min_size=1, max_size=60))
def test_thinning_keeps_the_volume_the_order_and_every_fall(values: list[int]) -> None:
    before = totals([float(v) for v in values])
    after = thinned(before, most=10_000)
    assert risen(after) == risen(before)
    assert (after[0], after[-1]) == (before[0], before[-1])
    assert [r.mono_s for r in after] == sorted(r.mono_s for r in after)
    falls = [(a, b) for a, b in pairwise(before) if b.value < a.value]
    assert all(fall in set(pairwise(after)) for fall in falls)


def test_within_the_limit_nothing_is_touched() -> None:
    backlog, sent = Backlog(), totals([float(i) for i in range(20_000)])
    backlog.put(sent)
    assert backlog.take() == sent
    assert backlog.take() == []
    assert backlog.coalesced == 0


def test_far_behind_it_stays_bounded_and_hides_no_reset() -> None:
    backlog = Backlog(limit=40)
    values = [*(float(i) for i in range(500)), *(float(i) for i in range(500))]
    for reading in totals(values):
        backlog.put([reading, Reading(reading.mono_s, "in", "rate_m3_s", -reading.mono_s)])
    left = backlog.take()
    assert len(left) <= 42
    assert backlog.coalesced > 1900
    assert risen(left) == 998.0
    assert left[-2].value == 499.0
    assert left[-1] == Reading(999.0, "in", "rate_m3_s", -999.0)


def test_a_total_that_falls_all_the_time_does_not_fill_the_memory() -> None:
    backlog = Backlog(limit=40)
    for reading in totals([float(1000 - i) for i in range(1000)]):
        backlog.put([reading])
    left = backlog.take()
    assert len(left) <= 41
    assert left[-1].value == 1.0
    assert left[0].value == 1000.0


def test_a_limit_too_small_to_thin_is_refused() -> None:
    with pytest.raises(ValueError, match="at least 40"):
        Backlog(limit=10)
