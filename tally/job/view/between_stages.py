"""Before a stage, whether it can be begun in time; after it, what is waited for and looked at."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime

from tally.job import grouting, starting
from tally.job.decide.grout import next_stage
from tally.job.decide.refusal import Refusal
from tally.job.state import Stage, State
from tally.job.view.quantity import Kind, Quantity
from tally.job.view.stage import at

EARLY_S = 60.0
"""A look this much ahead of its time counts."""
LEVEL_LOOKS_S = (900.0, 1_800.0, 3_600.0)
"""Looks at the level after a stage ends, 15, 30 and 60 min on: common practice."""


@dataclass(frozen=True, slots=True)
class SettingView:
    """The clocks of a stage that has ended."""

    look: Quantity
    """After the end, the look at the level that is next or due; unknown once all are made."""
    look_at: datetime | None
    look_due: bool
    lift: str
    """What waits for it: "drilling on" or "the next lift"."""
    set_at: datetime
    waits: Quantity
    """Until then; zero past it."""
    fell: Quantity
    """By how much the top fell between the first and the last tag after the end; unknown with fewer than two."""


@dataclass(frozen=True, slots=True)
class StartView:
    """A stage that is to be begun: what it takes, and the high volume against the mix's working time."""

    planned: Quantity
    """With what stays in the line, as the stage will show it."""
    bags: int
    high: Quantity
    bags_high: int
    takes: Quantity
    """Time that the high volume takes, at the plan's rate or the pace of the stage before; unknown without either."""
    working: Quantity
    """What is left of the working time: of a batch that is mixed already, else the mix's own."""
    go: bool | None
    least_rate: Quantity
    """At which it would be in."""


def setting(state: State, stage: Stage | None) -> SettingView | None:
    if stage is None or stage.ended_s is None:
        return None
    tags = [tag for tag in stage.tags if tag.elapsed_s >= stage.ended_s]
    made = len([each for each in LEVEL_LOOKS_S if any(tag.elapsed_s - stage.ended_s >= each - EARLY_S for tag in tags)])
    look_s = LEVEL_LOOKS_S[made] if made < len(LEVEL_LOOKS_S) else None
    since_s = state.elapsed_s - stage.ended_s
    waiting_s = grouting.stage_mix(state.plan, stage.index).waiting_time_s
    last = stage.index + 1 >= len(state.plan.stages) and stage.outcome not in grouting.UNFINISHED
    set_at = at(state, stage.ended_s + waiting_s)
    assert set_at is not None
    return SettingView(
        look=Quantity(look_s, Kind.DURATION),
        look_at=None if look_s is None else at(state, stage.ended_s + look_s),
        look_due=look_s is not None and since_s >= look_s - EARLY_S,
        lift="drilling on" if last else "the next lift",
        set_at=set_at,
        waits=Quantity(max(waiting_s - since_s, 0.0), Kind.DURATION),
        fell=Quantity(tags[-1].depth_m - tags[0].depth_m if len(tags) > 1 else None, Kind.LENGTH),
    )


def start(state: State) -> StartView | None:
    """The coming stage by its plan: only what was mixed for it already is of the day."""
    following = next_stage(state)
    if isinstance(following, Refusal):
        return None
    coming = starting.start(state, *following)
    bag_m3 = grouting.stage_mix(state.plan, coming.index).yield_per_bag_m3
    return StartView(
        planned=Quantity(coming.planned_m3, Kind.VOLUME),
        bags=math.ceil(max(coming.planned_m3 - coming.water_m3, 0.0) / bag_m3),
        high=Quantity(coming.high_m3, Kind.VOLUME),
        bags_high=math.ceil(max(coming.high_m3 - coming.water_m3, 0.0) / bag_m3),
        takes=Quantity(coming.takes_s, Kind.DURATION),
        working=Quantity(coming.left_s, Kind.DURATION),
        go=coming.go,
        least_rate=Quantity(coming.high_m3 / coming.left_s if coming.left_s > 0 else None, Kind.RATE),
    )
