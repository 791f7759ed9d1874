"""What an answer comes to beyond its own value: what was read of a log, what a mix weighs and makes."""

from __future__ import annotations

import re
from itertools import pairwise

from tally import formats
from tally.formats import Units
from tally.job.hole import Hole
from tally.job.plan import Plan
from tally.job.view.quantity import Kind, Quantity
from tally.planfile.guided import ground, written
from tally.planfile.guided.question import Answers, Question

_WATER = re.compile(r"mix\[([0-9]+)\]\.water_per_bag")


def beside(question: Question, answers: Answers, units: Units) -> str:
    """In words, with the answer to `question` among `answers`; empty where there is nothing to say."""
    water = _WATER.fullmatch(question.key)
    if not water and not (question.key.startswith(ground.LOG) and answers.get(ground.LOG)):
        return ""
    plan, _ = written.filled(answers)
    if plan is None:
        return ""
    return _mix(plan, int(water[1]) - 1, units) if water else _log(plan.hole, units)


def _mix(plan: Plan, place: int, units: Units) -> str:
    mix = plan.mixes[place]
    weighs, makes = Quantity(mix.density_kg_m3, Kind.DENSITY), Quantity(mix.yield_per_bag_m3, Kind.VOLUME)
    return f"weighs {formats.text(weighs, units)}, a bag makes {formats.text(makes, units)}"


def _log(hole: Hole, units: Units) -> str:
    """Points read, depths between which they lie, mean diameter over the depth."""
    if len(hole.log) < 2:
        return ""
    top, bottom = hole.log[0].depth_m, hole.log[-1].depth_m
    swept_m2 = sum(
        (upper.diameter_m + lower.diameter_m) / 2.0 * (lower.depth_m - upper.depth_m)
        for upper, lower in pairwise(hole.log)
    )
    depths = " to ".join(formats.text(Quantity(depth_m, Kind.DEPTH), units) for depth_m in (top, bottom))
    mean = formats.text(Quantity(swept_m2 / (bottom - top), Kind.DIAMETER), units)
    read = hole.log_notes[0].rpartition(": ")[2]
    return f"{read}, from {depths}, {mean} on the average"
