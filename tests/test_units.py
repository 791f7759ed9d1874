"""Accepted spellings against published factors, and what is refused."""

import math
import subprocess
import sys

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally import units
from tally.job.view.quantity import Kind
from tally.units import Gallon, UnitFault, quantity

# NIST Special Publication 811 (2008), appendix B.8, "Factors for units listed alphabetically": exact, or rounded
# to seven digits. Typed from memory of that table.
ROUNDED = 5e-7  # half a unit of the seventh digit, for a factor that begins with 1
INCH = 2.54e-2
FOOT = 3.048e-1
POUND = 4.5359237e-1
POUND_FORCE = 4.448222
G = 9.80665
US_GALLON = 3.785412e-3
IMPERIAL_GALLON = 4.54609e-3
CUBIC_FOOT = 2.831685e-2
CUBIC_YARD = 7.645549e-1
PSI = 6.894757e3
LB_PER_US_GALLON = 1.198264e2
LB_PER_IMPERIAL_GALLON = 9.977637e1
LB_PER_CUBIC_FOOT = 1.601846e1
LB_PER_FOOT = 1.488164

PINNED = {
    Kind.LENGTH: {"mm": 1e-3, "cm": 1e-2, "m": 1.0, "metre": 1.0, "metres": 1.0, "meter": 1.0, "meters": 1.0}
    | dict.fromkeys(("in", '"', "inch", "inches", "in."), INCH)
    | dict.fromkeys(("ft", "'", "foot", "feet", "ft."), FOOT),
    Kind.VOLUME: {"mL": 1e-6, "m3": 1.0, "US gal": US_GALLON, "imp gal": IMPERIAL_GALLON}
    | dict.fromkeys(("L", "litre", "litres", "liter", "liters"), 1e-3)
    | dict.fromkeys(("ft3", "cu ft"), CUBIC_FOOT)
    | dict.fromkeys(("yd3", "cu yd"), CUBIC_YARD),
    Kind.RATE: {
        "L/s": 1e-3,
        "L/min": 1e-3 / 60,
        "L/h": 1e-3 / 3600,
        "m3/s": 1.0,
        "m3/min": 1 / 60,
        "m3/h": 1 / 3600,
        "US gal/min": 6.309020e-5,
        "imp gal/min": IMPERIAL_GALLON / 60,
        "ft3/min": 4.719474e-4,
    },
    Kind.LOAD: {"N": 1.0, "daN": 10.0, "kN": 1e3, "kg": G}
    | dict.fromkeys(("t", "tonne", "tonnes"), 1e3 * G)
    | dict.fromkeys(("lbf", "lb", "lbs"), POUND_FORCE),
    Kind.MASS: {"g": 1e-3, "kg": 1.0, "t": 1e3, "tonne": 1e3, "tonnes": 1e3, "lb": POUND, "lbs": POUND},
    Kind.LINE_MASS: {"kg/m": 1.0, "lb/ft": LB_PER_FOOT, "lbs/ft": LB_PER_FOOT},
    Kind.CAPACITY: {
        "L/m": 1e-3,
        "m3/m": 1.0,
        "US gal/ft": US_GALLON / FOOT,
        "imp gal/ft": IMPERIAL_GALLON / FOOT,
        "ft3/ft": CUBIC_FOOT / FOOT,
    },
    Kind.DENSITY: {
        "kg/L": 1e3,
        "SG": 1e3,
        "g/cm3": 1e3,
        "g/mL": 1e3,
        "kg/m3": 1.0,
        "t/m3": 1e3,
        "lb/US gal": LB_PER_US_GALLON,
        "lb/imp gal": LB_PER_IMPERIAL_GALLON,
        "lb/ft3": LB_PER_CUBIC_FOOT,
    },
    Kind.PRESSURE: {"Pa": 1.0, "kPa": 1e3, "MPa": 1e6, "bar": 1e5, "psi": PSI},
    Kind.VISCOSITY: {"cP": 1e-3, "mPa s": 1e-3, "Pa s": 1.0},
    Kind.YIELD_STRESS: {"Pa": 1.0} | dict.fromkeys(("lb/100 ft2", "lbf/100 ft2"), POUND_FORCE / (100 * FOOT**2)),
    Kind.DURATION: dict.fromkeys(("s", "sec", "second", "seconds"), 1.0)
    | dict.fromkeys(("min", "minute", "minutes"), 60.0)
    | dict.fromkeys(("h", "hour", "hours", "hr"), 3600.0)
    | dict.fromkeys(("d", "day", "days"), 86400.0),
    Kind.SHARE: dict.fromkeys(("%", "percent", "per cent"), 0.01),
}
PINNED[Kind.DEPTH] = PINNED[Kind.DIAMETER] = PINNED[Kind.LENGTH]


@pytest.mark.parametrize("kind", sorted(PINNED))
def test_every_accepted_spelling_has_its_published_value(kind: Kind) -> None:
    assert set(units.spellings(kind)) == set(PINNED[kind])
    for spelling, factor in PINNED[kind].items():
        assert quantity(f"1 {spelling}", kind) == pytest.approx(factor, rel=ROUNDED), spelling


@pytest.mark.parametrize(
    ("expression", "text", "kind"),
    [
        ("1.5 foot", "1.5 ft", Kind.LENGTH),
        ("40 gallon", "40 US gal", Kind.VOLUME),
        ("40 imperial_gallon", "40 imp gal", Kind.VOLUME),
        ("15.6 pound/gallon", "15.6 lb/gal", Kind.DENSITY),
        ("18000 force_pound", "18000 lb", Kind.LOAD),
        ("100 pound_force_per_square_inch", "100 psi", Kind.PRESSURE),
        ("16 pound/foot", "16 lb/ft", Kind.LINE_MASS),
    ],
)
def test_agrees_with_a_general_units_library(expression: str, text: str, kind: Kind) -> None:
    si: float = pint.UnitRegistry()(expression).to_base_units().magnitude
    assert quantity(text, kind) == pytest.approx(si, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "si"),
    [
        ("219.1 mm", Kind.DIAMETER, 0.2191),
        ("219.1mm", Kind.DIAMETER, 0.2191),
        ("8 5/8 in", Kind.DIAMETER, 8.625 * INCH),
        ("8-5/8 in", Kind.DIAMETER, 8.625 * INCH),
        ('8 5/8"', Kind.DIAMETER, 8.625 * INCH),
        ("8 5/8″", Kind.DIAMETER, 8.625 * INCH),
        ("8⅝ in", Kind.DIAMETER, 8.625 * INCH),
        ("8‑5/8”", Kind.DIAMETER, 8.625 * INCH),
        ("5/8 in", Kind.DIAMETER, 0.625 * INCH),
        ("12' 6 1/2\"", Kind.LENGTH, 150.5 * INCH),
        ("12'6 1/2", Kind.LENGTH, 150.5 * INCH),
        ("12′ 6½″", Kind.LENGTH, 150.5 * INCH),
        ("12’ 6 1/2’’", Kind.LENGTH, 150.5 * INCH),
        ("12'-6\"", Kind.LENGTH, 150 * INCH),
        ("12 ft 6.5 in", Kind.LENGTH, 150.5 * INCH),
        ("12 FT 6 IN", Kind.LENGTH, 150 * INCH),
        ("12'", Kind.LENGTH, 12 * FOOT),
        ("6,10 m", Kind.LENGTH, 6.10),
        ("0,250 m", Kind.LENGTH, 0.25),
        ("6,1255 m", Kind.LENGTH, 6.1255),
        ("6.10\u00a0m", Kind.LENGTH, 6.10),
        (".5 m", Kind.LENGTH, 0.5),
        ("40 US gal", Kind.VOLUME, 40 * US_GALLON),
        ("40 U.S. gallons", Kind.VOLUME, 40 * US_GALLON),
        ("33 imperial gallons", Kind.VOLUME, 33 * IMPERIAL_GALLON),
        ("1.2 m³", Kind.VOLUME, 1.2),
        ("1.2 m^3", Kind.VOLUME, 1.2),
        ("15.6 lb/gal", Kind.DENSITY, 15.6 * LB_PER_US_GALLON),
        ("15.6 ppg", Kind.DENSITY, 15.6 * LB_PER_US_GALLON),
        ("1.88 kg/L", Kind.DENSITY, 1880.0),
        ("1.88 SG", Kind.DENSITY, 1880.0),
        ("60 L/min", Kind.RATE, 1e-3),
        ("8 t", Kind.LOAD, 8000 * G),
        ("40 kN", Kind.LOAD, 40e3),
        ("18000 lb", Kind.LOAD, 18000 * POUND_FORCE),
        ("94 lb", Kind.MASS, 94 * POUND),
        ("28.26 kg/m", Kind.LINE_MASS, 28.26),
        ("16 lb / ft", Kind.LINE_MASS, 16 * LB_PER_FOOT),
        ("45 min", Kind.DURATION, 2700.0),
        ("24 h", Kind.DURATION, 86400.0),
        ("1.5 h", Kind.DURATION, 5400.0),
        ("1 h 30 min", Kind.DURATION, 5400.0),
        ("1h30min", Kind.DURATION, 5400.0),
        ("4 min 10 s", Kind.DURATION, 250.0),
        ("15 %", Kind.SHARE, 0.15),
        ("15%", Kind.SHARE, 0.15),
        ("−5 %", Kind.SHARE, -0.05),
        ("12", Kind.COUNT, 12.0),
    ],
)
def test_reads_what_a_person_writes(text: str, kind: Kind, si: float) -> None:
    assert quantity(text, kind) == pytest.approx(si, rel=ROUNDED)


@pytest.mark.parametrize(
    ("text", "kind", "says"),
    [
        ("", Kind.LENGTH, "given nothing"),
        ("   ", Kind.LENGTH, "given nothing"),
        ("219.1", Kind.DIAMETER, '8 5/8 in"'),
        ("219.1", Kind.DIAMETER, "no unit"),
        ("1,234 mm", Kind.DIAMETER, "may mean 1234 or 1.234"),
        ("1,234.5 mm", Kind.DIAMETER, "thousands separators"),
        ("1.234,5 mm", Kind.DIAMETER, "thousands separators"),
        ("1 234 mm", Kind.DIAMETER, "thousands separators"),
        ("12 ft 6", Kind.LENGTH, "not known here"),
        ("12' 14\"", Kind.LENGTH, "less than 12"),
        ("1 h 75 min", Kind.DURATION, "too many minutes"),
        ("8 9/8 in", Kind.DIAMETER, "not a proper fraction"),
        ("8 1/0 in", Kind.DIAMETER, "not a proper fraction"),
        ("5 furlong", Kind.LENGTH, "'furlong' is not known here"),
        ("5 furlong", Kind.LENGTH, "mm, cm, m, in, ft"),
        ("5 kg", Kind.LENGTH, "'kg' is not known here"),
        ("40 gal", Kind.VOLUME, '"US gal" or "imp gal"'),
        ("10 gal/min", Kind.RATE, '"US gal/min" or "imp gal/min"'),
        ("10 gpm", Kind.RATE, '"US gal/min" or "imp gal/min"'),
        ("2 ton", Kind.LOAD, "short, long or metric"),
        ("2 tons", Kind.MASS, "short, long or metric"),
        ("3 bbl", Kind.VOLUME, "barrels differ"),
        ("3 cup", Kind.VOLUME, "'cup' is not known here"),
        ("5 mPa", Kind.PRESSURE, "thousandth"),
        ("5 ML", Kind.VOLUME, "million litres"),
        ("nan m", Kind.LENGTH, "not a number"),
        ("inf m", Kind.LENGTH, "not a number"),
        ("1e3 m", Kind.LENGTH, "'e3 m' is not known here"),
        ("-3 m", Kind.LENGTH, "cannot be negative"),
        ("-1 h", Kind.DURATION, "cannot be negative"),
        ("20001 m", Kind.LENGTH, "far beyond"),
        ("9" * 70 + " m", Kind.LENGTH, "far beyond"),
        ("9" * 700 + " m", Kind.LENGTH, "702 characters"),
        ("1.5", Kind.COUNT, "whole number"),
        ("12 joints", Kind.COUNT, "whole number"),
        ("0.15", Kind.SHARE, "per cent"),
        ("٣ m", Kind.LENGTH, "not a number"),
    ],
)
def test_refuses_with_words(text: str, kind: Kind, says: str) -> None:
    with pytest.raises(UnitFault) as refused:
        quantity(text, kind)
    assert says in str(refused.value)
    assert "accepted:" in str(refused.value)


def test_a_bare_number_takes_the_unit_of_its_field() -> None:
    assert quantity("20.1", Kind.LENGTH, bare_unit="ft") == pytest.approx(20.1 * FOOT)
    assert quantity("8 5/8", Kind.DIAMETER, bare_unit="in") == pytest.approx(8.625 * INCH)
    assert quantity("6.1 m", Kind.LENGTH, bare_unit="ft") == pytest.approx(6.1)
    assert quantity("15.6", Kind.DENSITY, bare_unit="lb/gal") == pytest.approx(15.6 * LB_PER_US_GALLON, rel=ROUNDED)


@pytest.mark.parametrize(("gallon", "litres"), [("US", US_GALLON), ("imperial", IMPERIAL_GALLON)])
def test_a_job_may_say_once_which_gallon_it_means(gallon: Gallon, litres: float) -> None:
    assert quantity("40 gal", Kind.VOLUME, gallon=gallon) == pytest.approx(40 * litres, rel=ROUNDED)
    assert quantity("6 gal/min", Kind.RATE, gallon=gallon) == pytest.approx(litres / 10, rel=ROUNDED)
    assert quantity("1 US gal", Kind.VOLUME, gallon=gallon) == pytest.approx(US_GALLON, rel=ROUNDED)


def test_pounds_per_gallon_need_a_name_on_an_imperial_job() -> None:
    with pytest.raises(UnitFault, match="lb/US gal"):
        quantity("15.6 lb/gal", Kind.DENSITY, gallon="imperial")
    heavy = quantity("18.7 lb/imp gal", Kind.DENSITY, gallon="imperial")
    assert heavy == pytest.approx(18.7 * LB_PER_IMPERIAL_GALLON, rel=ROUNDED)
    assert quantity("15.6 lb/gal", Kind.DENSITY, gallon="US") == pytest.approx(15.6 * LB_PER_US_GALLON, rel=ROUNDED)


@given(st.text(max_size=90), st.sampled_from(list(Kind)))
def test_any_text_is_a_finite_value_or_a_fault(text: str, kind: Kind) -> None:
    try:
        value = quantity(text, kind)
    except UnitFault:
        return
    assert math.isfinite(value)
    assert abs(value) <= units.LARGEST[kind]


@given(st.integers(0, 400), st.integers(0, 11), st.integers(0, 15))
def test_feet_inches_and_sixteenths_add_up(feet: int, inches: int, sixteenths: int) -> None:
    shown = f"{feet}' {inches} {sixteenths}/16\""
    assert quantity(shown, Kind.LENGTH) == pytest.approx((feet * 12 + inches + sixteenths / 16) * INCH, abs=1e-12)


def test_pint_is_imported_late() -> None:
    code = "import sys, tally.units; assert 'pint' not in sys.modules; tally.units.warm(); assert 'pint' in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)


def test_warming_never_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(_: str) -> float:
        raise OSError("no such file")

    monkeypatch.setattr(units, "_si_factor", broken)
    units.warm()
