"""Modbus: which registers are asked for, and what their bytes mean, best by what the meter's own display shows."""

from __future__ import annotations

from collections.abc import Iterator

from tally.planfile.guided.asking import count, more, one_of, text
from tally.planfile.guided.question import Answers, Question
from tally.planfile.guided.values import STEP, VALUES, k_questions, loop_questions, unit
from tally.planfile.instruments import CHANNELS

TYPES = ("float32", "uint32", "int32", "uint16", "int16", "uint64", "int64", "float64")
ORDERS = (
    ("ABCD", "ABCD: as the standard has it"),
    ("CDAB", "CDAB: words swapped"),
    ("BADC", "BADC: bytes swapped"),
    ("DCBA", "DCBA: words and bytes swapped"),
)
BY_HAND = "by hand"
_MOST_REGISTERS = 6


def registers(answers: Answers, key: str, channel: str) -> Iterator[Question]:
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
        yield from loop_questions(key, channel)


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
