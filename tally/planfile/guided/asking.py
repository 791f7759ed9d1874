"""How a question of each form is put together, and what the first answers say of all later ones."""

from __future__ import annotations

from tally.formats import Units
from tally.job.view.quantity import Kind
from tally.planfile.guided.question import Answers, Question
from tally.units import Gallon

MOST_PARTS = 12
"""Sections, zones, mixes or stages that are asked for; more are written in the file."""
NO_YES = (("no", "no"), ("yes", "yes"))


def units_of(answers: Answers) -> Units:
    return "us" if answers.get("job.units") == "US" else "metric"


def gallon_of(answers: Answers) -> Gallon | None:
    said = answers.get("job.gallons")
    return "imperial" if said == "imperial" else ("US" if said == "US" else None)


def text(
    step: str,
    key: str,
    words: str,
    *,
    offered: str = "",
    optional: bool = False,
    stands_in: str = "–",
    remark: str = "",
    comment: str = "",
) -> Question:
    return Question(
        id=key,
        step=step,
        key=key,
        words=words,
        offered=offered,
        optional=optional,
        stands_in="" if optional else stands_in,
        remark=remark,
        comment=comment,
    )


def size(
    step: str,
    key: str,
    words: str,
    kind: Kind,
    *,
    stands_in: str = "",
    offered: str = "",
    optional: bool = False,
    remark: str = "",
    comment: str = "",
    half: bool = False,
    unit: str = "",
) -> Question:
    return Question(
        id=key,
        step=step,
        key=key,
        words=words,
        form="quantity",
        kind=kind,
        offered=offered,
        optional=optional,
        stands_in=stands_in,
        remark=remark,
        comment=comment,
        half=half,
        unit=unit,
    )


def one_of(
    step: str,
    key: str,
    words: str,
    choices: tuple[tuple[str, str], ...],
    *,
    offered: str = "",
    remark: str = "",
    comment: str = "",
    name: str = "",
    flag: bool = False,
    stands_in: str = "",
) -> Question:
    return Question(
        id=name or key,
        step=step,
        key=key,
        words=words,
        form="flag" if flag else "choice",
        choices=choices,
        offered=dict(choices).get(offered, ""),
        stands_in=stands_in or choices[0][0],
        remark=remark,
        comment=comment,
    )


def pick(
    step: str,
    key: str,
    words: str,
    choices: tuple[tuple[str, str], ...] = (),
    *,
    offered: str = "",
    optional: bool = False,
    stands_in: str = "",
    remark: str = "",
    comment: str = "",
    covers: tuple[str, ...] = (),
) -> Question:
    return Question(
        id=key,
        step=step,
        key=key,
        words=words,
        form="pick",
        choices=choices,
        offered=offered,
        optional=optional,
        stands_in=stands_in,
        remark=remark,
        comment=comment,
        covers=covers,
    )


def count(step: str, key: str, words: str, *, offered: str = "", stands_in: str = "", remark: str = "") -> Question:
    return Question(
        id=key, step=step, key=key, form="count", words=words, offered=offered, stands_in=stands_in, remark=remark
    )


def more(step: str, name: str, words: str) -> Question:
    return Question(id=name, step=step, words=words, form="choice", choices=NO_YES, offered="no", stands_in="no")


def by_units(answers: Answers, metric: str, us: str) -> str:
    return us if units_of(answers) == "us" else metric
