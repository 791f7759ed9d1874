"""What the report's drawings show: curves and marks in SI, not yet lines on paper."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from tally.job import events as ev
from tally.job import fill as filling
from tally.job import lengths, loads, watching
from tally.job.state import Stage, State
from tally.job.view.casing import verdict
from tally.job.view.entered import entered
from tally.job.view.hole import HoleView, hole

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Mark:
    """Something seen while pumping."""

    s: float
    """Since the stage began."""
    pumped_m3: float
    kind: str
    """"returns", "tag" or "alarm"."""
    words: str
    depth_m: float | None = None


@dataclass(frozen=True, slots=True)
class PumpedChart:
    stage: int
    name: str
    pumped: tuple[Point, ...]
    """(s since the stage began, m3)."""
    planned_m3: float
    planned_high_m3: float
    due_low_m3: float
    due_high_m3: float
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class LoadChart:
    expected: tuple[Point, ...]
    """(depth of the shoe in m, N) as the joints went on and at each reading, in the water known then."""
    read: tuple[tuple[float, float, str], ...]
    """(depth of the shoe in m, N, verdict)."""
    limit_name: str
    limit_n: float


@dataclass(frozen=True, slots=True)
class Charts:
    pumped: tuple[PumpedChart, ...]
    load: LoadChart | None
    hole: HoleView
    bore_m: float


def charts(state: State) -> Charts:
    """Everything that the drawings of the report show."""
    return Charts(
        pumped=tuple(
            _pumped(state, place, stage)
            for place, stage in enumerate(state.grout.stages, start=1)
            if len(_curve(state, stage)) > 1
        ),
        load=_load(state),
        hole=hole(state),
        bore_m=state.plan.casing.bore_m,
    )


def last_pumped(state: State) -> PumpedChart | None:
    """The stage under way, or the last one that was; None before the first."""
    stages = state.grout.stages
    return _pumped(state, len(stages), stages[-1]) if stages else None


def thinned(points: tuple[Point, ...], most: int) -> tuple[Point, ...]:
    """At most `most` of the points, evenly taken, the first and the last among them."""
    if len(points) <= max(most, 2):
        return points
    step = (len(points) - 1) / (max(most, 2) - 1)
    return tuple(points[round(place * step)] for place in range(max(most, 2)))


def _pumped(state: State, place: int, stage: Stage) -> PumpedChart:
    fill = filling.fill(state, stage)
    return PumpedChart(
        stage=place,
        name=filling.planned_stage(state.plan, stage).name,
        pumped=_curve(state, stage),
        planned_m3=fill.planned_m3,
        planned_high_m3=fill.planned_high_m3,
        due_low_m3=fill.due.low_m3,
        due_high_m3=fill.due.high_m3,
        marks=tuple(sorted(_marks(state, stage), key=lambda mark: mark.s)),
    )


def _until_s(state: State, stage: Stage) -> float:
    return state.elapsed_s if stage.ended_s is None else stage.ended_s


def _curve(state: State, stage: Stage) -> tuple[Point, ...]:
    """Pumped by then: the meter's count at its trend's points and at every entry, and what was typed."""
    until_s, metered_end_m3 = _until_s(state, stage), stage.metered_at_end_m3
    last_m3 = state.flow.metered_m3 if metered_end_m3 is None else metered_end_m3
    counted = {s: m3 for s, m3 in state.flow.trend if stage.started_s < s < until_s}
    counted |= {kept.elapsed_s: kept.metered_m3 for kept in state.entries if stage.started_s < kept.elapsed_s < until_s}
    typed = [
        (added.elapsed_s, added.event.volume_m3)
        for added in entered(state, ev.VolumeAdded)
        if stage.started_s <= added.elapsed_s <= until_s
    ]
    found = [(stage.started_s, stage.metered_at_start_m3), *sorted(counted.items()), (until_s, last_m3)]
    return tuple(
        (s - stage.started_s, metered_m3 - stage.metered_at_start_m3 + sum(m3 for at_s, m3 in typed if at_s <= s))
        for s, metered_m3 in found
    )


def _marks(state: State, stage: Stage) -> Iterator[Mark]:
    begun_s, until_s = stage.started_s, _until_s(state, stage)
    for seen in stage.returns:
        words = "none" if seen.strength == "none" else f"{seen.strength} {seen.fluid}"
        yield Mark(seen.elapsed_s - begun_s, seen.pumped_m3, "returns", words)
    for tag in stage.tags:
        if tag.elapsed_s <= until_s:
            yield Mark(tag.elapsed_s - begun_s, tag.pumped_m3, "tag", "grout lost" if tag.lost else "", tag.depth_m)
    curve = _curve(state, stage)
    for alarm in state.alarms:
        if begun_s <= alarm.raised_s <= until_s:
            yield Mark(alarm.raised_s - begun_s, _at(curve, alarm.raised_s - begun_s), "alarm", alarm.words)


def _at(curve: tuple[Point, ...], s: float) -> float:
    return next((m3 for at_s, m3 in reversed(curve) if at_s <= s), 0.0)


def _load(state: State) -> LoadChart | None:
    plan, string = state.plan, state.string
    if not string.joints:
        return None
    expected = [(each.shoe_m, each.expected_n) for each in string.hook_readings if each.expected_n is not None]
    levels = [(level.elapsed_s, level.event) for level in entered(state, ev.FluidLevelRead)]
    for count, joint in enumerate(string.joints, start=1):
        known = {event.where: event.depth_m for at_s, event in levels if at_s <= joint.elapsed_s}
        part = replace(
            string,
            joints=string.joints[:count],
            cut_off_m=string.cut_off_m if count == len(string.joints) else 0.0,
            hole_fluid_m=known.get("hole"),
            inside_fluid_m=known.get("inside casing"),
        )
        load_n = loads.expected_n(plan, part)
        if load_n is not None:
            expected.append((lengths.shoe_depth_m(plan, part), load_n))
    name, limit_n = plan.limits.lowest
    return LoadChart(
        expected=tuple(sorted(expected)),
        read=tuple((each.shoe_m, each.load_n, verdict(plan, each)) for each in watching.hook_readings(state)),
        limit_name=name,
        limit_n=limit_n,
    )
