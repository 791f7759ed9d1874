"""The choice of joints against every order tried by hand; 0.01 ft is 3.048 mm exactly (NIST SP 811, 2008, B.8)."""

import time
from itertools import accumulate, combinations, permutations, repeat

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tally.job import order
from tally.job.order import Choice, Wanted

CAREFUL = settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow])
HUNDREDTH_FOOT_M = 0.003048


def tried(rack_mm: list[int], wanted: Wanted) -> tuple[int, int] | None:
    """(cut off, moves) of the best of all orders, each tried."""
    base, gain = round(wanted.base_m * 1000), round(wanted.gain_m * 1000)
    best: tuple[int, int] | None = None
    for count in range(len(rack_mm) + 1):
        for places in permutations(range(len(rack_mm)), count):
            *tops, end = accumulate((rack_mm[place] + gain for place in places), initial=base)
            if end < wanted.low_mm or any(top >= wanted.low_mm for top in tops):
                continue
            if any(low < top < high for top in tops[1:] for low, high in wanted.barred_mm):
                continue
            found = max(end - wanted.high_mm, 0), counted(places, len(rack_mm))
            best = found if best is None else min(best, found)
    return best


def counted(places: tuple[int, ...], count: int) -> int:
    """Joints that do not keep their turn, by looking at every set that might: the joints put on, then the others."""
    rest = [place for place in range(count) if place not in places]
    for kept in range(count, -1, -1):
        for those in combinations(range(count), kept):
            new = [place for place in (*places, *rest) if place in those]
            if new == sorted(new):
                return count - kept
    raise AssertionError


@st.composite
def racks(draw: st.DrawFn) -> tuple[list[int], Wanted]:
    spread = draw(st.sampled_from([0, 4, 40, 400, 3_000]))
    rack = draw(st.lists(st.integers(6_000 - spread, 6_000), min_size=1, max_size=6))
    base, gain = draw(st.sampled_from([0, -2, 250])), draw(st.sampled_from([0, 2, -80]))
    longest = base + sum(rack) + gain * len(rack)
    low = draw(st.integers(1_000, longest + 100))
    barred = [
        (middle - off, middle + off)
        for middle, off in draw(
            st.lists(st.tuples(st.integers(0, longest), st.sampled_from([30, 300, 1_500])), max_size=3)
        )
    ]
    high = low + draw(st.sampled_from([0, 20, 200, 900]))
    return rack, Wanted(base / 1000, gain / 1000, low, high, tuple(barred))


@CAREFUL
@given(racks())
def test_no_other_order_does_better(asked: tuple[list[int], Wanted]) -> None:
    rack_mm, wanted = asked
    found = order.best([length / 1000 for length in rack_mm], wanted)
    best = tried(rack_mm, wanted)
    if found is None:
        assert best is None
        return
    assert (found.cut_mm, found.moves) == best
    assert found.proven
    assert counted(found.places, len(rack_mm)) == found.moves == order.moves(found.places, len(rack_mm))


EIGHT_MM = [6_020, 5_870, 6_110, 5_990, 6_040, 5_930, 6_070, 5_950]
UNLIKE_MM = [6_400, 4_100, 6_200, 5_300, 6_300, 4_800, 6_100, 5_900]


@pytest.mark.parametrize(
    ("rack_mm", "barred"),
    [
        (EIGHT_MM, ()),
        (EIGHT_MM, ((17_700, 18_500), (29_500, 30_300))),
        (EIGHT_MM, ((29_500, 30_190),)),
        (EIGHT_MM, ((18_000, 18_300), (11_950, 12_300))),
        (UNLIKE_MM, ((17_700, 18_500), (29_500, 30_300))),
        ([6_000] * 4 + [5_000] * 4, ((6_000, 6_260),)),
    ],
)
def test_no_other_order_of_eight_does_better(rack_mm: list[int], barred: tuple[tuple[int, int], ...]) -> None:
    wanted = Wanted(0.25, 0.002, 35_900, 36_000, barred)
    found = order.best([length / 1000 for length in rack_mm], wanted)
    assert (None if found is None else (found.cut_mm, found.moves)) == tried_pruned(rack_mm, wanted)
    assert found is None or found.proven


def tried_pruned(rack_mm: list[int], wanted: Wanted) -> tuple[int, int] | None:
    """As `tried`, leaving an order as soon as it has a barred weld, and counting moves only where cuts are equal."""
    base, gain = round(wanted.base_m * 1000), round(wanted.gain_m * 1000)
    cuts: dict[int, list[tuple[int, ...]]] = {}
    open_: list[tuple[tuple[int, ...], int]] = [((), base)]
    while open_:
        places, top = open_.pop()
        if top >= wanted.low_mm:
            cuts.setdefault(max(top - wanted.high_mm, 0), []).append(places)
        elif not places or not any(low < top < high for low, high in wanted.barred_mm):
            rest = (place for place in range(len(rack_mm)) if place not in places)
            open_ += [((*places, place), top + rack_mm[place] + gain) for place in rest]
    if not cuts:
        return None
    least = min(cuts)
    return least, min(map(counted, cuts[least], repeat(len(rack_mm))))


def test_what_is_long_enough_takes_no_joint() -> None:
    assert order.best([6.0], Wanted(40.0, 0.0, 39_900, 40_100)) == Choice((), 0, 0, True)
    assert order.best([6.0], Wanted(40.5, 0.0, 39_900, 40_100)) == Choice((), 400, 0, True)


def test_an_empty_rack_reaches_nothing() -> None:
    assert order.best([], Wanted(0.0, 0.0, 1_000, 1_100)) is None


def test_hundredths_of_a_foot_do_not_drift() -> None:
    """Forty joints of 20.01 ft are 800.40 ft = 243.96192 m; each rounded to the millimetre they would be 243.960 m."""
    rack_m = [20.01 * 0.3048] * 40
    exactly = Wanted(0.0, 0.0, 243_962, 243_962)
    found = order.best(rack_m, exactly)
    assert found == Choice(tuple(range(40)), 0, 0, True)
    assert order.best(rack_m, Wanted(0.0, 0.0, 243_963, 243_963)) is None


def test_mixed_tapes_are_told_as_not_proven() -> None:
    found = order.best([6.0, 6.01, 20.01 * 0.3048, 6.02], Wanted(0.0, 0.0, 11_900, 12_200))
    assert found is not None and not found.proven


@pytest.mark.parametrize("step_m", [0.01, 0.001, HUNDREDTH_FOOT_M])
def test_forty_joints_with_welds_kept_clear(step_m: float) -> None:
    """Ten seconds are a generous bound against a search that runs away; the bench measures."""
    steps = [(place * 7919) % 83 for place in range(40)]
    rack_m = [step_m * (round(5.8 / step_m) + each) for each in steps]
    need_mm = round(sum(rack_m[:38]) * 1000) - 900
    rock_mm, top_mm = need_mm - 8_200, need_mm - 500
    wanted = Wanted(0.3, 0.002, need_mm, need_mm + 100, ((rock_mm - 600, rock_mm + 600), (top_mm - 500, top_mm + 500)))
    begun_s = time.monotonic()
    found = order.best(rack_m, wanted)
    assert time.monotonic() - begun_s < 10.0
    assert found is not None and found.proven
    tops = list(accumulate((rack_m[place] + 0.002 for place in found.places), initial=0.3))
    assert tops[-1] * 1000 - found.cut_mm == pytest.approx(need_mm + 100 if found.cut_mm else tops[-1] * 1000, abs=0.6)
    assert tops[-1] * 1000 >= need_mm - 0.6
    for low_mm, high_mm in wanted.barred_mm:
        assert not any(low_mm + 0.6 < top * 1000 < high_mm - 0.6 for top in tops[1:-1])


def test_a_search_that_is_cut_short_says_so() -> None:
    """Rack order is barred at 11.9 m whichever joint is left out; only another order helps, and nobody may look."""
    rack_m = [6.0, 5.9, 6.3, 5.2]
    wanted = Wanted(0.0, 0.0, 23_300, 23_500, ((11_800, 12_000),))
    looked = order.best(rack_m, wanted)
    assert looked is not None and looked.proven
    assert order.best(rack_m, wanted, most_looks=0) is None
