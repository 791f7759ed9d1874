"""Dialects.

1 US gal = 231 in3 = 3.785 412 L and 1 imperial gal = 4.546 09 L (as in NIST SP 811, appendix B; from memory).
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.meters.dialect import DialectFault, LineDialect, Undecoded, plain, pulse_count
from tally.meters.reading import QUANTITIES, Reading

US_GAL_M3 = 3.785412e-3
IMP_GAL_M3 = 4.54609e-3


def read(dialect: LineDialect, line: bytes) -> dict[str, float]:
    readings = dialect.decode(line, 12.5, "in")
    assert not isinstance(readings, Undecoded), readings
    assert all(r.mono_s == 12.5 and r.channel == "in" for r in readings)
    return {r.quantity: r.value for r in readings}


def refused(dialect: LineDialect, line: bytes) -> Undecoded:
    found = dialect.decode(line, 0.0, "in")
    assert isinstance(found, Undecoded), found
    return found


def test_the_plain_line() -> None:
    # 1 234.56 L = 1.234 56 m3; 62.10 L/min = 0.062 10 m3 / 60 s = 1.035 E-03 m3/s
    values = read(plain(), b"T 001234.56 L R 62.10 L/min")
    assert values == {"total_m3": pytest.approx(1.23456, abs=1e-12), "rate_m3_s": pytest.approx(1.035e-3, abs=1e-12)}


@pytest.mark.parametrize("printed", [b"T 1 L R 0 L/min", b" T  1. L  R .0 L/min ", b"\x02T +1.0e0 L R -0 L/min\x03"])
def test_ways_to_print_the_same_number(printed: bytes) -> None:
    assert read(plain(), printed) == {"total_m3": pytest.approx(1e-3), "rate_m3_s": 0.0}


@pytest.mark.parametrize(
    "number",
    [
        b"nan",
        b"inf",
        b"-inf",
        b"1e999",
        b"-1",
        b"1_000",
        b"1,000.5",
        b"0x10",
        b"1.2.3",
        b"",
        b"1e13",
        b"12-3",
        "１２".encode(),
    ],
)
def test_a_total_that_is_no_number_gives_nothing(number: bytes) -> None:
    refused(plain(), b"T " + number + b" L R 1 L/min")


@pytest.mark.parametrize(
    "line",
    [
        b"",
        b"T",
        b"001234.56",
        b"T 1 L R 1 L/mi",
        b"T 1 L",
        b"xT 1 L R 1 L/min",
        b"T 1 L R 1 L/min T 1 L R 1 L/min",
        b"T 1 gal R 1 L/min",
    ],
)
def test_part_of_a_line_or_two_in_one_give_nothing(line: bytes) -> None:
    assert refused(plain(), line).why


def test_reversed_flow_shows_in_the_rate() -> None:
    assert read(plain(), b"T 5 L R -60 L/min")["rate_m3_s"] == pytest.approx(-1e-3)


def test_pulses_and_the_two_gallons() -> None:
    # a meter that sends 100 pulses a gallon: 250 pulses are 2.5 gal
    assert read(pulse_count(US_GAL_M3 / 100), b"P 0000250")["total_m3"] == pytest.approx(2.5 * US_GAL_M3)
    assert read(pulse_count(IMP_GAL_M3 / 100), b"P 0000250")["total_m3"] == pytest.approx(2.5 * IMP_GAL_M3)
    assert "whole number" in refused(pulse_count(1e-5), b"P 2.5").why


def test_the_modulus_is_a_volume() -> None:
    dialect = pulse_count(1e-5, modulus=10_000_000)
    assert dialect.modulus_m3 == pytest.approx(100.0)  # ten million pulses of 0.01 L
    assert "start again" in refused(dialect, b"P 10000000").why
    assert plain().modulus_m3 is None


def test_every_group() -> None:
    dialect = LineDialect(
        r"D(?P<density>\S+) F(?P<force>\S+) P(?P<pressure>\S+)(?: R(?P<rate>\S+))?",
        {"density": 1000.0, "force": 1000.0, "pressure": 1e5, "rate": 1.0},
    )
    values = read(dialect, b"D1.85 F-0.2 P4.5")
    assert values == {"density_kg_m3": 1850.0, "force_n": -200.0, "pressure_pa": 450_000.0}
    assert set(values) < QUANTITIES
    assert "impossible" in refused(dialect, b"D-1.85 F1 P1").why
    assert "impossible" in refused(dialect, b"D1.85 F1 P-2").why


def test_a_decimal_comma_where_it_is_asked_for() -> None:
    dialect = LineDialect(r"Q (?P<total>\S+)", {"total": 1.0}, decimal=",")
    assert read(dialect, b"Q 12,5") == {"total_m3": 12.5}
    refused(dialect, b"Q 12.5")
    refused(LineDialect(r"Q (?P<total>\S+)", {"total": 1.0}), b"Q 12,5")


@pytest.mark.parametrize(
    ("pattern", "factors", "words"),
    [
        (r"T (?P<total>\d+", {"total": 1.0}, "cannot be read"),
        (r"T (\d+)", {}, "total, pulses, rate"),
        (r"T (?P<volume>\d+)", {"volume": 1.0}, "'volume'"),
        (r"T (?P<total>\d+)", {}, "no unit is given for total"),
        (r"T (?P<total>\d+)", {"total": 1.0, "rate": 1.0}, "rate"),
        (r"T (?P<total>\d+)", {"total": 0.0}, "above zero"),
        (r"T (?P<total>\d+)", {"total": float("nan")}, "above zero"),
        (r"T (?P<total>\d+) (?P<pulses>\d+)", {"total": 1.0, "pulses": 1.0}, "only one"),
    ],
)
def test_a_wrong_description_says_what_is_accepted(pattern: str, factors: dict[str, float], words: str) -> None:
    with pytest.raises(DialectFault, match=words):
        LineDialect(pattern, factors)


@pytest.mark.parametrize("modulus", [{"rate": 1.0}, {"total": 1.0}, {"pulses": -1.0}, {"pulses": float("inf")}])
def test_a_wrong_modulus_is_refused(modulus: dict[str, float]) -> None:
    with pytest.raises(DialectFault):
        LineDialect(r"P (?P<pulses>\d+)", {"pulses": 1.0}, modulus)


@given(st.binary(max_size=200))
def test_any_bytes_give_readings_or_safe_text(frame: bytes) -> None:
    found = plain().decode(frame, 0.0, "in")
    if isinstance(found, Undecoded):
        assert len(found.text) <= 80
        assert found.text.isprintable()
    else:
        assert all(isinstance(r, Reading) for r in found)


@given(st.integers(0, 99_999_999), st.integers(-99_999, 99_999))
def test_what_a_meter_prints_is_read_back(hundredths_l: int, rate_hundredths: int) -> None:
    line = f"T {hundredths_l // 100:06d}.{hundredths_l % 100:02d} L R {rate_hundredths / 100:.2f} L/min"
    values = read(plain(), line.encode())
    assert values["total_m3"] == pytest.approx(hundredths_l / 100_000, rel=1e-12)
    assert values["rate_m3_s"] == pytest.approx(rate_hundredths / 6_000_000, rel=1e-12)


def test_only_a_marked_line_can_be_told_from_its_tail() -> None:
    assert [f.data for f in plain().framer().feed(b"T 1\nT 2\n")] == [b"T 1", b"T 2"]
    bare = LineDialect(r"(?P<total>\S+)", {"total": 1.0})
    assert [f.data for f in bare.framer().feed(b"4.5\n1234.5\n")] == [b"1234.5"]
