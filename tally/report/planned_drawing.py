"""The planned hole drawn in characters: depth to scale downward, diameters to scale across."""

from __future__ import annotations

from collections.abc import Iterator

from tally.formats import Units, plain
from tally.formats import text as written
from tally.job.view.planned import PlanView
from tally.job.view.planned_log import Stretch
from tally.job.view.quantity import Quantity

ROWS = 24
HALF = 10
"""Characters from the middle to the wall of the widest section."""
LABEL = 46
SHADES = "░▒"
ZONE = "≈"


def drawing(view: PlanView, units: Units) -> Iterator[str]:
    """Ground level on top, the hole's bottom at the end; labels carry their own depths."""
    row_m = _si(view.hole_bottom) / ROWS
    labels = _labels(view, units, row_m)
    pipe = _pipe(view, row_m)
    yield _line(
        _mirrored(" " * (HALF - pipe) + "┃", 2 * pipe - 1, " "), f"stick-up {written(view.string.stick_up, units)}"
    )
    yield _line(_mirrored("─" * (HALF - pipe) + "┃", 2 * pipe - 1, " "), "ground level")
    for row in range(max(ROWS, max(labels) + 1)):
        drawn = _slice(view, (row + 0.5) * row_m, pipe) if row < ROWS else " " * (2 * HALF + 1)
        yield _line(drawn, labels.get(row, ""))


def _line(drawn: str, label: str) -> str:
    return f"    {drawn}  {label}"


def _mirrored(left: str, middle: int, fill: str) -> str:
    return f"{left}{fill * middle}{left[::-1]}"


def _si(quantity: Quantity) -> float:
    return quantity.si or 0.0


def _stretches(view: PlanView) -> tuple[Stretch, ...]:
    return view.log.stretches if view.log else ()


def _columns(view: PlanView, diameter: Quantity) -> int:
    drilled = [section.diameter for section in view.sections]
    widest = max(map(_si, (*drilled, *(part.diameter for part in _stretches(view)))))
    return min(max(1, round(_si(diameter) / widest * HALF)), HALF)


def _wall(view: PlanView, depth_m: float) -> int:
    """Columns from the middle to the wall."""
    section = next((part for part in view.sections if depth_m <= _si(part.bottom)), view.sections[-1])
    logged = next((part for part in _stretches(view) if depth_m <= _si(part.bottom)), None)
    return max(2, _columns(view, section.diameter if logged is None else logged.diameter))


def _pipe(view: PlanView, row_m: float) -> int:
    """Columns from the middle to the casing: to scale, but with a column of annulus even where it is a hair."""
    beside = [depth_m for row in range(ROWS) if (depth_m := (row + 0.5) * row_m) <= _si(view.string.shoe)]
    room = min((_wall(view, depth_m) for depth_m in beside), default=HALF) - 2
    return max(1, min(_columns(view, view.string.outer_diameter), room))


def _slice(view: PlanView, depth_m: float, pipe: int) -> str:
    """One row: the hole's walls, what fills the annulus, and the casing down to its shoe."""
    section = next((part for part in view.sections if depth_m <= _si(part.bottom)), view.sections[-1])
    wall, shade = _wall(view, depth_m), _shade(view, depth_m)
    outside = " " * (HALF - wall) + (ZONE if _in_zone(view, depth_m) else "║" if section.cased else "│")
    if depth_m > _si(view.string.shoe):
        return _mirrored(outside, 2 * wall - 1, shade)
    half = min(pipe, wall - 1)
    return _mirrored(f"{outside}{shade * (wall - half - 1)}┃", 2 * half - 1, " ")


def _in_zone(view: PlanView, depth_m: float) -> bool:
    """However thin, a zone marks the rows that it reaches into."""
    half_m = _si(view.hole_bottom) / ROWS / 2
    return any(_si(zone.top) < depth_m + half_m and _si(zone.bottom) > depth_m - half_m for zone in view.zones)


def _shade(view: PlanView, depth_m: float) -> str:
    for number, stage in enumerate(view.stages):
        if _si(stage.top) <= depth_m <= _si(stage.bottom):
            return SHADES[number % len(SHADES)]
    return "~" if depth_m >= _si(view.water_level) else " "


def _labels(view: PlanView, units: Units, row_m: float) -> dict[int, str]:
    """Row to words, each depth on its own row or the next one free."""
    marks: list[tuple[Quantity, str]] = [(view.water_level, "water")]
    if view.rock.si is not None:
        marks.append((view.rock, "rock"))
    marks += [(section.bottom, f"{written(section.diameter, units)} hole ends") for section in view.sections]
    marks.append((view.string.shoe, view.string.shoe_end))
    marks += [(zone.top, f"{ZONE} {zone.kind} to {written(zone.bottom, units)}") for zone in view.zones]
    marks += [
        (stage.top, f"{SHADES[number % len(SHADES)]} {plain(stage.name)} up to here")
        for number, stage in enumerate(view.stages)
    ]
    found: dict[int, str] = {}
    for depth, words in sorted(marks, key=lambda mark: _si(mark[0])):
        row = max(min(int(_si(depth) / row_m), ROWS - 1), max(found, default=-1) + 1)
        found[row] = f"{written(depth, units):>10}  {words}"[:LABEL]
    return found
