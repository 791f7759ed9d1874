"""The counter, against the volume that truly flowed: each test makes the flow first, then what a totaliser shows."""

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from tally.meters.counter import Counter, Step, step

TOTAL = st.floats(0, 1e6)
LIMIT = st.floats(0, 1e3)
MODULUS = st.none() | st.floats(1e-3, 1e6)


def counted(totals: list[float], *, modulus_m3: float | None = None, jump_limit_m3: float) -> tuple[float, list[str]]:
    counter, volume_m3 = Counter(modulus_m3), 0.0
    kinds: list[str] = []
    for total_m3 in totals:
        counter, found = counter.take(total_m3, jump_limit_m3=jump_limit_m3)
        volume_m3 += found.increment_m3
        kinds.append(found.kind)
    return volume_m3, kinds


@pytest.mark.parametrize(
    ("last", "new", "modulus", "limit", "expected"),
    [
        (10.0, 10.5, None, 1.0, Step(0.5, "normal")),
        (10.0, 10.0, None, 0.0, Step(0.0, "normal")),
        (10.0, 0.0, None, 1.0, Step(0.0, "reset")),
        (10.0, 0.25, None, 1.0, Step(0.0, "reset", 0.25)),
        (10.0, 14.0, None, 1.0, Step(0.0, "jump", 4.0)),
        (10.0, 9.75, None, 1.0, Step(0.0, "backward", 0.25)),
        (99.5, 0.25, 100.0, 1.0, Step(0.75, "rollover")),
        (99.5, 0.25, None, 1.0, Step(0.0, "reset", 0.25)),  # no one said that it rolls over
        (50.0, 0.25, 100.0, 1.0, Step(0.0, "reset", 0.25)),  # too far from the modulus to have rolled over
        (0.25, 99.75, 100.0, 1.0, Step(0.0, "backward", 0.5)),  # backward through zero, no leap forward
    ],
)
def test_each_kind_of_step(last: float, new: float, modulus: float | None, limit: float, expected: Step) -> None:
    assert step(last, new, modulus_m3=modulus, jump_limit_m3=limit) == expected


@given(TOTAL, TOTAL, MODULUS, LIMIT)
def test_a_step_never_counts_a_negative_volume_nor_more_than_can_have_flowed(
    last: float, new: float, modulus: float | None, limit: float
) -> None:
    found = step(last, new, modulus_m3=modulus, jump_limit_m3=limit)
    assert 0 <= found.increment_m3 <= limit
    assert found.doubtful_m3 >= 0


@given(st.lists(TOTAL, max_size=40), MODULUS, LIMIT)
def test_no_row_of_totals_counts_more_than_the_limit_a_step(
    totals: list[float], modulus: float | None, limit: float
) -> None:
    volume_m3, _ = counted(totals, modulus_m3=modulus, jump_limit_m3=limit)
    assert 0 <= volume_m3 <= limit * len(totals) * (1 + 1e-9)


FLOW_TICKS = st.lists(st.integers(0, 64), min_size=1, max_size=60)  # sixty-fourths of a litre: exact in binary


@given(st.integers(0, 10_000), FLOW_TICKS)
def test_a_steady_totaliser_counts_what_flowed(start: int, ticks: list[int]) -> None:
    totals = [(start + sum(ticks[:i])) / 64 for i in range(len(ticks) + 1)]
    assert counted(totals, jump_limit_m3=1.0) == (sum(ticks) / 64, ["normal"] * len(totals))


@given(st.integers(0, 1023), FLOW_TICKS, st.sampled_from([256, 1024, 65_536]))
def test_rolling_over_loses_nothing_at_any_width(start: int, ticks: list[int], width: int) -> None:
    totals = [(start + sum(ticks[:i])) % width / 64 for i in range(len(ticks) + 1)]
    volume_m3, kinds = counted(totals, modulus_m3=width / 64, jump_limit_m3=1.0)
    assert volume_m3 == sum(ticks) / 64
    assert kinds.count("rollover") == sum(b < a for a, b in pairwise(totals))


@given(FLOW_TICKS, st.data())
def test_a_reset_loses_one_step_at_most_and_says_so(ticks: list[int], data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(ticks) - 1))
    start = 64_000
    before = [start + sum(ticks[:i]) for i in range(at + 1)]
    after = [sum(ticks[at : i + 1]) for i in range(at, len(ticks))]
    volume_m3, kinds = counted([t / 64 for t in before + after], jump_limit_m3=1.0)
    assert kinds.count("reset") == 1
    assert volume_m3 == (sum(ticks) - ticks[at]) / 64


# two steps' flow stays within the limit of one, 64 ticks
@given(st.lists(st.integers(0, 32), min_size=2, max_size=60), st.integers(0, 58), st.integers(0, 10_000_000))
def test_one_bad_line_costs_nothing(ticks: list[int], at: int, bad: int) -> None:
    totals = [(640_000 + sum(ticks[:i])) / 64 for i in range(len(ticks) + 1)]
    at = 1 + at % (len(ticks) - 1)
    flow_m3 = sum(ticks) / 64
    assume(abs(bad / 64 - totals[at]) > 4)  # a bad total near the true one cannot be told from it
    totals[at] = bad / 64
    volume_m3, _ = counted(totals, jump_limit_m3=1.0)
    assert volume_m3 == flow_m3


def test_a_count_that_shivers_is_counted_once() -> None:
    assert counted([10.0, 10.5, 10.25, 10.5, 10.25, 10.5, 11.0], jump_limit_m3=1.0)[0] == 1.0


def test_after_running_backward_for_long_new_volume_counts_again() -> None:
    backward = [100 - 0.5 * i for i in range(41)]
    forward = [80 + 0.5 * i for i in range(1, 41)]
    volume_m3, kinds = counted(backward + forward, jump_limit_m3=1.0)
    assert kinds[1:41] == ["backward"] * 40
    assert volume_m3 == 19.0  # 20 that flowed, less the one step's limit that could have been a shiver


def test_a_total_that_moved_while_nobody_looked_is_in_doubt() -> None:
    counter = Counter(last_m3=10.0)
    counter, found = counter.take(10.3, jump_limit_m3=0.0)
    assert (found.kind, found.increment_m3) == ("jump", 0.0)
    assert found.doubtful_m3 == pytest.approx(0.3)
    _, found = counter.take(10.4, jump_limit_m3=1.0)
    assert found.kind == "normal"
    assert found.increment_m3 == pytest.approx(0.1)


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_what_is_no_number_is_refused(bad: float) -> None:
    for wrong in (
        lambda: step(bad, 1.0, modulus_m3=None, jump_limit_m3=1.0),
        lambda: step(1.0, bad, modulus_m3=None, jump_limit_m3=1.0),
        lambda: step(1.0, 1.0, modulus_m3=bad, jump_limit_m3=1.0),
        lambda: step(1.0, 1.0, modulus_m3=None, jump_limit_m3=-1.0),
        lambda: Counter().take(bad, jump_limit_m3=1.0),
    ):
        with pytest.raises(ValueError, match="must"):
            wrong()
