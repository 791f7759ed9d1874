"""A [meter] table by itself: what is written is read back, and a mistake is told as in a plan."""

import pytest

from tally.planfile import read_text
from tally.planfile.pulses import m3_per_pulse
from tally.planfile.snippet import meter_text, quoted, read_meter
from tally.units import UnitFault
from tests.live.small_job import plan_text

PATTERN = r"T\s+(?P<total>[0-9.]+)\s+L"


def test_what_is_written_is_read_back_alone_and_inside_a_plan() -> None:
    text = meter_text(port="COM3", baud=19_200, pattern=PATTERN, units={"total": "m3"}, tolerance="1.5 %")
    meter = read_meter(text)
    assert not isinstance(meter, list)
    assert (meter.port, meter.baud, meter.pattern, meter.factors) == ("COM3", 19_200, PATTERN, {"total": 1.0})
    assert meter.tolerance_share == pytest.approx(0.015)
    whole = read_text(plan_text("none").partition("[meter]")[0] + text)
    assert not isinstance(whole, list)
    assert whole.meter == meter


def test_without_a_pattern_it_is_the_plain_dialect() -> None:
    meter = read_meter(meter_text(port="/dev/ttyUSB0", baud=9600))
    assert not isinstance(meter, list)
    assert meter.factors == {"total": 1e-3, "rate": 1e-3 / 60}


def test_all_mistakes_are_told() -> None:
    found = read_meter('[meter]\nport = "x"\nbaud = 7\npattern = "(?P<total>.+)"\nunits = {total = "litre per hour"}\n')
    assert isinstance(found, list)
    assert {mistake.key for mistake in found} == {"meter.baud", "meter.units.total"}
    assert isinstance(read_meter("[meter"), list)
    assert isinstance(read_meter("[pump]"), list)


@pytest.mark.parametrize("text", ["plain", r"a\s+b", "it's", 'a "b"', "a'\\", "", "tab\t", "é³"])
def test_any_text_survives_the_quotes(text: str) -> None:
    import tomllib

    assert tomllib.loads(f"x = {quoted(text)}")["x"] == text


# By definition; 1 US gal = 3.785411784 L (NIST SP 811, B.8), 1 imp gal = 4.54609 L (UK Weights and Measures Act 1985)
@pytest.mark.parametrize(
    ("text", "litres"),
    [
        ("100 pulses/L", 0.01),
        ("1 pulse per L", 1.0),
        ("0.01 L/pulse", 0.01),
        ("10 mL per pulse", 0.01),
        ("450 pulses/US gal", 3.785411784 / 450),
        ("450 imp/imp gal", 4.54609 / 450),
        (".0987 US gal/pulse", 0.0987 * 3.785411784),
    ],
)
def test_a_k_factor_says_which_way_round_it_is(text: str, litres: float) -> None:
    assert m3_per_pulse(text) == pytest.approx(litres / 1000)


def test_the_two_gallons_are_a_fifth_apart() -> None:
    us, imperial = (m3_per_pulse("52 pulses/gal", gallon) for gallon in ("US", "imperial"))
    assert imperial / us == pytest.approx(4.54609 / 3.785411784)


@pytest.mark.parametrize(
    "text", ["", "98.5", "98.5 L", "pulses/L", "0 pulses/L", "5 pulses/bar", "5 pulses/gal", "x/y"]
)
def test_what_is_no_k_factor_says_what_is(text: str) -> None:
    with pytest.raises(UnitFault, match="accepted: "):
        m3_per_pulse(text)
