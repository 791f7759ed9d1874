"""The meter and the instruments beside it: where each is, what kind it is, and what that kind needs.

What a port sends meanwhile may add to a question (`heard.informed`); which questions there are hangs on answers alone.
"""

from __future__ import annotations

from collections.abc import Iterator

from tally.job.view.quantity import Kind
from tally.job.wired import PLAIN
from tally.planfile.guided.asking import MOST_PARTS, count, one_of, pick, size, text
from tally.planfile.guided.question import Answers, Question
from tally.planfile.guided.registers import registers
from tally.planfile.guided.values import (
    STEP,
    USUAL,
    VALUES,
    groups,
    k_questions,
    loop_questions,
    stroke_questions,
    unit,
)
from tally.planfile.instruments import CHANNELS

METER = "meter"
LATER = "later"
"""The kind of an instrument that is left out of the plan until it is known."""
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
    first = first_on_port(answers, key)
    if not on_network(port) and not first:
        yield from _speed(answers, key)
    kinds = [kind for kind in KINDS if channel in _VOLUMES or kind[0] not in ("pulses", "strokes")]
    if port.lower().startswith("tcp://"):
        kinds = [kind for kind in kinds if kind[0] in ("modbus", LATER)]
    remark = ""
    if first:
        kinds = [kind for kind in kinds if not cannot_share(answers, key, kind[0])]
        remark = f"on this port {_said(answers, first)} is already: same speed; lines and Modbus cannot be on one wire"
    yield one_of(STEP, "", "What kind is it?", tuple(kinds), name=f"{key}.kind", stands_in=LATER, remark=remark)
    match answers.get(f"{key}.kind"):
        case "lines":
            yield from _lines(answers, key, channel)
        case "pulses" | "strokes" | "current" as kind:
            yield from _counted(answers, key, channel, kind)
        case "modbus":
            yield from registers(answers, key, channel)


def first_on_port(answers: Answers, key: str) -> str:
    """The instrument asked about before that has the port already, whose speed and wire are then shared; "" if none."""
    port = answers.get(f"{key}.port", "")
    meter_first = [METER] if answers.get("meter.is") == "yes" else []
    before = [*meter_first, *(f"instrument[{place}]" for place in range(1, MOST_PARTS + 1))]
    before = before[: before.index(key)] if key in before else []
    return next((each for each in before if port and answers.get(f"{each}.port") == port and _known(answers, each)), "")


def cannot_share(answers: Answers, key: str, kind: str = "") -> bool:
    """Whether its kind, or `kind`, is known and cannot be on the wire of the instrument that has the port already."""
    first, kind = first_on_port(answers, key), kind or answers.get(f"{key}.kind", LATER)
    return bool(first) and kind != LATER and (kind == "modbus") != (answers.get(f"{first}.kind") == "modbus")


def _said(answers: Answers, key: str) -> str:
    return "the meter" if key == METER else answers.get(f"{key}.name", key)


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
        yield from loop_questions(key, channel)


def _units(answers: Answers, key: str, named: frozenset[str]) -> Iterator[Question]:
    for name in VALUES:
        if name in named and name != "current":
            yield unit(f"{key}.units.{name}", name)


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
        yield from stroke_questions(key)
    else:
        yield from loop_questions(key, channel)
