"""The hole by its caliper log, beside the hole by its bits."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from tally.engineering.hole import Profile, Segment
from tally.job import geometry
from tally.job.hole import Hole, HoleSection
from tally.job.plan import Plan
from tally.job.view.quantity import Kind, Quantity

WASHOUT_SHARE = 0.20
"""Wider than the bit by more than this is told as a washout. A limit of ours: no standard sets one."""
STRETCHES = 24
"""Into how many equal stretches the hole is summed up."""


@dataclass(frozen=True, slots=True)
class Washout:
    top: Quantity
    bottom: Quantity
    widest: Quantity
    bit: Quantity
    volume: Quantity
    """More than by bit size, between top and bottom."""


@dataclass(frozen=True, slots=True)
class Stretch:
    top: Quantity
    bottom: Quantity
    diameter: Quantity
    """Of a round hole of one width with the same volume."""
    measured: Quantity
    """Share of the stretch that the log covers."""


@dataclass(frozen=True, slots=True)
class LogPlan:
    points: int
    top: Quantity
    bottom: Quantity
    measured: Quantity
    """Length between top and bottom that the log covers, its gaps left out."""
    narrowest: Quantity
    narrowest_at: Quantity
    mean: Quantity
    """Of a round hole of one width with the same volume as what was measured."""
    widest: Quantity
    widest_at: Quantity
    bit_mean: Quantity
    """The same of the bit sizes over what was measured."""
    volume: Quantity
    bit_volume: Quantity
    """Of the measured lengths, without the casing."""
    excess: Quantity
    """Measured over bit volume, less one."""
    annulus_excess: Quantity
    """The same beside the casing: what an allowance of annulus stands for."""
    washout_over: Quantity
    washouts: tuple[Washout, ...]
    stretches: tuple[Stretch, ...]
    notes: tuple[str, ...]


def log_plan(plan: Plan) -> LogPlan | None:
    """None where the hole was not logged."""
    hole = plan.hole
    if not hole.log:
        return None
    logged, by_bit = geometry.open_hole(hole), geometry.open_hole(by_bit_size(hole))
    spans = tuple(_spans(hole))
    length_m = sum(bottom_m - top_m for top_m, bottom_m in spans)
    volume_m3, bit_m3 = (sum(each.volume_m3(*span) for span in spans) for each in (logged, by_bit))
    narrow, wide = (pick(hole.log, key=lambda point: point.diameter_m) for pick in (min, max))
    return LogPlan(
        points=len(hole.log),
        top=Quantity(hole.log[0].depth_m, Kind.DEPTH),
        bottom=Quantity(hole.log[-1].depth_m, Kind.DEPTH),
        measured=Quantity(length_m, Kind.LENGTH),
        narrowest=Quantity(narrow.diameter_m, Kind.DIAMETER),
        narrowest_at=Quantity(narrow.depth_m, Kind.DEPTH),
        mean=Quantity(_width_m(volume_m3, length_m), Kind.DIAMETER),
        widest=Quantity(wide.diameter_m, Kind.DIAMETER),
        widest_at=Quantity(wide.depth_m, Kind.DEPTH),
        bit_mean=Quantity(_width_m(bit_m3, length_m), Kind.DIAMETER),
        volume=Quantity(volume_m3, Kind.VOLUME),
        bit_volume=Quantity(bit_m3, Kind.VOLUME),
        excess=Quantity(_over(volume_m3, bit_m3), Kind.SHARE),
        annulus_excess=Quantity(_annulus_excess(plan, spans), Kind.SHARE),
        washout_over=Quantity(WASHOUT_SHARE, Kind.SHARE),
        washouts=tuple(_washouts(hole, logged, by_bit)),
        stretches=tuple(_stretches(hole, logged, spans)),
        notes=hole.log_notes,
    )


def by_bit_size(hole: Hole) -> Hole:
    """The same hole as if it had not been logged."""
    return Hole(sections=hole.sections, water_level_m=hole.water_level_m)


def _spans(hole: Hole) -> Iterator[tuple[float, float]]:
    """Depths between which the log covers the hole, from the top down."""
    top_m = hole.log[0].depth_m
    for above, below in pairwise(hole.log):
        if hole.log_gap_m is not None and below.depth_m - above.depth_m > hole.log_gap_m:
            if above.depth_m > top_m:
                yield top_m, above.depth_m
            top_m = below.depth_m
    if hole.log[-1].depth_m > top_m:
        yield top_m, hole.log[-1].depth_m


def _width_m(volume_m3: float, length_m: float) -> float | None:
    return math.sqrt(4.0 * volume_m3 / (math.pi * length_m)) if length_m > 0 else None


def _over(volume_m3: float, bit_m3: float) -> float | None:
    return volume_m3 / bit_m3 - 1.0 if bit_m3 > 0 else None


def _annulus_excess(plan: Plan, spans: tuple[tuple[float, float], ...]) -> float | None:
    shoe_m = plan.casing.target_shoe_depth_m
    bare = plan.model_copy(update={"hole": by_bit_size(plan.hole)})
    beside = [(top_m, min(bottom_m, shoe_m)) for top_m, bottom_m in spans if top_m < shoe_m]
    logged, bit = (geometry.planned_annulus(each) for each in (plan, bare))
    return _over(sum(logged.volume_m3(*span) for span in beside), sum(bit.volume_m3(*span) for span in beside))


def _washouts(hole: Hole, logged: Profile, by_bit: Profile) -> Iterator[Washout]:
    """Stretches of the log that are wider than the bit by more than the limit, cut where they cross it."""
    parts = [(section, part) for section in hole.sections for part in _wide(section, logged)]
    runs: list[list[tuple[HoleSection, Segment]]] = []
    for section, part in parts:
        if runs and runs[-1][-1][0] is section and part.top_m - runs[-1][-1][1].bottom_m <= 1e-9:
            runs[-1].append((section, part))
        else:
            runs.append([(section, part)])
    for run in runs:
        top_m, bottom_m = run[0][1].top_m, run[-1][1].bottom_m
        widest_m = max(max(part.top_diameter_m, part.bottom_diameter_m) for _, part in run)
        more_m3 = logged.volume_m3(top_m, bottom_m) - by_bit.volume_m3(top_m, bottom_m)
        yield Washout(
            Quantity(top_m, Kind.DEPTH),
            Quantity(bottom_m, Kind.DEPTH),
            Quantity(widest_m, Kind.DIAMETER),
            Quantity(run[0][0].diameter_m, Kind.DIAMETER),
            Quantity(more_m3, Kind.VOLUME),
        )


def _wide(section: HoleSection, logged: Profile) -> Iterator[Segment]:
    """Parts of the walls within a section that are wider than the limit."""
    limit_m = section.diameter_m * (1.0 + WASHOUT_SHARE)
    for part in logged.segments:
        top_m, bottom_m = max(part.top_m, section.top_m), min(part.bottom_m, section.bottom_m)
        if bottom_m <= top_m or max(part.top_diameter_m, part.bottom_diameter_m) <= limit_m:
            continue
        slope = (part.bottom_diameter_m - part.top_diameter_m) / (part.bottom_m - part.top_m)
        if slope:
            crossing_m = part.top_m + (limit_m - part.top_diameter_m) / slope
            top_m, bottom_m = (max(top_m, crossing_m), bottom_m) if slope > 0 else (top_m, min(bottom_m, crossing_m))
        if bottom_m > top_m:
            ends = (part.top_diameter_m + slope * (depth_m - part.top_m) for depth_m in (top_m, bottom_m))
            yield Segment(top_m, bottom_m, *ends)


def _stretches(hole: Hole, logged: Profile, spans: tuple[tuple[float, float], ...]) -> Iterator[Stretch]:
    step_m = hole.bottom_m / STRETCHES
    for number in range(STRETCHES):
        top_m, bottom_m = number * step_m, min((number + 1) * step_m, hole.bottom_m)
        covered_m = sum(max(0.0, min(bottom_m, low_m) - max(top_m, high_m)) for high_m, low_m in spans)
        yield Stretch(
            Quantity(top_m, Kind.DEPTH),
            Quantity(bottom_m, Kind.DEPTH),
            Quantity(_width_m(logged.volume_m3(top_m, bottom_m), bottom_m - top_m), Kind.DIAMETER),
            Quantity(covered_m / (bottom_m - top_m), Kind.SHARE),
        )
