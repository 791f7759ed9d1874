"""The bucket test against a general statistics library, a printed calibration, and runs worked by hand."""

import math

import pytest
from scipy import stats

from tally.engineering.bucket import SPREAD_LIMIT, BucketTest, bucket_test, t_deviate, tolerance


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 9, 10, 29, 30])
def test_student_s_t_is_that_of_a_general_library(freedom: int) -> None:
    for probability in (0.5, 0.6, 0.9, 0.975, 0.9995):
        assert t_deviate(probability, freedom) == pytest.approx(stats.t.ppf(probability, freedom), rel=1e-9, abs=1e-9)


# Printed in every table of Student's t (from memory): two-sided 95 %.
@pytest.mark.parametrize(("freedom", "printed"), [(1, 12.706), (2, 4.303), (3, 3.182), (4, 2.776), (10, 2.228)])
def test_the_printed_table(freedom: int, printed: float) -> None:
    assert t_deviate(0.975, freedom) == pytest.approx(printed, abs=0.0005)


def test_three_runs_worked_by_hand() -> None:
    # 1973, 1981 and 1977 pulses for 20 L each: K = 98.65, 99.05, 98.85 a litre. Mean 98.85; squares 0.04 + 0.04 + 0,
    # over 2 and rooted 0.20; spread 0.40 / 98.85; 95 % of the mean: 4.303 x 0.20 / root 3 = 0.497.
    test = bucket_test([1973, 1981, 1977], [0.020] * 3)
    assert test.mean / 1000 == pytest.approx(98.85)
    assert test.deviation / 1000 == pytest.approx(0.20)
    assert test.spread == pytest.approx(0.40 / 98.85)
    assert test.mean_error * test.mean / 1000 == pytest.approx(0.497, abs=0.0005)
    # 80 % of further runs: t = 1.886 (from memory) x 0.20 x root(4/3) = 0.4356
    assert test.next_error * 98.85 == pytest.approx(0.4356, abs=0.0005)
    assert tolerance(test, 0.005) == pytest.approx(math.hypot(0.4356 / 98.85, 0.005), abs=1e-5)


def test_the_interval_and_the_deviation_are_those_of_a_general_library() -> None:
    factors = (0.9971, 1.0024, 0.9998, 1.0051, 0.9989)
    test = BucketTest(factors)
    assert test.deviation == pytest.approx(stats.tstd(factors))
    low, high = stats.t.interval(0.95, 4, loc=test.mean, scale=stats.sem(factors))
    assert test.mean * (1 - test.mean_error) == pytest.approx(low)
    assert test.mean * (1 + test.mean_error) == pytest.approx(high)


def test_a_printed_calibration_of_five_points() -> None:
    # A turbine meter's calibration sheet as its owner's manual prints it (p 19): gal/min, Hz, K = 60 Hz / (gal/min) in
    # pulses a gallon. Its K were worked out from more digits than it prints: half of the last one of Hz and gal/min.
    printed = ((15.00, 769.7, 3078.59), (9.06, 466.1, 3086.75), (5.49, 285.2, 3118.64), (3.32, 171.7, 3103.95),
               (2.00, 103.6, 3101.80))  # fmt: skip
    test = bucket_test([hertz * 60 for _, hertz, _ in printed], [flow for flow, _, _ in printed])
    for factor, (_, hertz, k) in zip(test.factors, printed, strict=True):
        assert factor == pytest.approx(k, rel=0.05 / hertz + 0.005 / 2.0)
    assert BucketTest(tuple(k for _, _, k in printed)).spread == pytest.approx((3118.64 - 3078.59) / 3097.946)  # 1.3 %


def test_a_working_meter_s_runs_lie_within_one_per_cent() -> None:
    assert SPREAD_LIMIT == 0.01  # common practice


def test_no_deviate_has_everything_below_it_and_none_is_of_no_freedom() -> None:
    for probability, freedom, words in ((1.0, 2, "less than 1"), (0.49, 2, "at least 0.5"), (0.9, 0, "1 or more")):
        with pytest.raises(ValueError, match=words):
            t_deviate(probability, freedom)


def test_runs_that_agree_leave_the_bucket_s_own_error() -> None:
    test = bucket_test([500.0, 250.0], [0.1, 0.05])
    assert (test.deviation, test.spread, test.next_error) == (0.0, 0.0, 0.0)
    assert tolerance(test, 0.004) == 0.004


@pytest.mark.parametrize(
    ("counted", "true_m3", "words"),
    [
        ([1.0], [1.0], "two at least"),
        ([1.0, 2.0], [1.0], "as many of each"),
        ([1.0, 0.0], [1.0, 1.0], r"counted\[1\] = 0.0: must be more than 0"),
        ([1.0, 1.0], [-1.0, 1.0], r"true_m3\[0\] = -1.0: must be more than 0"),
        ([1.0, math.nan], [1.0, 1.0], r"counted\[1\]"),
    ],
)
def test_what_is_no_run_is_refused(counted: list[float], true_m3: list[float], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        bucket_test(counted, true_m3)
