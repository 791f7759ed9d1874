"""What is asked, in its order: worked out afresh from the answers so far, so that any earlier one may be changed."""

from __future__ import annotations

from tally.planfile.guided import ground, grouting, instruments, string, strokes, tank
from tally.planfile.guided.question import Answers, Question

STEPS = ("job", "crew", "hole", "casing", "rack", "shoe", "hoist", "mix", "aboard", "line", "stages", "instruments")


def questions(answers: Answers, zone: str = "") -> list[Question]:
    """Every question that is asked with these answers; `zone` is the machine's time zone, to be offered."""
    return [
        *ground.job(answers, zone),
        *ground.crew(),
        *ground.rules(answers),
        *ground.hole(answers),
        *string.casing(answers),
        *string.rack(answers),
        *string.shoe(answers),
        *string.hoist(answers),
        *grouting.mixes(answers),
        *grouting.aboard(),
        *grouting.line(answers),
        *grouting.stages(answers),
        *instruments_alone(answers),
        *strokes.strokes(answers),
        *tank.tank(answers),
    ]


def instruments_alone(answers: Answers, zone: str = "") -> list[Question]:
    """The same for a plan file that stands already, or for no job at all: meter and instruments."""
    return [*instruments.meter(answers), *instruments.others(answers)]
