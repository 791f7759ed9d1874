"""A total out of rates, by hand: what flowed between two of them, and nothing where nobody looked."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.meters.decoder import Decoder
from tally.meters.dialect import LineDialect
from tally.meters.integral import LONGEST_STEP_S, Integral

L_MIN = 1e-3 / 60


def totals_l(lines: list[tuple[float, bytes]]) -> list[float]:
    decoder = Decoder("in", LineDialect(r"R (?P<rate>\S+)", {"rate": L_MIN}, integrates=True))
    found = [reading for at_s, line in lines for reading in decoder.feed(at_s, line)]
    return [round(reading.value * 1000, 6) for reading in found if reading.quantity == "total_m3"]


def test_rates_add_up_by_their_mean() -> None:
    # 60 L/min is 1 L/s: 1 s at 60, 1 s from 60 to 30 (0.75 L), 2 s at 30 (1 L)
    lines = [(0.0, b"R 60\n"), (1.0, b"R 60\n"), (2.0, b"R 30\n"), (4.0, b"R 30\n")]
    assert totals_l(lines) == [0.0, 1.0, 1.75, 2.75]


def test_a_gap_is_not_filled() -> None:
    assert totals_l([(0.0, b"R 60\n"), (LONGEST_STEP_S + 0.1, b"R 60\n"), (4.1, b"R 60\n")]) == [0.0, 0.0, 1.0]
    assert totals_l([(0.0, b"R 60\n"), (0.5, b""), (1.0, b"R 60\n")]) == [0.0, 0.0]  # the port was opened between


def test_backward_flow_counts_nothing() -> None:
    assert totals_l([(0.0, b"R -60\n"), (1.0, b"R -60\n"), (2.0, b"R 60\n")]) == [0.0, 0.0, 0.0]


@given(st.lists(st.tuples(st.floats(-10.0, 10.0), st.floats(-1.0, 1.0)), max_size=50))
def test_it_never_falls(steps: list[tuple[float, float]]) -> None:
    integral, now_s, before_m3 = Integral(), 0.0, 0.0
    for passed_s, rate_m3_s in steps:
        now_s += passed_s  # a clock that turns back counts nothing either
        total_m3 = integral.take(now_s, rate_m3_s)
        assert total_m3 >= before_m3
        assert total_m3 - before_m3 <= LONGEST_STEP_S
        before_m3 = total_m3


def test_a_total_on_the_line_is_never_added_to() -> None:
    dialect = LineDialect(r"T (?P<total>\S+) R (?P<rate>\S+)", {"total": 1e-3, "rate": L_MIN}, integrates=True)
    decoder = Decoder("in", dialect)
    assert [reading.value for reading in decoder.feed(0.0, b"T 5 R 60\n") if reading.quantity == "total_m3"] == [
        pytest.approx(0.005)
    ]
