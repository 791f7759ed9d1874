"""One question of the guided plan, and how what is typed to it is read."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from tally import formats, units
from tally.formats import Units
from tally.job.view.quantity import Kind, Quantity
from tally.units import Gallon

Answers = Mapping[str, str]
"""By a question's id: a quantity with its unit, a choice by its value, a text; empty where it was left out."""
LONGEST = 300
LONGEST_COUNT = 6

Form = Literal["text", "quantity", "joints", "count", "choice", "flag", "pick"]
"""Joints: a length, or so many alike. Pick: one of the choices by its number, or any other text."""

_ALIKE = re.compile(r"([0-9]{1,3})\s*[x×*]\s*(.+)", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    id: str
    step: str
    """The part of the plan that it belongs to, as it is shown."""
    words: str
    key: str = ""
    """Where its answer stands in the file, as mistakes name it: hole.section[2].diameter. Empty: it only steers."""
    form: Form = "text"
    kind: Kind | None = None
    choices: tuple[tuple[str, str], ...] = ()
    """(value, words) of each."""
    offered: str = ""
    """Stands beside the field and is taken with Enter."""
    optional: bool = False
    """Enter alone leaves it out."""
    stands_in: str = ""
    """For working out the rest while this is not answered; never written, never shown."""
    remark: str = ""
    """What is accepted, or meant, in a line."""
    half: bool = False
    """Its list is whole only with the next answer."""
    covers: tuple[str, ...] = ()
    """Further keys that its answer is written to, in full."""
    comment: str = ""
    """Beside it in the file."""
    unit: str = ""
    """Of a bare number, where that of the screen would not do."""

    def bare_unit(self, shown: Units) -> str:
        """What stands beside the field, and is meant where no unit is typed; empty where none is needed."""
        return self.unit or (formats.unit(self.kind, shown) if self.kind else "")


class Unfit(ValueError):
    """The text is no answer; says what was given and what is accepted."""


def answer(question: Question, text: str, shown: Units, gallon: Gallon | None) -> str:
    """The answer that `text` is, as it will be written; raises `Unfit`. Nothing typed takes what is offered."""
    text = formats.plain(text).strip() or question.offered
    if not text:
        if question.optional:
            return ""
        raise Unfit(f"nothing was given; {accepted(question)}")
    if len(text) > LONGEST:
        raise Unfit(f"given {len(text)} characters; at most {LONGEST} are accepted")
    match question.form:
        case "quantity":
            assert question.kind is not None, question.id
            return _quantity(text, question.kind, question.bare_unit(shown), gallon)
        case "joints":
            alike = _ALIKE.fullmatch(text)
            length = _quantity(alike[2] if alike else text, Kind.LENGTH, question.bare_unit(shown), gallon)
            return f"{int(alike[1])} x {length}" if alike else length
        case "count":
            if not (text.isascii() and text.isdigit()) or len(text) > LONGEST_COUNT:
                raise Unfit(f"given {text[:40]}; a whole number such as 12 is accepted")
            return str(int(text))
        case "choice" | "flag":
            return _choice(question, text)
        case "pick":
            return _picked(question, text) or text
    return text


def accepted(question: Question) -> str:
    """What may be typed, in words."""
    if question.form == "joints":
        return f"accepted: {units.accepted(Kind.LENGTH)}, or so many alike: 12 x 6.10 m"
    if question.form == "quantity" and question.kind is not None:
        return f"accepted: {units.accepted(question.kind)}"
    if question.form == "count":
        return "accepted: a whole number such as 12"
    if question.choices:
        other = ", or another in words" if question.form == "pick" else ""
        return f"accepted: a number from 1 to {len(question.choices)}{other}"
    return "accepted: a text"


def _quantity(text: str, kind: Kind, bare_unit: str, gallon: Gallon | None) -> str:
    """With a unit: its own, or that which stands beside the field."""
    try:
        units.quantity(text, kind, gallon=gallon)
        return text
    except units.UnitFault as fault:
        if fault.why != "no unit":
            raise Unfit(str(fault)) from fault
    with_unit = f"{text} {bare_unit}"
    try:
        units.quantity(with_unit, kind, gallon=gallon)
    except units.UnitFault as fault:
        raise Unfit(str(fault)) from fault
    return with_unit


def _picked(question: Question, text: str) -> str | None:
    """One of the choices by its number, its value or its words; None where it is none of them."""
    if text.isascii() and text.isdigit() and 1 <= int(text[:4]) <= len(question.choices) and len(text) <= 4:
        return question.choices[int(text) - 1][0]
    for value, words in question.choices:
        if text.casefold() in (value.casefold(), words.casefold()) and (text or not value):
            return value
    return None


def _choice(question: Question, text: str) -> str:
    found = _picked(question, text)
    if found is not None:
        return found
    told = ", ".join(f"{place} {words}" for place, (_, words) in enumerate(question.choices, 1))
    raise Unfit(f"given {text[:40]}; accepted: {told}")


def echo(question: Question, said: str, shown: Units, gallon: Gallon | None) -> str:
    """An answer in words: a quantity in the units of the screen beside what was typed, a choice in full."""
    if question.choices:
        return dict(question.choices).get(said, said)
    if question.form != "quantity" or question.kind is None or not said:
        return said
    try:
        si = units.quantity(said, question.kind, gallon=gallon)
    except units.UnitFault:
        return said
    other: Units = "us" if shown == "metric" else "metric"
    here, there = (formats.text(Quantity(si, question.kind), each) for each in (shown, other))
    return said if here == said and here == there else f"{said} = {here if here != said else there}"
