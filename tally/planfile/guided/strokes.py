"""The pump's strokes, where somebody counts them: without a meter, or while it is silent."""

from __future__ import annotations

from collections.abc import Iterator

from tally.job.view.quantity import Kind
from tally.planfile.guided.asking import NO_YES, one_of
from tally.planfile.guided.question import Answers, Question
from tally.planfile.guided.values import STEP, stroke_questions

COUNTED = "strokes.is"


def strokes(answers: Answers) -> Iterator[Question]:
    """What a stroke delivers; the pump's rate as well where it was left out, since the plan's [pump] begins with it."""
    if answers.get("meter.is") == "yes" and answers.get("meter.kind") == "strokes":
        return
    remark = "while grouting, 120 strokes are then taken as a volume: without a meter, or while it is silent"
    yield one_of(STEP, "", "Strokes counted by hand?", NO_YES, name=COUNTED, offered="no", remark=remark)
    if answers.get(COUNTED) != "yes":
        return
    if not answers.get("pump.rate"):
        yield Question(
            id="strokes.rate",
            step=STEP,
            key="pump.rate",
            words="The pump gives",
            form="quantity",
            kind=Kind.RATE,
            stands_in="1 L/min",
            remark="at its usual pace: strokes a minute by what one delivers",
        )
    yield from stroke_questions("pump")
