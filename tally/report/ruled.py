"""Rule notes as blocks of the report and as lines for a terminal."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from textwrap import wrap

from tally import formats
from tally.formats import UNKNOWN, Units
from tally.job.rule import RuleSet
from tally.job.rule_facts import FACTS
from tally.job.view.quantity import Quantity
from tally.job.view.ruled import DEFERS, RuleNote, RuleNotes
from tally.report.block import Block, Heading, Table, Words
from tally.report.row import WIDTH
from tally.report.writer import Writer

NONE_NAMED = (
    'The plan names no rule file. Under [job] it may: rules = ["neutral", "ours.toml"]; `tally rules` lists those that'
    " come along and checks a session by any."
)
IN_A_BOX = 70
"""Columns of text that a screen of 80 columns frames."""
MARKS = {"met": "met", "not met": "NOT MET", "not shown": "not shown"}


def rule_blocks(sets: Sequence[RuleNotes], write: Writer) -> Iterator[Block]:
    if not sets:
        return
    yield Heading(2, "Rule notes")
    yield Words(DEFERS)
    for each in sets:
        yield Heading(3, each.name)
        if each.about:
            yield Words(each.about)
        rows = [
            (
                note.text,
                MARKS[note.verdict],
                _number(note.found, write.units),
                _wanted(note, write.units),
                note.basis,
                f"{note.source}, {note.clause}, read {note.read}",
            )
            for note in each.notes
        ]
        yield Table(("Rule", "Shown", ">Found", ">Asked for", "By", "Where"), rows)
        if each.others:
            yield Words(f"Not about such a casing or method: {', '.join(each.others)}.")


def _number(quantity: Quantity | None, units: Units) -> str:
    return UNKNOWN if quantity is None else formats.text(quantity, units)


def _wanted(note: RuleNote, units: Units) -> str:
    return UNKNOWN if note.wanted is None else f"{note.sense} {formats.text(note.wanted, units)}"


def checked_text(sets: Sequence[RuleNotes], units: Units, width: int = WIDTH) -> str:
    """What was found, for a terminal of 80 columns or as wide as it is said."""
    lines: list[str] = []
    for each in sets:
        lines += [formats.plain(each.name), *_wrapped(each.about, 0, width), ""]
        for note in each.notes:
            lines += _wrapped(f"{MARKS[note.verdict]:<9} {note.id}: {note.text}", 10, width)
            numbers = f"found {_number(note.found, units)}, asked for {_wanted(note, units)}; " if note.wanted else ""
            lines += _wrapped(f"{'':<10}{numbers}{note.basis}", 10, width)
            lines += _wrapped(f"{'':<10}{note.source}, {note.clause}, read {note.read}", 10, width)
        if each.others:
            lines += _wrapped(f"not about such a casing or method: {', '.join(each.others)}", 2, width)
        count = {verdict: sum(note.verdict == verdict for note in each.notes) for verdict in MARKS}
        lines += ["", ", ".join(f"{many} {verdict}" for verdict, many in count.items()), ""]
    return "\n".join([*lines, *wrap(DEFERS, width)]) + "\n"


def looked_through(sets: Sequence[RuleNotes], units: Units) -> list[str]:
    """The same for a screen: first who decides. Where the plan names no rule file, how it would."""
    if not sets:
        return [NONE_NAMED, "", DEFERS]
    return [DEFERS, "", *checked_text(sets, units, IN_A_BOX).partition(DEFERS[:40])[0].rstrip().splitlines()]


def rules_text(each: RuleSet, units: Units) -> str:
    """The rules themselves, for a terminal of 80 columns."""
    lines = [formats.plain(each.name), *_wrapped(each.about, 0), ""]
    for rule in each.rules:
        fact = FACTS.get(rule.fact)
        lines += _wrapped(f"{rule.id}: {rule.text}", 2)
        asked = "only shown"
        if fact and fact.kind and rule.value is not None:
            asked = f"{fact.words}: {fact.sense} {formats.text(Quantity(rule.value, fact.kind), units)}"
        elif fact:
            asked = fact.words
        about = f"; {rule.applies} only" if rule.applies else ""
        lines += _wrapped(f"  {asked}{about}", 4)
        lines += _wrapped(f"  {rule.source}, {rule.clause}, read {rule.read} ({rule.known})", 4)
    return "\n".join([*lines, "", *wrap(DEFERS, WIDTH)]) + "\n"


def _wrapped(text: str, indent: int, width: int = WIDTH) -> list[str]:
    return wrap(formats.plain(text), width, subsequent_indent=" " * indent, drop_whitespace=True)
