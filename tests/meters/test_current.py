"""Currents to values, and the limits of NAMUR NE 43: 3.8 to 20.5 mA measures, below 3.6 or above 21 mA has failed."""

import pytest

from tally.meters.current import CurrentLoop
from tally.meters.decoder import Decoder
from tally.meters.dialect import DialectFault, LineDialect

BAR = 1e5
LOOP = CurrentLoop("pressure_pa", 0.0, 250 * BAR)
PATTERN = r"I\s+(?P<current>\S+)\s+mA"


@pytest.mark.parametrize(
    ("milliampere", "bar"),
    [(4.0, 0.0), (12.0, 125.0), (20.0, 250.0), (5.6, 25.0), (3.8, -3.125), (20.5, 257.8125)],
)
def test_a_current_within_its_limits_by_hand(milliampere: float, bar: float) -> None:
    assert LOOP.value(milliampere / 1000) == pytest.approx(bar * BAR)


@pytest.mark.parametrize(
    ("milliampere", "words"),
    [
        (0.0, "broken wire"),
        (3.59, "below 3.6"),
        (3.6, "past the end of the range"),
        (3.79, "past the end of the range"),
        (20.51, "past the end of the range"),
        (21.0, "past the end of the range"),
        (21.01, "above 21"),
        (float("nan"), "broken wire"),
    ],
)
def test_a_current_past_its_limits_is_no_value(milliampere: float, words: str) -> None:
    value = LOOP.value(milliampere / 1000)
    assert isinstance(value, str)
    assert words in value


def test_a_converter_that_prints_milliamperes() -> None:
    decoder = Decoder("p", LineDialect(PATTERN, {"current": 1e-3}, loop=LOOP))
    (reading,) = decoder.feed(0.0, b"I 12.00 mA\r\n")
    assert reading.quantity == "pressure_pa"
    assert reading.value == pytest.approx(125 * BAR)
    assert decoder.feed(1.0, b"I 2.10 mA\r\n") == []
    assert decoder.last_trouble is not None
    assert "2.10 mA, below 3.6" in decoder.last_trouble.why


def test_a_current_without_its_range_is_refused() -> None:
    with pytest.raises(DialectFault, match="values at 4 and at 20 mA"):
        LineDialect(PATTERN, {"current": 1e-3})
    with pytest.raises(ValueError, match="two different numbers"):
        CurrentLoop("pressure_pa", 1.0, 1.0)
