"""Rule notes: what the plan's rule files say of plan and session, for report and screen."""

from __future__ import annotations

from dataclasses import dataclass

from tally.job import rules
from tally.job.plan import Plan
from tally.job.rule import RuleSet
from tally.job.rule_facts import FACTS
from tally.job.rules import Verdict
from tally.job.state import State
from tally.job.view.quantity import Quantity

DEFERS = (
    "Rule notes inform; they certify nothing. They are in the words of whoever wrote the rule file and may be out of"
    " date: the local code as it stands now, and the licensed contractor, decide."
)


@dataclass(frozen=True, slots=True)
class RuleNote:
    id: str
    text: str
    fact: str
    """What is measured, in words; "" for a rule that is only shown."""
    sense: str
    """"at least", "at most" or "so"."""
    wanted: Quantity | None
    found: Quantity | None
    verdict: Verdict
    basis: str
    clause: str
    source: str
    known: str
    read: str


@dataclass(frozen=True, slots=True)
class RuleNotes:
    name: str
    about: str
    notes: tuple[RuleNote, ...]
    others: tuple[str, ...]
    """Rules that are not about such a casing or method, by id."""


def rule_notes(sets: tuple[RuleSet, ...], plan: Plan, state: State | None = None) -> tuple[RuleNotes, ...]:
    return tuple(_notes(each, plan, state) for each in sets)


def _notes(each: RuleSet, plan: Plan, state: State | None) -> RuleNotes:
    return RuleNotes(
        name=each.name,
        about=each.about,
        notes=tuple(_note(found) for found in rules.checked(each.rules, plan, state)),
        others=tuple(rule.id for rule in each.rules if not rules.applies(rule, plan)),
    )


def _note(found: rules.Checked) -> RuleNote:
    rule, fact = found.rule, FACTS.get(found.rule.fact)
    return RuleNote(
        id=rule.id,
        text=rule.text,
        fact=fact.words if fact else "",
        sense=fact.sense if fact else "",
        wanted=found.wanted,
        found=found.found,
        verdict=found.verdict,
        basis=found.basis,
        clause=rule.clause,
        source=rule.source,
        known=rule.known,
        read=rule.read,
    )
