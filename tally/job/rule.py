"""Local rules as a plan carries them; `tally.job.rules` holds them against plan and session."""

from __future__ import annotations

from pydantic import Field

from tally.job.model import Model, NotNegative, Real, Text


class Rule(Model):
    """One local rule: in words, and where it can be checked, by which fact and value."""

    id: Text
    text: Text
    fact: Text = ""
    """One of `tally.job.rule_facts.FACTS`; "" or one that is not known here: the rule is only shown."""
    value: Real | None = None
    """In SI, of the kind that the fact has."""
    applies: Text = ""
    """Only to this material, connection or method; "": to all."""
    casing_from_m: NotNegative | None = None
    """Only to casing of this outside diameter or more."""
    clause: Text
    source: Text
    address: Text = ""
    known: Text = "own"
    read: Text
    """The day on which it was read: 2026-11-25."""


class RuleSet(Model):
    name: Text
    about: Text = ""
    rules: tuple[Rule, ...] = Field(max_length=200)
