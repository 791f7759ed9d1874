"""Local rules as data against plan and session: met, not met or not shown, with the numbers. Never a verdict on law."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from tally.job.plan import Plan
from tally.job.rule import Rule
from tally.job.rule_facts import FACTS
from tally.job.state import State
from tally.job.view.quantity import Quantity

Verdict = Literal["met", "not met", "not shown"]
STEP = 1e-6
"""Shares of the value within which two figures are the same."""


@dataclass(frozen=True, slots=True)
class Checked:
    rule: Rule
    verdict: Verdict
    found: Quantity | None
    wanted: Quantity | None
    basis: str


def checked(rules: tuple[Rule, ...], plan: Plan, state: State | None = None) -> tuple[Checked, ...]:
    """Each rule that applies to the plan's casing and method; by the plan alone where there is no session yet."""
    return tuple(_checked(rule, plan, state) for rule in rules if applies(rule, plan))


def applies(rule: Rule, plan: Plan) -> bool:
    """Whether it is about such a casing, connection or method as the plan's."""
    mine = {plan.casing.material, plan.casing.connection, *(stage.method for stage in plan.stages)}
    wide = rule.casing_from_m is None or plan.casing.outer_diameter_m >= rule.casing_from_m - STEP
    return wide and (not rule.applies or rule.applies in mine)


def _checked(rule: Rule, plan: Plan, state: State | None) -> Checked:
    fact = FACTS.get(rule.fact)
    if fact is None:
        return Checked(rule, "not shown", None, None, "nothing here measures it: look yourself")
    found = fact.find(plan, state)
    if fact.kind is None:
        verdicts: dict[bool | None, Verdict] = {True: "met", False: "not met", None: "not shown"}
        return Checked(rule, verdicts[found.shown], None, None, found.basis)
    wanted = None if rule.value is None else Quantity(rule.value, fact.kind)
    verdict: Verdict = "not shown"
    if found.si is not None and rule.value is not None:
        slack = abs(rule.value) * STEP
        enough = found.si >= rule.value - slack if fact.sense == "at least" else found.si <= rule.value + slack
        verdict = "met" if enough else "not met"
    return Checked(rule, verdict, Quantity(found.si, fact.kind), wanted, found.basis)
