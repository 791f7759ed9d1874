"""Questions that several kinds of instruments share: which value, its unit, K, a stroke, the range of a current."""

from __future__ import annotations

from collections.abc import Iterator

from tally.job.view.quantity import Kind
from tally.meters.dialect import DialectFault, LineDialect
from tally.planfile.guided.asking import one_of, pick, size, text
from tally.planfile.guided.question import Answers, Question

STEP = "instruments"
USUAL = "usual"
"""The lines of a counter or a converter that the plan need not describe."""
_RANGES = {
    "grout in": Kind.RATE,
    "returns out": Kind.RATE,
    "hook load": Kind.LOAD,
    "pressure": Kind.PRESSURE,
    "density": Kind.DENSITY,
}
VALUES = {
    "total": ("total", ("L", "m3", "US gal", "imp gal", "ft3", "mL")),
    "pulses": ("count of pulses", ("mL", "L", "US gal", "imp gal")),
    "rate": ("rate", ("L/min", "L/s", "m3/h", "US gal/min", "imp gal/min")),
    "density": ("density", ("kg/L", "kg/m3", "lb/US gal", "lb/imp gal")),
    "force": ("load", ("t", "kg", "kN", "daN", "lb")),
    "pressure": ("pressure", ("bar", "kPa", "MPa", "psi")),
    "current": ("current in mA", ()),
}
"""What may be read: in words, and the usual units of it."""
_K = (
    ("pulses/L", "so many pulses to a litre"),
    ("pulses/m3", "so many pulses to a cubic metre"),
    ("pulses/US gal", "so many pulses to a US gallon"),
    ("pulses/imp gal", "so many pulses to an imperial gallon"),
    ("L/pulse", "so many litres to a pulse"),
    ("mL/pulse", "so many millilitres to a pulse"),
    ("US gal/pulse", "so much of a US gallon to a pulse"),
    ("imp gal/pulse", "so much of an imperial gallon to a pulse"),
)


def groups(pattern: str) -> frozenset[str]:
    """The values that a pattern reads; none where it cannot be used."""
    try:
        return LineDialect.groups(pattern)
    except DialectFault:
        return frozenset()


def unit(key: str, name: str) -> Question:
    """In which unit a value is printed or held."""
    words, usual = VALUES[name]
    one = "One pulse stands for one" if name == "pulses" else f"The {words} is in"
    return pick(
        STEP,
        key,
        one,
        tuple((each, each) for each in usual),
        stands_in=usual[0],
        remark="look at the meter's own display or sheet; US and imperial gallons differ by 20 %",
    )


def k_questions(answers: Answers, key: str) -> Iterator[Question]:
    """K, asked plainly, since makers mean either by it."""
    yield one_of(STEP, "", "The meter's sheet says", _K, name=f"{key}.k_by")
    one, _, to = answers.get(f"{key}.k_by", "pulses/L").partition("/")
    yield text(
        STEP,
        f"{key}.k",
        f"Pulses to the {to}" if one == "pulses" else f"{one} to a pulse",
        stands_in="1",
        remark="the number from the meter's sheet or from a bucket test",
    )


def stroke_questions(key: str) -> Iterator[Question]:
    yield size(
        STEP,
        f"{key}.stroke_volume",
        "One stroke displaces",
        Kind.VOLUME,
        stands_in="1 L",
        remark="by the pump's sheet, or bore area times stroke",
    )
    yield size(
        STEP,
        f"{key}.efficiency",
        "Of it truly delivered",
        Kind.SHARE,
        stands_in="90 %",
        remark="10 % to 100 %; a bucket test tells: `tally meter calibrate`",
    )


def loop_questions(key: str, channel: str) -> Iterator[Question]:
    kind = _RANGES[channel]
    remark = "its range, by the sheet or the plate; below 3.6 and above 21 mA it has failed (NAMUR NE 43)"
    unit_of = {Kind.RATE: "L/min", Kind.LOAD: "t", Kind.PRESSURE: "bar", Kind.DENSITY: "kg/L"}[kind]
    yield size(STEP, f"{key}.at_4_mA", "At 4 mA it says", kind, stands_in=f"0 {unit_of}", remark=remark)
    yield size(STEP, f"{key}.at_20_mA", "At 20 mA it says", kind, stands_in=f"1 {unit_of}", remark=remark)
