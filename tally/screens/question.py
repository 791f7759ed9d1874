"""A question, and the intent that its answer makes. Knows nothing of Textual."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from tally import formats, units
from tally.formats import Units
from tally.job.intents import Intent
from tally.job.view.quantity import Kind


@dataclass(frozen=True, slots=True)
class Ask:
    """One value or text. `make` takes (SI value, text as typed, chosen toggle)."""

    label: str
    kind: Kind | None
    make: Callable[[float, str, str], Intent]
    toggles: tuple[str, ...] = ()
    given: str = ""
    """Text that stands in the line already."""
    whole: bool = False
    """A count: a whole number without a unit."""
    strokes: Callable[[int, str], Intent] | None = None
    """Where "120 strokes" is an answer as well: what that many make."""
    then: Callable[[Intent], Ask] | None = None
    """The further question that its answer leads to; the intent of that one is what is recorded."""


@dataclass(frozen=True, slots=True)
class Show:
    """Nothing to record: a page to read."""

    page: str


@dataclass(frozen=True, slots=True)
class Pick:
    """One of several. An option leads to an intent, or to a further question."""

    title: str
    options: tuple[tuple[str, Intent | Ask | Show], ...]


@dataclass(frozen=True, slots=True)
class Work:
    """Takes its time, in a thread; leads to an intent, or to words that say why there is none."""

    label: str
    work: Callable[[], Intent | str]


Question = Ask | Pick | Work


_STROKES = re.compile(r"([0-9]{1,9})\s*strokes?", re.ASCII | re.IGNORECASE)


class Unreadable(ValueError):
    """The text is no answer; says what was given and what is accepted."""


def answered(ask: Ask, text: str, toggle: str, shown: Units) -> Intent:
    """The intent that `text` makes; raises `Unreadable`."""
    text = text.strip()
    if not text:
        raise Unreadable(f"{ask.label}: nothing was given; {_accepted(ask, shown)}")
    if ask.kind is None:
        return ask.make(0.0, text, toggle)
    if ask.strokes is not None and (counted := _STROKES.fullmatch(text)):
        return ask.strokes(int(counted[1]), text)
    if ask.whole:
        if not text.isdecimal() or len(text) > 6:
            raise Unreadable(f"{ask.label}: given {formats.plain(text)[:40]!r}; a whole number such as 12 is accepted")
        return ask.make(float(text), text, toggle)
    try:
        gallon = "US" if shown == "us" else None
        value = units.quantity(text, ask.kind, gallon=gallon, bare_unit=formats.unit(ask.kind, shown))  # type: ignore[arg-type]
    except units.UnitFault as wrong:
        raise Unreadable(f"{ask.label}: {wrong}") from wrong
    # A bare number is recorded with the unit that stood beside the field.
    typed = text if any(letter.isalpha() or letter in "'\"′″" for letter in text) else _with_unit(text, ask.kind, shown)
    return ask.make(value, typed, toggle)


def _accepted(ask: Ask, shown: Units) -> str:
    if ask.kind is None:
        return "type it in words, then Enter; Esc leaves it"
    if ask.whole:
        return "type a whole number such as 12, then Enter"
    return f"type a number in {formats.unit(ask.kind, shown)}, or with another unit behind it, then Enter"


def _with_unit(text: str, kind: Kind, shown: Units) -> str:
    return f"{text} {formats.unit(kind, shown)}"
