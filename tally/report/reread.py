"""A session whose raw bytes were read again, against what was recorded, in words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from tally import formats
from tally.formats import Units
from tally.job import grouting
from tally.job.state import Stage, State
from tally.job.supposition import Raised
from tally.job.view.quantity import Kind, Quantity
from tally.report.supposed import against_words

MOST_OF_A_NAME = 3


def volumes_words(recorded: State, again: State, units: Units) -> list[str]:
    """What the meter counted by stage and in all, recorded and read again."""
    stages = [
        _volume_words(_name(recorded, stage, place), _pumped_m3(recorded, place), _pumped_m3(again, place), units)
        for place, stage in enumerate(recorded.grout.stages)
    ]
    was, now = recorded.flow, again.flow
    return [
        *stages,
        _volume_words("metered in all", was.metered_m3, now.metered_m3, units),
        _volume_words("waiting for the operator's word", was.offered_m3, now.offered_m3, units),
    ]


def alarms_words(pairs: Sequence[Raised], state: State, units: Units) -> list[str]:
    """Each alarm that would have differed, a name that comes on and on but a few times, and what all come to."""
    *told, verdict = against_words(pairs, state.plan.job.time_zone, units)
    shown: Counter[str] = Counter()
    lines = []
    for pair, words in zip(pairs, told, strict=True):
        if pair.differs:
            shown[pair.alarm] += 1
            if shown[pair.alarm] <= MOST_OF_A_NAME:
                lines.append(words)
    lines += [f"{name}: {count - MOST_OF_A_NAME} more like that" for name, count in shown.items()
              if count > MOST_OF_A_NAME]  # fmt: skip
    return [*lines, verdict]


def _volume_words(name: str, was_m3: float, now_m3: float, units: Units) -> str:
    was, now = (formats.text(Quantity(m3, Kind.VOLUME), units) for m3 in (was_m3, now_m3))
    if abs(now_m3 - was_m3) < 1e-9:
        return f"{name}: {was}, as recorded"
    more = formats.text(Quantity(abs(now_m3 - was_m3), Kind.VOLUME), units)
    return f"{name}: recorded {was}, read again {now} ({more} {'more' if now_m3 > was_m3 else 'less'})"


def _name(state: State, stage: Stage, place: int) -> str:
    stages = state.plan.stages
    named = formats.plain(stages[stage.index].name) if stage.index < len(stages) else ""
    return f"stage {place + 1}{f', {named}' if named else ''}"


def _pumped_m3(state: State, place: int) -> float:
    stages = state.grout.stages
    return grouting.pumped_m3(stages[place], state.flow) if place < len(stages) else 0.0
