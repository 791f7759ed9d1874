"""A register by what the meter's own display shows: the one way that reads it is taken, of several is asked."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import cast

from tally.meters.display import Way, readings, shown, ways
from tally.meters.register import ORDERS, TYPES, Order, Type
from tally.planfile.guided.question import Answers, Question, Unfit

MOST_WAYS = 8
Registers = Mapping[int, tuple[int, ...]]
"""Words that a device sent, by the first register."""
_FORM = re.compile(
    rf"(?P<type>{'|'.join(TYPES)}) (?P<order>{'|'.join(ORDERS)}) "
    r"(?P<scale>[0-9]{1,9}(?:\.[0-9]{1,9})?(?:e-[0-9]{1,2})?) (?P<address>[0-9]{1,5})"
)


def form(way: Way) -> str:
    """As it is kept: type, order, scale, register."""
    return f"{way.type} {way.order} {way.scale:g} {way.address}"


def _kept(said: str) -> list[Way]:
    """Ways that read the display when it was typed."""
    found = (_FORM.fullmatch(each) for each in said.split("; "))
    return [
        Way(int(each["address"]), cast("Type", each["type"]), cast("Order", each["order"]), float(each["scale"]))
        for each in found
        if each is not None
    ]


def _words(way: Way) -> str:
    twin = f" (or {way.twin})" if way.twin else ""
    scale = f", one of it is {way.scale:g}" if way.scale != 1.0 else ""
    return f"{way.type}{twin}, order {way.order}, register {way.address}{scale}"


def _now(way: Way, registers: Registers) -> str:
    """A way with what it reads at this moment, to be followed on the display."""
    for first, held in registers.items():
        if first <= way.address and way.address + way.count <= first + len(held):
            return f"{_words(way)}: {way.value(held, first):,.10g} now"
    return _words(way)


def _fitting(one: str, answers: Answers, registers: Registers) -> list[Way]:
    """Ways in which the register `one` reads what its display shows; where none does, those of its neighbours."""
    try:
        display, address = shown(answers.get(f"{one}.shows", "")), int(answers.get(f"{one}.address", ""))
    except ValueError:
        return []
    reads = answers.get(f"{one}.reads", "")
    found: list[Way] = []
    for first, held in registers.items():
        found += ways(held, first, display, signed=reads in ("rate", "force", "pressure"), counts=reads == "pulses")
    distinct = list(dict.fromkeys(found))
    here = [way for way in distinct if way.address == address]
    return here or [way for way in distinct if abs(way.address - address) == 1]


def asked_which(question: Question, answers: Answers, registers: Registers) -> Question:
    """The question which way it is, with those that read the display, and what each reads now."""
    one = question.id.removesuffix(".form")
    found = _kept(answers.get(f"{one}.ways", "")) or _fitting(one, answers, registers)
    choices = tuple((form(way), _now(way, registers)) for way in found[:MOST_WAYS])
    remark = question.remark
    if not choices:
        what = f"nothing there reads {answers.get(f'{one}.shows', '')}" if registers else "the device is silent"
        remark = f"{what}; ↑ types it again"
    return replace(question, choices=(*choices, *question.choices), remark=remark)


def held_against(one: str, answers: Answers, registers: Registers) -> dict[str, str]:
    """The answers with what the display just typed tells of the register; raises `Unfit` where nothing reads it."""
    found = {key: said for key, said in answers.items() if key not in (f"{one}.form", f"{one}.ways")}
    display = found.get(f"{one}.shows", "")
    if not display:
        return found
    try:
        shown(display)
    except ValueError as fault:
        raise Unfit(str(fault)) from fault
    address = found.get(f"{one}.address", "")
    if not any(address in (str(first), str(first + 1)) for first in registers):
        return found  # the device is silent: the question stays open until it answers
    fitting = _fitting(one, found, registers)
    if not fitting:
        raise Unfit(f"nothing there reads {display}; below: what each would read. Enter alone: give it by hand")
    if len(fitting) == 1:
        found[f"{one}.form"] = form(fitting[0])
    else:  # the count moves on, and with it what reads that number
        found[f"{one}.ways"] = "; ".join(form(way) for way in fitting[:MOST_WAYS])
    return found


def told(question: Question, answers: Answers, registers: Registers) -> str:
    """What a display's number says of type and order, in words; empty for any other question."""
    if not question.id.endswith(".shows") or not answers.get(question.id):
        return ""
    one = question.id.removesuffix(".shows")
    fitting = _fitting(one, answers, registers)
    if f"{one}.form" in answers and fitting:
        return f"{_words(fitting[0])}: that alone reads it"
    return f"{len(fitting)} ways read it: asked next" if fitting else "the device is silent: asked again later"


def would_read(registers: Sequence[int]) -> list[tuple[str, list[tuple[str, float]]]]:
    """What registers read, by type and order."""
    return [(kind, list(each)) for kind, each in readings(registers)]
