"""The hole drawn to scale in depth with characters: a pure function of the view, for any width and height.

Across, the hole's width is to scale against its widest section; the casing keeps a fixed share, since at true scale the
annulus would be a hair.
"""

from __future__ import annotations

from dataclasses import dataclass

from tally.formats import Units
from tally.job.view.hole import GroutMark, HoleView
from tally.screens.words import one_decimal

IN_PLACE, PROBABLE, POSSIBLE, WATER, AIR = "█", "▓", "░", "·", " "
PIPE, ROCK, ZONE = "║", ":", "≈"
LEGEND = (
    f"{IN_PLACE} grout  {PROBABLE} to likely  {POSSIBLE} to highest  {WATER} water  {ROCK} rock"
    f"  {ZONE} known zone  <> centralizer"
)
ONE_DECIMAL_M = 0.05
LABEL_WIDTH = 13
ALMOST_M = 1e-6


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

    def widths_m(self, view: HoleView) -> list[float]:
        return [view.width_m(row * self.step_m, (row + 1) * self.step_m) for row in range(self.count)]

    def of(self, depth_m: float) -> int:
        return min(max(int(depth_m / self.step_m), 0), self.count - 1)


def drawing(view: HoleView, width: int, height: int, units: Units) -> list[str]:
    """`height` lines of `width` characters: labels on the left, the hole on the right."""
    rows = _Rows(view.bottom_m, max(height - 1, 1))
    across = max(width - LABEL_WIDTH - 1, 9)
    across -= 1 - across % 2
    labels = _labels(view, rows, units)
    widths_m = rows.widths_m(view)
    widest_m = max(*widths_m, *(part.diameter_m for part in view.sections))
    lines = [f"{'ground':>{LABEL_WIDTH}} {_surface(view, across)}"]
    for row in range(rows.count):
        room_share = (widths_m[row] - view.casing_m) / max(widest_m - view.casing_m, 1e-9)
        lines.append(f"{labels.get(row, ''):>{LABEL_WIDTH}} {_across(view, rows, row, across, room_share)}")
    return [line[:width].ljust(width) for line in lines]


def _surface(view: HoleView, across: int) -> str:
    """Ground level, with the casing standing out of it."""
    if view.shoe_m <= 0:
        return "─" * across
    side = "─" * ((across - 5) // 2)
    return f"{side}{PIPE}   {PIPE}{side}"


def _across(view: HoleView, rows: _Rows, row: int, across: int, room_share: float) -> str:
    """One row of the hole: wall, annulus, pipe, bore, pipe, annulus, wall. The widest annulus has a share of 1."""
    depth_m = rows.middle_m(row)
    part = next((part for part in view.sections if depth_m < part.bottom_m), view.sections[-1])
    pipe_half = 2
    # One column of ground stays on each side, so that rock can be seen.
    room = max((across - 3) // 2 - pipe_half - 1, 1)
    annulus = max(1, round(room * room_share))
    annulus = min(annulus, room)
    side = (across - 3) // 2 - pipe_half - annulus
    outside = (ROCK if view.rock_m is not None and depth_m >= view.rock_m else " ") * side
    wall = ZONE if _in_zone(view, rows, row) else "┃" if part.cased else "│"
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


def _in_zone(view: HoleView, rows: _Rows, row: int) -> bool:
    """However thin, a zone marks the rows that it reaches into."""
    return any(rows.of(zone.top_m) <= row <= rows.of(zone.bottom_m - ALMOST_M) for zone in view.zones)


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


def _label(word: str, depth: str) -> str:
    """A kind of zone that is too long beside a long number is a zone."""
    whole = f"{word} {depth}"
    return whole if len(whole) <= LABEL_WIDTH else f"zone {depth}"


def _labels(view: HoleView, rows: _Rows, units: Units) -> dict[int, str]:
    """Text beside each row, from the top down as the depths are; where there is no room, what matters more."""
    under_way = next((mark for mark in view.grout if mark.under_way and mark.likely_m < mark.bottom_m), None)
    marks: list[tuple[float | None, str]] = [
        (view.shoe_m if view.shoe_m > 0 else None, "shoe"),
        (under_way.likely_m if under_way else None, "top"),
        (view.tremie_tip_m, "tremie"),
        (view.target_m if view.shoe_m < view.target_m - ONE_DECIMAL_M else None, "plan"),
        (view.bottom_m, "bottom"),
        (view.water_m, "water"),
        (view.rock_m, "rock"),
        *((zone.top_m, zone.kind) for zone in view.zones),
    ]
    known = [(depth_m, word) for depth_m, word in marks if depth_m is not None and depth_m >= 0][: rows.count]
    known.sort(key=lambda mark: mark[0])
    places = [rows.of(depth_m) for depth_m, _ in known]
    for at in range(1, len(places)):
        places[at] = max(places[at], places[at - 1] + 1)
    for at in range(len(places) - 1, -1, -1):
        places[at] = min(places[at], rows.count - len(places) + at)
    words = [_label(word, one_decimal(depth_m, units)) for depth_m, word in known]
    return dict(zip(places, words, strict=True))
