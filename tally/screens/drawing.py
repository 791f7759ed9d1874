"""The hole drawn to scale in depth with characters: a pure function of the view, for any width and height.

Across, the hole's width is to scale against its widest section; the casing keeps a fixed share, since at true scale the
annulus would be a hair.
"""

from __future__ import annotations

from dataclasses import dataclass

from tally.formats import Units, number
from tally.job.view.hole import GroutMark, HoleView
from tally.job.view.quantity import Kind, Quantity

IN_PLACE, PROBABLE, POSSIBLE, WATER, AIR = "█", "▓", "░", "·", " "
LEGEND = f"{IN_PLACE} grout  {PROBABLE} to likely  {POSSIBLE} to highest  {WATER} water"
PIPE = "║"
LABEL_WIDTH = 13


@dataclass(frozen=True, slots=True)
class _Rows:
    """Depth [m] at the middle of each row."""

    bottom_m: float
    count: int

    @property
    def step_m(self) -> float:
        return self.bottom_m / self.count

    def middle_m(self, row: int) -> float:
        return (row + 0.5) * self.step_m

    def of(self, depth_m: float) -> int:
        return min(max(int(depth_m / self.step_m), 0), self.count - 1)


def drawing(view: HoleView, width: int, height: int, units: Units) -> list[str]:
    """`height` lines of `width` characters: labels on the left, the hole on the right."""
    rows = _Rows(view.bottom_m, max(height - 1, 1))
    across = max(width - LABEL_WIDTH - 1, 9)
    across -= 1 - across % 2
    labels = _labels(view, rows, units)
    lines = [f"{'ground':>{LABEL_WIDTH}} {_surface(view, across)}"]
    for row in range(rows.count):
        lines.append(f"{labels.get(row, ''):>{LABEL_WIDTH}} {_across(view, rows, row, across)}")
    return [line[:width].ljust(width) for line in lines]


def _surface(view: HoleView, across: int) -> str:
    """Ground level, with the casing standing out of it."""
    if view.shoe_m <= 0:
        return "─" * across
    side = "─" * ((across - 5) // 2)
    return f"{side}{PIPE}   {PIPE}{side}"


def _across(view: HoleView, rows: _Rows, row: int, across: int) -> str:
    """One row of the hole: wall, annulus, pipe, bore, pipe, annulus, wall."""
    depth_m = rows.middle_m(row)
    widest_m = max(part.diameter_m for part in view.sections)
    part = next((part for part in view.sections if depth_m < part.bottom_m), view.sections[-1])
    pipe_half = 2
    room = (across - 3) // 2 - pipe_half
    annulus = max(1, round(room * (part.diameter_m - view.casing_m) / max(widest_m - view.casing_m, 1e-9)))
    annulus = min(annulus, room)
    outside = (":" if view.rock_m is not None and depth_m >= view.rock_m else " ") * (room - annulus)
    wall = "┃" if part.cased else "│"
    beside = _beside(view, depth_m)
    left, right = [beside] * annulus, [beside] * annulus
    if view.tremie_tip_m is not None and depth_m <= view.tremie_tip_m:
        left[0] = "╎"
    if view.shoe_m > 0 and depth_m <= view.shoe_m:
        if any(rows.of(mark_m) == row for mark_m in view.centralizers_m if mark_m >= 0):
            left[-1], right[0] = "<", ">"
        middle = PIPE + " " * (2 * pipe_half - 1) + PIPE
    else:
        middle = beside * (2 * pipe_half + 1)
    return f"{outside}{wall}{''.join(left)}{middle}{''.join(right)}{wall}{outside}"


def _beside(view: HoleView, depth_m: float) -> str:
    """What fills the hole beside the casing at this depth."""
    for mark in view.grout:
        cell = _grout_cell(mark, depth_m)
        if cell:
            return cell
    return WATER if depth_m >= view.water_m else AIR


def _grout_cell(mark: GroutMark, depth_m: float) -> str:
    if depth_m > mark.bottom_m or depth_m < mark.highest_m:
        return ""
    if depth_m >= mark.lowest_m:
        return IN_PLACE
    return PROBABLE if depth_m >= mark.likely_m else POSSIBLE


def _labels(view: HoleView, rows: _Rows, units: Units) -> dict[int, str]:
    """Text beside each row; where two fall on one row, the one that matters more."""
    labels: dict[int, str] = {}
    last = rows.count - 1

    def put(depth_m: float | None, word: str) -> None:
        if depth_m is None or depth_m < 0:
            return
        row = rows.of(min(depth_m, view.bottom_m))
        depth = number(Quantity(depth_m, Kind.DEPTH), units)
        for place in (row, row + 1, row - 1):
            if 0 <= place <= last and place not in labels:
                labels[place] = f"{word} {_short(depth)}"
                return

    if view.shoe_m > 0:
        put(view.shoe_m, "shoe")
    under_way = next((mark for mark in view.grout if mark.under_way), None)
    if under_way is not None and under_way.likely_m < under_way.bottom_m:
        put(under_way.likely_m, "top")
    put(view.tremie_tip_m, "tremie")
    put(view.bottom_m, "bottom")
    put(view.water_m, "water")
    put(view.rock_m, "rock")
    if view.shoe_m < view.target_m:
        put(view.target_m, "plan")
    return labels


def _short(depth: str) -> str:
    """One decimal is as fine as a row can show."""
    head, _, tail = depth.partition(".")
    return f"{head}.{tail[:1]}" if tail else head
