"""Factors: the edges of a meter's tolerance, and blending by hand."""

import math

import pytest

from tally.engineering.factor import Z_80, Factor, blended, combined, meter_factor, widened


@pytest.mark.parametrize("bad", [1.0, 1.5, -0.001, math.nan])
def test_a_meter_is_never_wholly_unknown(bad: float) -> None:
    with pytest.raises(ValueError, match=r"meter_tolerance = .*must be"):
        meter_factor(bad)
    assert meter_factor(0.999).spread == 0.999


def test_deviations_add_in_squares() -> None:
    # 3 and 4 hundredths of logarithm make 5
    hole, other = Factor.of_sigma(1.2, 0.03), Factor.of_sigma(1.0, 0.04)
    for found in (widened(hole, other.spread), combined(hole, other.spread)):
        assert found.median == pytest.approx(1.2)
        assert found.sigma == pytest.approx(0.05)
        assert found.high == pytest.approx(1.2 * math.exp(0.05 * Z_80))


def test_two_alike_estimates_meet_half_way_and_are_the_surer() -> None:
    # equal precisions: the geometric mean of 1.0 and 1.21 is 1.1, the deviation falls by the root of two
    found = blended(Factor.of_sigma(1.0, 0.1), Factor.of_sigma(1.21, 0.1))
    assert found.median == pytest.approx(1.1)
    assert found.sigma == pytest.approx(0.1 / math.sqrt(2))
