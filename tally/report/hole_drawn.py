"""The finished hole, drawn to scale."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from tally import formats
from tally.formats import Units
from tally.job.view.charted import Charts
from tally.job.view.hole import HoleView
from tally.job.view.quantity import Kind, Quantity
from tally.report.drawn import HEIGHT_IN, MARGIN_IN, TEXT_PT, WIDTH_IN, Room, drawn, put, scaled

if TYPE_CHECKING:
    from matplotlib.axes import Axes

STEPS = 160
"""Slices of a logged hole."""
HATCHES = ("////", "\\\\\\\\", "....", "xxxx")


def hole_drawn(view: Charts, units: Units, share: float) -> dict[str, Any]:
    hole = view.hole
    depths, halves = _walls(hole, units)
    up = formats.in_unit(hole.stick_up_m, Kind.DEPTH, units)
    top, bottom = -max(up * 1.2, depths[-1] * 0.02), depths[-1] * 1.02
    left, right = -max(halves) * 1.15, max(halves) * 3.9

    def draw(axes: Axes) -> Room:
        for side in (-1, 1):
            axes.plot([side * half for half in halves], depths, color="black", lw=0.8)
            _grout(axes, view, units, side)
            _casing(axes, view, units, side)
        axes.plot([-halves[-1], halves[-1]], [depths[-1]] * 2, color="black", lw=0.8)
        axes.plot([left, max(halves) * 1.15], [0.0, 0.0], color="black", lw=1.2)
        _levels(axes, hole, units, max(halves))
        axes.set_ylim(bottom=bottom, top=top)
        axes.set_xlim(left, right)
        axes.set_xticks([])
        axes.set_ylabel(f"depth, {formats.unit(Kind.DEPTH, units)}")
        for spine in ("top", "right", "bottom"):
            axes.spines[spine].set_visible(False)
        # how much wider than deep a length is drawn
        tall_in = HEIGHT_IN - MARGIN_IN["top"] - MARGIN_IN["bottom"]
        wide_in = WIDTH_IN * share - MARGIN_IN["left"] - MARGIN_IN["right"]
        deep_m, across_m = (
            hole.bottom_m * (bottom - top) / depths[-1],
            _widest_m(hole) * (right - left) / max(halves) / 2,
        )
        times = (deep_m / tall_in) / (across_m / wide_in)
        widest = put(_widest_m(hole), Kind.DIAMETER, units)
        axes.set_xlabel(f"widths ×{times:.0f}, widest {widest}")
        return 0.0, 0.0

    shoe = put(hole.shoe_m, Kind.DEPTH, units)
    alt = f"The hole to scale, {put(hole.bottom_m, Kind.DEPTH, units)} deep, shoe at {shoe}"
    return drawn(share, "The hole, to scale", alt, draw)


def _widest_m(hole: HoleView) -> float:
    if hole.walls is None:
        return max(section.diameter_m for section in hole.sections)
    return max(hole.width_m(hole.bottom_m * at / STEPS, hole.bottom_m * (at + 1) / STEPS) for at in range(STEPS))


def _walls(hole: HoleView, units: Units) -> tuple[list[float], list[float]]:
    """Depths and half widths of the hole's wall from the top down."""
    points: list[tuple[float, float]] = []
    if hole.walls is None:
        for section in hole.sections:
            points += [(section.top_m, section.diameter_m), (section.bottom_m, section.diameter_m)]
    else:
        for step in range(STEPS):
            top_m, bottom_m = (hole.bottom_m * at / STEPS for at in (step, step + 1))
            points.append(((top_m + bottom_m) / 2.0, hole.width_m(top_m, bottom_m)))
        points = [(0.0, points[0][1]), *points, (hole.bottom_m, points[-1][1])]
    return (
        scaled([depth_m for depth_m, _ in points], Kind.DEPTH, units),
        [half / 2.0 for half in scaled([wide_m for _, wide_m in points], Kind.DIAMETER, units)],
    )


def _grout(axes: Axes, view: Charts, units: Units, side: int) -> None:
    hole = view.hole
    casing = formats.in_unit(hole.casing_m, Kind.DIAMETER, units) / 2.0
    depths, halves = _walls(hole, units)
    for place, mark in enumerate(hole.grout):
        top, bottom = scaled((mark.likely_m, mark.bottom_m), Kind.DEPTH, units)
        inside = [(depth, half) for depth, half in zip(depths, halves, strict=True) if top < depth < bottom]
        edge = [(top, _half_at(depths, halves, top)), *inside, (bottom, _half_at(depths, halves, bottom))]
        axes.fill_betweenx(
            [depth for depth, _ in edge],
            side * casing,
            [side * max(half, casing) for _, half in edge],
            facecolor="none",
            edgecolor="black",
            hatch=HATCHES[place % len(HATCHES)],
            lw=0.3,
        )


def _half_at(depths: Sequence[float], halves: Sequence[float], at: float) -> float:
    return next((half for depth, half in zip(depths, halves, strict=True) if depth >= at), halves[-1])


def _casing(axes: Axes, view: Charts, units: Units, side: int) -> None:
    hole = view.hole
    if hole.shoe_m <= 0:
        return
    outer, bore = scaled((hole.casing_m / 2.0, view.bore_m / 2.0), Kind.DIAMETER, units)
    top, shoe = scaled((-hole.stick_up_m, hole.shoe_m), Kind.DEPTH, units)
    axes.fill_betweenx([top, shoe], side * bore, side * outer, color="black", lw=0)
    for depth in scaled(hole.centralizers_m, Kind.DEPTH, units):
        axes.plot([side * outer * 1.12], [depth], marker="D", ms=2.2, color="black")


def _levels(axes: Axes, hole: HoleView, units: Units, widest: float) -> None:
    marks = [(hole.water_m, "water"), (hole.rock_m, "rock"), (hole.bottom_m, "bottom")]
    if hole.shoe_m > 0:
        marks.append((hole.shoe_m, "shoe"))
    marks += [(mark.likely_m, f"grout {place}") for place, mark in enumerate(hole.grout, start=1)]
    marks += [(zone.top_m, zone.kind) for zone in hole.zones]
    told = sorted((depth_m, words) for depth_m, words in marks if depth_m is not None)
    step_m = hole.bottom_m * (TEXT_PT / 72.0) / (HEIGHT_IN - MARGIN_IN["top"] - MARGIN_IN["bottom"])
    texts_m = _spread([depth_m for depth_m, _ in told], step_m, hole.bottom_m + step_m * 0.2)
    for (depth_m, words), text_m in zip(told, texts_m, strict=True):
        depth, text = scaled((depth_m, text_m), Kind.DEPTH, units)
        axes.annotate(
            f"{words} {formats.number(Quantity(depth_m, Kind.DEPTH), units)}",
            (widest, depth),
            (widest * 1.25, text),
            va="center",
            fontsize=TEXT_PT - 0.4,
            annotation_clip=False,
            arrowprops={"arrowstyle": "-", "lw": 0.4, "shrinkA": 0, "shrinkB": 0},
        )


def _spread(wanted: Sequence[float], step: float, lowest: float) -> list[float]:
    """Places from the top down, each at least a step below the one before and none below the lowest."""
    places: list[float] = []
    for place in wanted:
        places.append(max(place, places[-1] + step) if places else place)
    below = lowest + step
    for at in reversed(range(len(places))):
        places[at] = below = min(places[at], below - step)
    return places
