"""The meter, the instruments beside it and the tank: where each is, what kind it is, and what that kind needs.

What a port sends meanwhile may add to a question (`heard.informed`); which questions there are hangs on answers alone.
"""

from __future__ import annotations

from collections.abc import Iterator

from tally.job.view.quantity import Kind
from tally.meters.dialect import DialectFault, LineDialect
from tally.planfile.guided.asking import MOST_PARTS, count, more, one_of, pick, size, text
from tally.planfile.guided.question import Answers, Question
from tally.planfile.instruments import CHANNELS

STEP = "instruments"
METER = "meter"
LATER = "later"
"""The kind of an instrument that is left out of the plan until it is known."""
PLAIN = "plain"
USUAL = "usual"
"""The lines of a counter or a converter that the plan need not describe."""
KINDS = (
    ("lines", "prints lines with a total, a rate or another value"),
    ("pulses", "pulse counter: prints a count"),
    ("strokes", "counter of the pump's strokes"),
    ("current", "4 to 20 mA: a converter prints milliamperes"),
    ("modbus", "Modbus: answers when its registers are asked for"),
    (LATER, "not known yet: leave it out; ↑ comes back to it"),
)
_VOLUMES = ("grout in", "returns out")
_NAMES = {
    "returns out": "returns meter",
    "grout in": "second meter",
    "hook load": "weight indicator",
    "pressure": "pump gauge",
    "density": "density gauge",
}
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
SPEEDS = (
    ("9600 8N1", "9600 baud, 8N1: the usual"),
    ("19200 8N1", "19200 baud, 8N1"),
    ("115200 8N1", "115200 baud, 8N1"),
    ("19200 8E1", "19200 baud, 8E1: as the Modbus standard has it"),
    ("other", "another: baud rate and parity are asked"),
)
_BITS = (
    ("8N1", "8N1: no parity"),
    ("8E1", "8E1: even parity"),
    ("8O1", "8O1: odd parity"),
    ("8N2", "8N2: no parity, two stop bits"),
    ("7E1", "7E1: seven bits, even"),
    ("7O1", "7O1: seven bits, odd"),
)
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
TYPES = ("float32", "uint32", "int32", "uint16", "int16", "uint64", "int64", "float64")
ORDERS = (
    ("ABCD", "ABCD: as the standard has it"),
    ("CDAB", "CDAB: words swapped"),
    ("BADC", "BADC: bytes swapped"),
    ("DCBA", "DCBA: words and bytes swapped"),
)
BY_HAND = "by hand"
_MOST_REGISTERS = 6


def all_of(answers: Answers) -> Iterator[Question]:
    yield from meter(answers)
    yield from others(answers)
    yield from tank(answers)


def meter(answers: Answers) -> Iterator[Question]:
    """The meter that counts the grout."""
    yield one_of(
        STEP,
        "",
        "A meter that counts grout?",
        (("no", "no: typed by hand"), ("yes", "yes, on a port")),
        name="meter.is",
        offered="no",
    )
    if answers.get("meter.is") == "yes":
        yield from _wired(answers, METER, "grout in", 0)
        if _known(answers, METER):
            yield size(STEP, "meter.tolerance", "It may be off by", Kind.SHARE, offered="2 %", stands_in="2 %")


def others(answers: Answers) -> Iterator[Question]:
    channels = (("", "no"), *((channel, words) for channel, words in _CHANNEL_WORDS.items()))
    for place in range(1, MOST_PARTS + 1):
        key = f"instrument[{place}]"
        yield one_of(
            STEP,
            f"{key}.channel",
            "Another instrument?" if place == 1 else "One more?",
            channels,
            remark="each checks what is typed, or the meter; none is needed",
        )
        channel = answers.get(f"{key}.channel", "")
        if channel not in CHANNELS:
            return
        name = _NAMES[channel]
        yield text(
            STEP, f"{key}.name", "It is called", offered=_free(answers, name, place), stands_in=f"{name} {place}"
        )
        yield from _wired(answers, key, channel, place)


_CHANNEL_WORDS = {
    "returns out": "a meter in the returns",
    "grout in": "a second meter that checks the first",
    "hook load": "a weight indicator",
    "pressure": "a pressure gauge",
    "density": "a density gauge in the returns",
}


def _free(answers: Answers, name: str, place: int) -> str:
    """A name that no instrument before has."""
    taken = {answers.get(f"instrument[{before}].name") for before in range(1, place)}
    return name if name not in taken else f"{name} {place}"


def _known(answers: Answers, key: str) -> bool:
    return answers.get(f"{key}.kind", LATER) != LATER


def _wired(answers: Answers, key: str, channel: str, place: int) -> Iterator[Question]:
    """Where it is, what kind it is, and what that kind needs."""
    yield pick(
        STEP,
        f"{key}.port",
        "It is on port",
        stands_in=f"/dev/ttyUSB{place}",
        remark='pick it, or type it: "/dev/ttyUSB0", "COM3", "socket://192.0.2.5:4001"; Modbus over TCP:'
        ' "tcp://192.0.2.5:502"',
    )
    port = answers.get(f"{key}.port", "")
    if not on_network(port):
        yield from _speed(answers, key)
    kinds = [kind for kind in KINDS if channel in _VOLUMES or kind[0] not in ("pulses", "strokes")]
    if port.lower().startswith("tcp://"):
        kinds = [kind for kind in kinds if kind[0] in ("modbus", LATER)]
    yield one_of(STEP, "", "What kind is it?", tuple(kinds), name=f"{key}.kind", stands_in=LATER)
    match answers.get(f"{key}.kind"):
        case "lines":
            yield from _lines(answers, key, channel)
        case "pulses" | "strokes" | "current" as kind:
            yield from _counted(answers, key, channel, kind)
        case "modbus":
            yield from _modbus(answers, key, channel)


def on_network(port: str) -> bool:
    """Whether it has no baud rate of its own here."""
    return port.lower().startswith(("socket://", "tcp://"))


def _speed(answers: Answers, key: str) -> Iterator[Question]:
    yield one_of(
        STEP,
        "",
        "It runs at",
        SPEEDS,
        name=f"{key}.speed",
        offered="9600 8N1",
        remark="try each: what arrives shows below; text that can be read is the right one",
    )
    if answers.get(f"{key}.speed") == "other":
        yield count(STEP, f"{key}.baud", "Baud rate", offered="9600", stands_in="9600")
        yield one_of(STEP, f"{key}.bits", "Data bits and parity", _BITS, offered="8N1")


# --- lines -----------------------------------------------------------------------------------------------------------


def groups(pattern: str) -> frozenset[str]:
    """The values that a pattern reads; none where it cannot be used."""
    try:
        return LineDialect.groups(pattern)
    except DialectFault:
        return frozenset()


def _lines(answers: Answers, key: str, channel: str) -> Iterator[Question]:
    volume = channel in _VOLUMES
    yield pick(
        STEP,
        f"{key}.pattern",
        "A line is read as",
        stands_in=PLAIN if volume else f"(?P<{CHANNELS[channel][0]}>[0-9.]+)",
        remark="patterns come from what arrives. Silent? Check plug and power, or ↑ to its kind and leave it out",
        covers=(f"{key}.dialect",),
    )
    named = groups(answers.get(f"{key}.pattern", ""))
    yield from _units(answers, key, named)
    if "current" in named:
        yield from _loop(key, channel)


def _units(answers: Answers, key: str, named: frozenset[str]) -> Iterator[Question]:
    for name in VALUES:
        if name in named and name != "current":
            yield unit(f"{key}.units.{name}", name)


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


# --- a count, a current ----------------------------------------------------------------------------------------------


def _counted(answers: Answers, key: str, channel: str, kind: str) -> Iterator[Question]:
    usual, value = ("I 12.00 mA", "current") if kind == "current" else ("P 0001234", "pulses")
    words = f'usual: lines such as "{usual}"'
    yield pick(
        STEP,
        f"{key}.pattern",
        "A line is read as",
        ((USUAL, words),),
        offered=words,
        stands_in=USUAL,
        covers=(f"{key}.dialect",),
    )
    yield from _units(answers, key, groups(answers.get(f"{key}.pattern", "")) - {value})
    if kind == "pulses":
        yield from k_questions(answers, key)
    elif kind == "strokes":
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
    else:
        yield from _loop(key, channel)


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


def _loop(key: str, channel: str) -> Iterator[Question]:
    kind = _RANGES[channel]
    remark = "its range, by the sheet or the plate; below 3.6 and above 21 mA it has failed (NAMUR NE 43)"
    unit_of = {Kind.RATE: "L/min", Kind.LOAD: "t", Kind.PRESSURE: "bar", Kind.DENSITY: "kg/L"}[kind]
    yield size(STEP, f"{key}.at_4_mA", "At 4 mA it says", kind, stands_in=f"0 {unit_of}", remark=remark)
    yield size(STEP, f"{key}.at_20_mA", "At 20 mA it says", kind, stands_in=f"1 {unit_of}", remark=remark)


# --- Modbus ----------------------------------------------------------------------------------------------------------


def _modbus(answers: Answers, key: str, channel: str) -> Iterator[Question]:
    yield Question(
        id=f"{key}.unit_id",
        step=STEP,
        key=f"{key}.register[1].unit",
        form="count",
        words="Unit id of the device",
        offered="1",
        stands_in="1",
        remark="1 to 247, by its sheet or its menu",
        half=True,
    )
    banks = (("holding", "holding registers: 4xxxx in manuals"), ("input", "input registers: 3xxxx in manuals"))
    yield one_of(STEP, "", "Its values are in", banks, name=f"{key}.bank", offered="holding")
    read: list[str] = []
    for place in range(1, _MOST_REGISTERS + 1):
        one = f"{key}.register[{place}]"
        left = _left(channel, read)
        yield one_of(
            STEP, f"{one}.reads", "It holds the" if place == 1 else "The next holds the",
            tuple((name, VALUES[name][0]) for name in left),
        )  # fmt: skip
        reads = answers.get(f"{one}.reads", "")
        read.append(reads if reads in left else left[0])
        yield from _register(answers, one, read[-1])
        if not _left(channel, read):
            break
        yield more(STEP, f"{one}.more", "Another value of this device?")
        if answers.get(f"{one}.more") != "yes":
            break
    if "current" in read:
        yield from _loop(key, channel)


def _left(channel: str, read: list[str]) -> list[str]:
    """Values that can still be read: first one that the channel needs, then any, but total or pulses."""
    if not read:
        return list(CHANNELS[channel])
    gone = {*read, *(("total", "pulses") if {"total", "pulses"} & set(read) else ())}
    return [name for name in VALUES if name not in gone]


def _register(answers: Answers, one: str, reads: str) -> Iterator[Question]:
    yield count(
        STEP,
        f"{one}.address",
        "Register",
        stands_in="0",
        remark="counted from 0: what a manual calls 40001 or 30001 is 0",
    )
    if reads == "pulses":
        yield from k_questions(answers, one)
    elif reads != "current":
        yield unit(f"{one}.units", reads)
    yield Question(
        id=f"{one}.shows",
        step=STEP,
        words="Its own display shows now",
        optional=True,
        remark="every digit, while nothing flows: tells type and order. Enter alone: no display, both are asked",
    )
    if answers.get(f"{one}.shows"):
        yield one_of(
            STEP,
            "",
            "Which reads that?",
            ((BY_HAND, "type and order are given by hand"),),
            name=f"{one}.form",
            remark="let some flow, see which one follows the display",
        )
    if answers.get(f"{one}.shows") and answers.get(f"{one}.form", BY_HAND) != BY_HAND:
        return
    yield one_of(STEP, f"{one}.type", "The number is a", tuple((each, each) for each in TYPES), offered="float32")
    if answers.get(f"{one}.type") not in ("uint16", "int16"):
        yield one_of(STEP, f"{one}.order", "Order of its bytes", ORDERS, remark="compare the reading with the display")
    else:
        yield one_of(STEP, f"{one}.order", "Order of its bytes", (ORDERS[0], ORDERS[2]), offered="ABCD")
    if reads != "pulses":
        yield text(
            STEP,
            f"{one}.scale",
            "One of it is",
            offered="1",
            stands_in="1",
            remark="so many of the unit: 0.1 where the register says 123 for 12.3",
        )


# --- the tank --------------------------------------------------------------------------------------------------------

_SHAPES = (
    ("", "no"),
    ("standing cylinder", "standing cylinder"),
    ("lying cylinder", "lying cylinder"),
    ("box", "box"),
    ("table", "by its table of depths and volumes"),
)
_SIZES = {
    "standing cylinder": ("diameter", "height"),
    "lying cylinder": ("diameter", "length"),
    "box": ("length", "width", "height"),
}
_MOST_ROWS = 40


def tank(answers: Answers) -> Iterator[Question]:
    """The tank that grout is drawn from, where it is dipped."""
    yield one_of(
        STEP,
        "tank.shape",
        "A tank that is dipped?",
        _SHAPES,
        remark="two dips in a row tell what was drawn: they check the meter, or count where there is none",
    )
    shape = answers.get("tank.shape", "")
    if not shape:
        return
    for key in _SIZES.get(shape, ()):
        remark = "from the bottom to where dips are read from" if key == "height" else "inside"
        yield size(STEP, f"tank.{key}", f"Its {key}", Kind.LENGTH, stands_in="1 m", remark=remark)
    if shape == "table":
        yield from _rows(answers)
    ways = (("from the top", "from the top down to the grout"), ("from the bottom", "from the bottom up"))
    yield one_of(STEP, "tank.dipped", "Dips are read", ways, offered="from the top")


def _rows(answers: Answers) -> Iterator[Question]:
    for place in range(1, _MOST_ROWS + 1):
        key = f"tank.row[{place}]"
        yield size(
            STEP,
            f"{key}.depth",
            "Depth, from the bottom up" if place == 1 else "Next depth",
            Kind.LENGTH,
            optional=place > 2,
            stands_in="" if place > 2 else f"{place - 1} m",
            remark="Enter alone: that was the last" if place > 2 else "the first is the bottom",
            half=True,
        )
        if place > 2 and not answers.get(f"{key}.depth"):
            return
        yield size(STEP, f"{key}.volume", "It then holds", Kind.VOLUME, stands_in=f"{place - 1} m3", half=place == 1)
