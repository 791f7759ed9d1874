"""The tank that grout is drawn from, where it is dipped."""

from __future__ import annotations

from collections.abc import Iterator

from tally.job.view.quantity import Kind
from tally.planfile.guided.asking import one_of, size
from tally.planfile.guided.question import Answers, Question
from tally.planfile.guided.values import STEP

_SHAPES = (
    ("", "no"),
    ("standing cylinder", "standing cylinder"),
    ("lying cylinder", "lying cylinder"),
    ("box", "box"),
    ("table", "by its table of depths and volumes"),
)
_SIZES = {
    "standing cylinder": ("diameter", "height"),
    "lying cylinder": ("diameter", "length"),
    "box": ("length", "width", "height"),
}
_MOST_ROWS = 40


def tank(answers: Answers) -> Iterator[Question]:
    """The tank that grout is drawn from, where it is dipped."""
    yield one_of(
        STEP,
        "tank.shape",
        "A tank that is dipped?",
        _SHAPES,
        remark="two dips in a row tell what was drawn: they check the meter, or count where there is none",
    )
    shape = answers.get("tank.shape", "")
    if not shape:
        return
    for key in _SIZES.get(shape, ()):
        remark = "from the bottom to where dips are read from" if key == "height" else "inside"
        yield size(STEP, f"tank.{key}", f"Its {key}", Kind.LENGTH, stands_in="1 m", remark=remark)
    if shape == "table":
        yield from _rows(answers)
    ways = (("from the top", "from the top down to the grout"), ("from the bottom", "from the bottom up"))
    yield one_of(STEP, "tank.dipped", "Dips are read", ways, offered="from the top")


def _rows(answers: Answers) -> Iterator[Question]:
    for place in range(1, _MOST_ROWS + 1):
        key = f"tank.row[{place}]"
        yield size(
            STEP,
            f"{key}.depth",
            "Depth, from the bottom up" if place == 1 else "Next depth",
            Kind.LENGTH,
            optional=place > 2,
            stands_in="" if place > 2 else f"{place - 1} m",
            remark="Enter alone: that was the last" if place > 2 else "the first is the bottom",
            half=True,
        )
        if place > 2 and not answers.get(f"{key}.depth"):
            return
        yield size(STEP, f"{key}.volume", "It then holds", Kind.VOLUME, stands_in=f"{place - 1} m3", half=place == 1)
