"""A mix by what goes into it: so much of each solid to a bag of cement, and the water.

In the plan file its solids stand as ingredients, of which the first is counted in bags.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from tally.engineering import grout
from tally.job.view.quantity import Kind
from tally.planfile.guided.asking import size
from tally.planfile.guided.question import Answers, Question

RECIPE = "recipe"
SOLIDS = (
    ("cement", "Cement in one bag", grout.CEMENT_SG),
    ("bentonite", "Bentonite to that bag", grout.BENTONITE_SG),
    ("sand", "Sand to that bag", grout.SAND_SG),
)
_MASS = re.compile(r"(mix\[[0-9]+\])\.recipe\.([a-z]+)")


def solids(answers: Answers, key: str) -> Iterator[Question]:
    """What is weighed in, each but the cement as it may be left out."""
    place = 0
    for name, words, _ in SOLIDS:
        asked = f"{key}.recipe.{name}"
        place += not place or bool(answers.get(asked))
        first = name == SOLIDS[0][0]
        yield Question(
            id=asked,
            step="mix",
            key=f"{key}.ingredient[{place}].mass",
            words=words,
            form="quantity",
            kind=Kind.MASS,
            optional=not first,
            stands_in="40 kg" if first else "",
            remark="" if first else "Enter alone: none",
        )


def lines(question: Question) -> Iterator[tuple[str, str]]:
    """(key, value as TOML) of what stands beside the mass of a solid in the file."""
    if found := _MASS.fullmatch(question.id):
        beside = question.key.removesuffix("mass")
        sg = next(sg for name, _, sg in SOLIDS if name == found[2])
        yield f"{beside}name", f'"{found[2]}"'
        yield f"{beside}sg", f"{sg:g}"


def thickness(answers: Answers, key: str) -> Iterator[Question]:
    """How thick the mix is, for the pressure that it takes: both or neither."""
    yield size(
        "mix",
        f"{key}.plastic_viscosity",
        "Plastic viscosity",
        Kind.VISCOSITY,
        optional=True,
        remark="by the maker's sheet or a viscometer, never guessed; Enter alone: not known",
    )
    if answers.get(f"{key}.plastic_viscosity"):
        yield size("mix", f"{key}.yield_point", "Yield point", Kind.YIELD_STRESS, stands_in="5 Pa")
