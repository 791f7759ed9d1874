"""The list before the first batch, with the numbers that it rests on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from tally.job import checklist
from tally.job.events import CheckName
from tally.job.plan import Plan
from tally.job.state import State
from tally.job.view.check_words import TITLES
from tally.job.view.planned_collapse import collapse_plan
from tally.job.view.planned_load import stage_load
from tally.job.view.quantity import Kind, Quantity, Sentence


@dataclass(frozen=True, slots=True)
class CheckRow:
    check: CheckName
    title: str
    detail: Sentence
    """What to look for, worked out where it can be."""
    short: bool
    """By the numbers it is not so: it takes a reason to go on."""
    said: str
    """"" (nobody has looked), "confirmed" or "not done"."""
    reason: str
    at: datetime | None
    number: int | None
    """The entry's number."""


def rows(state: State) -> tuple[CheckRow, ...]:
    return tuple(_row(state, check) for check in checklist.items(state.plan))


def gone_through(state: State) -> tuple[CheckRow, ...]:
    """The list as it stands in the record; empty where nobody ever took it up."""
    return rows(state) if state.grout.checks else ()


def _row(state: State, check: CheckName) -> CheckRow:
    done = checklist.checked(state, check)
    return CheckRow(
        check=check,
        title=TITLES[check],
        detail=_DETAILS[check](state),
        short=check == "stock" and not checklist.stock(state).covers,
        said="" if done is None else "confirmed" if done.confirmed else "not done",
        reason=done.reason if done else "",
        at=done.at if done else None,
        number=done.number if done else None,
    )


def _flushed(_: State) -> Sentence:
    return Sentence("water comes back clean; what stays in the hole ends in the grout")


def _tremie(state: State) -> Sentence:
    tremie = state.plan.tremie
    if tremie is None:
        return Sentence("moved up and down by hand before it is buried")
    return Sentence(f"{tremie.sections} sections, {{0}} in all", (Quantity(tremie.length_m, Kind.LENGTH),))


def _balance(_: State) -> Sentence:
    return Sentence("fresh water; else set its counterweight before a batch is weighed")


def _stock(state: State) -> Sentence:
    found = checklist.stock(state)
    words = f"aboard {found.bags} bags, {{0}} of water; high need {found.bags_high} bags, {{1}}"
    return Sentence(words, (Quantity(found.water_m3, Kind.VOLUME), Quantity(found.water_high_m3, Kind.VOLUME)))


def _casing(state: State) -> Sentence:
    """The first stage's, its grout at its top: hold-down, its cure by water, collapse."""
    plan, load = state.plan, stage_load(state.plan, 0)
    said: list[str] = []
    values: list[Quantity | str] = []

    def say(words: str, value: Quantity) -> None:
        said.append(words.format(len(values)))
        values.append(value)

    if (load.hold_down.si or 0.0) > 0:
        say("would lift by {{{0}}}: hold it down", load.hold_down)
        if load.cure.si is not None:
            say("or fill it to {{{0}}} below ground", load.cure)
        elif load.cure_density.si is not None:
            say("or fill it with fluid of {{{0}}}", load.cure_density)
    if (load.inflow.si or 0.0) > 0:
        say("open end, {{{0}}} more outside than inside: plug, seat or balance it", load.inflow)
    if _collapses_empty(plan):
        said.append("collapse margin is short where it is empty: fill it")
    return Sentence("; ".join(said) or "the loads ask for nothing", tuple(values))


def _collapses_empty(plan: Plan) -> bool:
    found, first = collapse_plan(plan), plan.stages[0].name
    return any(
        row.when == first and row.inside != "full of water" and row.ratio is not None and row.ratio < found.factor
        for row in found.rows
    )


def _protection(_: State) -> Sentence:
    return Sentence("wet cement burns without pain at first; dry cement and dust carry silica")


_DETAILS: dict[CheckName, Callable[[State], Sentence]] = {
    "flushed": _flushed,
    "tremie": _tremie,
    "balance": _balance,
    "stock": _stock,
    "casing": _casing,
    "protection": _protection,
}
