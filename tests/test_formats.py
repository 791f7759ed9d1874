"""What a reader sees, against values worked by hand, and back again through the reader of units."""

import subprocess
import sys
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally import formats, units
from tally.formats import Units
from tally.job.view.quantity import Kind, Quantity

# Worked by hand with the factors of NIST Special Publication 811 (2008), appendix B.8:
# 47.32 / 0.3048 = 155.249; 0.312 / 0.003785412 = 82.42; 62 / 3.785412 = 16.38; 4210 / 0.45359237 = 9281.5;
# 1880 / 119.8264 = 15.689; 219.1 / 25.4 = 8.62598; 6.894757 bar is 100 psi; 28.26 / 1.488164 = 18.990;
# 42.638 / 0.45359237 = 94.0.
SHOWN = [
    (47.32, Kind.DEPTH, "47.32 m", "155.25 ft"),
    (6.1, Kind.LENGTH, "6.10 m", "20.01 ft"),
    (0.2191, Kind.DIAMETER, "219.1 mm", "8.626 in"),
    (8.625 * 0.0254, Kind.DIAMETER, "219.1 mm", "8.625 in"),
    (0.312, Kind.VOLUME, "312 L", "82.4 US gal"),
    (0.0042, Kind.VOLUME, "4.2 L", "1.1 US gal"),
    (0.0184, Kind.VOLUME, "18.4 L", "4.9 US gal"),
    (12.5, Kind.VOLUME, "12,500 L", "3,302.2 US gal"),
    (62e-3 / 60, Kind.RATE, "62 L/min", "16.4 US gal/min"),
    (4210 * 9.80665, Kind.LOAD, "4.21 t", "9,280 lb"),
    (42.638, Kind.MASS, "42.6 kg", "94.0 lb"),
    (28.26, Kind.LINE_MASS, "28.26 kg/m", "18.99 lb/ft"),
    (0.02717, Kind.CAPACITY, "27.17 L/m", "2.188 US gal/ft"),
    (1880.0, Kind.DENSITY, "1.88 kg/L", "15.7 lb/gal"),
    (689475.7, Kind.PRESSURE, "6.9 bar", "100 psi"),
    (0.04, Kind.VISCOSITY, "40 cP", "40 cP"),
    (14.364, Kind.YIELD_STRESS, "14.4 Pa", "30.0 lb/100 ft2"),
    (3900.0, Kind.DURATION, "1 h 05 min", "1 h 05 min"),
    (250.0, Kind.DURATION, "4 min 10 s", "4 min 10 s"),
    (3599.7, Kind.DURATION, "1 h 00 min", "1 h 00 min"),
    (9.6, Kind.DURATION, "10 s", "10 s"),
    (0.15, Kind.SHARE, "15 %", "15 %"),
    (12.0, Kind.COUNT, "12", "12"),
    (-0.001, Kind.LENGTH, "0.00 m", "0.00 ft"),
    (-0.3, Kind.LENGTH, "-0.30 m", "-0.98 ft"),
]


@pytest.mark.parametrize(("si", "kind", "metric", "us"), SHOWN)
def test_text(si: float, kind: Kind, metric: str, us: str) -> None:
    assert formats.text(Quantity(si, kind), "metric") == metric
    assert formats.text(Quantity(si, kind), "us") == us


@pytest.mark.parametrize(
    ("share", "says"),
    [(None, "–"), (0.0, "<1 %"), (0.0099, "<1 %"), (0.01, "1 %"), (0.44, "44 %"), (0.99, "99 %"), (0.992, ">99 %"),
     (1.0, ">99 %")],
)  # fmt: skip
def test_a_chance_is_never_certain(share: float | None, says: str) -> None:
    assert formats.chance(Quantity(share, Kind.SHARE)) == says


@pytest.mark.parametrize("kind", list(Kind))
def test_an_unknown_value_is_a_dash(kind: Kind) -> None:
    assert formats.text(Quantity(None, kind), "metric") == formats.number(Quantity(None, kind), "us") == "–"


@pytest.mark.parametrize("shown", ["metric", "us"])
@given(st.floats(1e-3, 9e3))
def test_what_is_printed_reads_back_as_printed(shown: Units, size: float) -> None:
    scales = {kind: largest / 1e4 for kind, largest in units.LARGEST.items()}
    for kind in Kind:
        # the reader refuses thousands separators
        printed = formats.text(Quantity(size * scales[kind], kind), shown).replace(",", "")
        again = units.quantity(printed, kind)
        assert formats.text(Quantity(again, kind), shown).replace(",", "") == printed


@pytest.mark.parametrize("shown", ["metric", "us"])
@pytest.mark.parametrize("kind", [kind for kind in Kind if kind is not Kind.COUNT])
def test_the_label_of_a_field_is_a_unit_that_is_read(kind: Kind, shown: Units) -> None:
    printed = formats.number(Quantity(0.005, kind), shown).replace(",", "")
    assert units.quantity(printed, kind, bare_unit=formats.unit(kind, shown)) == pytest.approx(
        units.quantity(f"{printed} {formats.unit(kind, shown)}", kind)
    )


AT = datetime(2024, 7, 1, 23, 3, 27, tzinfo=UTC)


def test_clock_is_local_to_the_job() -> None:
    # Coordinated Universal Time -3 h 30 min, with one hour of daylight time: the IANA time zone database
    assert formats.clock(AT, "America/St_Johns") == "20:33"
    assert formats.clock_s(AT, "America/St_Johns") == "20:33:27"
    assert formats.day(AT, "Pacific/Auckland") == "2024-07-02"


@pytest.mark.parametrize("zone", ["Nowhere/Atall", "", "../../etc/passwd", "/etc", "America", "a\0b", "UTC" * 300])
def test_an_unknown_zone_falls_back_and_says_so(zone: str) -> None:
    assert formats.clock(AT, zone) == "23:03 UTC"
    assert not formats.zone_is_known(zone)


def test_plain_removes_what_steers_a_terminal() -> None:
    assert formats.plain("a\x1b[31mb\x07\u202ec\u200bd") == "a[31mbcd"
    assert formats.plain("one\r\ntwo\nthree\tfour") == "one two three four"
    assert formats.plain('[/] [red] 8 5/8" é 水') == '[/] [red] 8 5/8" é 水'


@given(st.text())
def test_plain_is_one_printable_line(outside: str) -> None:
    assert len(formats.plain(outside).splitlines()) <= 1
    assert formats.plain(formats.plain(outside)) == formats.plain(outside)


def test_no_units_library_behind_formats() -> None:
    code = "import sys, tally.formats; assert 'pint' not in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)
