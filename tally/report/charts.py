"""The report's drawings as SVG. The only module that knows the drawing library, which is loaded when one is asked for.

Black and white: what is what shows by line, hatching and marker, never by colour. The same view gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from tally import formats
from tally.formats import Units
from tally.job.view.charted import Charts, LoadChart, Mark, PumpedChart
from tally.job.view.hole import HoleView
from tally.job.view.quantity import Kind, Quantity

if TYPE_CHECKING:
    from matplotlib.axes import Axes

HEIGHT_IN = 1.22
WIDTH_IN = 3.66
"""Of a row of drawings, as wide as a column of the page."""
TEXT_PT = 7.6
MARGIN_IN = {"left": 0.42, "right": 0.06, "bottom": 0.29, "top": 0.17}
TALL_PT = (HEIGHT_IN - MARGIN_IN["top"] - MARGIN_IN["bottom"]) * 72.0
"""Between the axes' lower and upper end."""
LINE_PT = 12
"""From a line of words at a mark to the next."""
HOLE_SHARE = 0.44
"""Of the hole's drawing in its row."""
LABEL_IN = 0.06
"""From the edge to the middle of what an axis is called."""
LEGEND_IN = 1.05
LINE_IN = 0.12
"""Width of a legend beside its axes; height of a line of one above them."""
FONT = "Libertinus Serif"
"""The page's own, which the typesetter has built in; the drawing library says where letters stand without it."""
STEPS = 160
"""Slices of a logged hole."""
HATCHES = ("////", "\\\\\\\\", "....", "xxxx")
CLOSE = 0.16
"""Share of the time axis within which words of two marks would cover each other."""
VERDICTS = {"as expected": "o", "low": "<", "high": ">"}
RETURNS = {"none": "x", "weak": "<", "full": "^"}
Room = tuple[float, float]
"""Beside and above the axes, in inches."""
STYLE: Any = {
    "font.family": "DejaVu Sans",
    "font.size": TEXT_PT,
    "axes.linewidth": 0.6,
    "xtick.major.width": 0.6,
    "ytick.major.width": 0.6,
    "xtick.major.size": 2.5,
    "ytick.major.size": 2.5,
    "hatch.linewidth": 0.4,
    "lines.linewidth": 1.0,
    "lines.markersize": 4.5,
    "legend.fontsize": TEXT_PT,
    "legend.frameon": False,
    "svg.hashsalt": "tally",
    "svg.fonttype": "none",
    "text.parse_math": False,
}


def get_ready() -> None:
    """Loads the drawing library, which takes longer than to draw."""
    import matplotlib.backends.backend_svg
    import matplotlib.figure  # noqa: F401


def drawings(view: Charts, units: Units) -> list[list[dict[str, Any]]]:
    """Rows of drawings, each with its SVG, its share of the row's width and words for whoever cannot see it."""
    import matplotlib

    with matplotlib.rc_context(STYLE):
        pumped = [_pumped(chart, units, 1.0) for chart in view.pumped]
        if view.load is None:
            return [[_hole(view, units, HOLE_SHARE)], *([chart] for chart in pumped)]
        return [
            [_hole(view, units, HOLE_SHARE), _load(view.load, units, 1.0 - HOLE_SHARE)],
            *([chart] for chart in pumped),
        ]


def _drawn(share: float, title: str, alt: str, draw: Callable[[Axes], Room]) -> dict[str, Any]:
    """`draw` says how much room its legend takes."""
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    width_in = WIDTH_IN * share
    figure = Figure(figsize=(width_in, HEIGHT_IN))
    FigureCanvasSVG(figure)
    axes = figure.add_axes((0.1, 0.1, 0.8, 0.8))
    beside_in, above_in = draw(axes)
    # Set by hand: to have margins worked out costs as much as to draw, and the library's letters are not the page's.
    left, bottom = MARGIN_IN["left"] / width_in, MARGIN_IN["bottom"] / HEIGHT_IN
    wide = 1.0 - left - (MARGIN_IN["right"] + beside_in) / width_in
    high = 1.0 - bottom - (MARGIN_IN["top"] + above_in) / HEIGHT_IN
    axes.set_position((left, bottom, wide, high))
    axes.xaxis.set_label_coords(min(left + wide / 2, 0.5), LABEL_IN / HEIGHT_IN, figure.transFigure)
    axes.yaxis.set_label_coords(LABEL_IN / width_in, bottom + high / 2, figure.transFigure)
    axes.xaxis.label.set_verticalalignment("center")
    axes.yaxis.label.set_verticalalignment("center")
    figure.text(0.02 / width_in, 1.0 - 0.02 / HEIGHT_IN, title, ha="left", va="top", weight="bold")
    out = io.StringIO()
    figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    return {"svg": out.getvalue().replace("'DejaVu Sans'", f"'{FONT}'"), "share": share, "alt": formats.plain(alt)}


def _scaled(values: Sequence[float], kind: Kind, units: Units) -> list[float]:
    return [formats.in_unit(value, kind, units) for value in values]


def _put(si: float, kind: Kind, units: Units) -> str:
    return formats.text(Quantity(si, kind), units)


# --- pumped against planned ---------------------------------------------------------------------------------------


def _pumped(chart: PumpedChart, units: Units, share: float) -> dict[str, Any]:
    def draw(axes: Axes) -> Room:
        minutes = [s / 60.0 for s, _ in chart.pumped]
        axes.plot(minutes, _scaled([m3 for _, m3 in chart.pumped], Kind.VOLUME, units), color="black", label="pumped")
        for m3, style, label in (
            (chart.planned_m3, "--", "planned"),
            (chart.planned_high_m3, ":", "planned, high"),
        ):
            axes.axhline(formats.in_unit(m3, Kind.VOLUME, units), color="black", lw=0.8, ls=style, label=label)
        if chart.due_high_m3 > chart.due_low_m3:
            low, high = _scaled((chart.due_low_m3, chart.due_high_m3), Kind.VOLUME, units)
            axes.axhspan(low, high, facecolor="0.87", lw=0.0, label="returns due")
        beside, said = _Beside(CLOSE * chart.pumped[-1][0]), ""
        for mark in chart.marks:
            words = _mark_words(mark, units)
            if mark.kind == "returns":
                words, said = ("" if words == said else words), words
            _mark(axes, mark, units, words, beside)
        axes.set_xlabel("minutes since the stage began")
        axes.set_ylabel(f"pumped, {formats.unit(Kind.VOLUME, units)}")
        axes.locator_params(axis="x", integer=True)
        axes.set_xlim(left=0.0, right=max(*minutes, 1.0) * 1.16)
        axes.set_ylim(bottom=0.0, top=axes.get_ylim()[1] * 1.04)
        _legend(axes, 1, loc="upper left", bbox_to_anchor=(1.0, 1.04))
        return LEGEND_IN, 0.0

    last_m3 = chart.pumped[-1][1]
    alt = f"Stage {chart.stage}: {_put(last_m3, Kind.VOLUME, units)} pumped, planned" + (
        f" {_put(chart.planned_m3, Kind.VOLUME, units)}"
    )
    return _drawn(share, f"Stage {chart.stage}: pumped against planned", alt, draw)


def _mark_words(mark: Mark, units: Units) -> str:
    if mark.kind == "tag":
        return _put(mark.depth_m or 0.0, Kind.DEPTH, units)
    return mark.words.partition(" ")[2] or mark.words if mark.kind == "returns" else ""


class _Beside:
    """Where the words of the marks go: below the curve, or to the upper left, where it leaves room as well; each out of
    the way of those just before."""

    def __init__(self, close_s: float) -> None:
        self._close_s = close_s
        self._last: dict[bool, tuple[float, int]] = {}

    def place(self, s: float, room_pt: float, *, above: bool) -> tuple[bool, int]:
        """Whether above, and how many lines off; not below where words would stand on the axis, `room_pt` under."""
        above = above or room_pt < LINE_PT * (self._line(s, above=False) + 1) + 4
        line = self._line(s, above=above)
        self._last[above] = s, line
        return above, line

    def _line(self, s: float, *, above: bool) -> int:
        last_s, line = self._last.get(above, (-1e9, 0))
        return line + 1 if s - last_s < self._close_s else 0


def _mark(axes: Axes, mark: Mark, units: Units, words: str, beside: _Beside) -> None:
    x, y = mark.s / 60.0, formats.in_unit(mark.pumped_m3, Kind.VOLUME, units)
    strength = mark.words.partition(" ")[0]
    shape, label = {
        "alarm": ("*", "alarm"),
        "tag": ("s", "tag, its depth"),
        "returns": (RETURNS.get(strength, "o"), f"returns {strength}"),
    }[mark.kind]
    fill = "black" if mark.kind == "returns" else "white"
    axes.plot(
        [x], [y], marker=shape, label=label, ls="", mec="black", mfc=fill, mew=0.8, ms=7.5 if shape == "*" else 4.5
    )
    if not words:
        return
    above, line = beside.place(mark.s, y / axes.get_ylim()[1] * TALL_PT, above=mark.kind == "tag")
    axes.annotate(
        words,
        (x, y),
        (-3, 4 + LINE_PT * line) if above else (3, -4 - LINE_PT * line),
        textcoords="offset points",
        ha="right" if above else "left",
        va="bottom" if above else "top",
        fontsize=TEXT_PT - 0.4,
        annotation_clip=False,
    )


def _legend(axes: Axes, columns: int, **place: Any) -> int:
    """A legend in so many columns, and its lines."""
    handles, labels = axes.get_legend_handles_labels()
    once = dict(zip(labels, handles, strict=True))
    axes.legend(
        once.values(),
        once.keys(),
        ncols=columns,
        handlelength=1.7,
        handletextpad=0.4,
        columnspacing=0.6,
        labelspacing=0.25,
        borderpad=0.1,
        borderaxespad=0.3,
        **place,
    )
    return -(-len(once) // columns)


# --- the hook -----------------------------------------------------------------------------------------------------


def _load(chart: LoadChart, units: Units, share: float) -> dict[str, Any]:
    unit = formats.unit(Kind.LOAD, units)

    def draw(axes: Axes) -> Room:
        depths = _scaled([m for m, _ in chart.expected], Kind.DEPTH, units)
        loads = _scaled([n for _, n in chart.expected], Kind.LOAD, units)
        axes.plot(loads, depths, color="black", marker=".", ms=3, label="expected")
        for verdict in dict.fromkeys(verdict for _, _, verdict in chart.read):
            rows = [(m, n) for m, n, said in chart.read if said == verdict]
            axes.plot(
                _scaled([n for _, n in rows], Kind.LOAD, units),
                _scaled([m for m, _ in rows], Kind.DEPTH, units),
                marker=VERDICTS.get(verdict, "d"),
                mfc="white",
                mec="black",
                mew=0.9,
                ls="",
                label="read" if verdict == "as expected" else f"read, {verdict}",
            )
        limit = formats.in_unit(chart.limit_n, Kind.LOAD, units)
        beyond = limit > 2.0 * max([*loads, *_scaled([n for _, n, _ in chart.read], Kind.LOAD, units)])
        if not beyond:
            axes.axvline(limit, color="black", lw=0.9, ls="--")
        axes.set_xlim(left=min(0.0, *loads))
        axes.set_ylim(bottom=max(depths) * 1.05, top=0.0)
        dashed = "" if beyond else "dashed: "
        axes.set_xlabel(f"hook load, {unit} ({dashed}{chart.limit_name} {_put(chart.limit_n, Kind.LOAD, units)})")
        axes.set_ylabel(f"shoe, {formats.unit(Kind.DEPTH, units)}")
        lines = _legend(axes, 2, loc="lower right", bbox_to_anchor=(1.03, 0.99))
        beside = all(verdict == "as expected" for _, _, verdict in chart.read)  # its words are short enough for that
        return 0.0, LINE_IN * (lines - beside)

    alt = f"Hook load expected and {len(chart.read)} readings against depth"
    return _drawn(share, "Hook load", alt, draw)


# --- the finished hole --------------------------------------------------------------------------------------------


def _hole(view: Charts, units: Units, share: float) -> dict[str, Any]:
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
        widest = _put(_widest_m(hole), Kind.DIAMETER, units)
        axes.set_xlabel(f"widths ×{times:.0f}, widest {widest}")
        return 0.0, 0.0

    shoe = _put(hole.shoe_m, Kind.DEPTH, units)
    alt = f"The hole to scale, {_put(hole.bottom_m, Kind.DEPTH, units)} deep, shoe at {shoe}"
    return _drawn(share, "The hole, to scale", alt, draw)


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
        _scaled([depth_m for depth_m, _ in points], Kind.DEPTH, units),
        [half / 2.0 for half in _scaled([wide_m for _, wide_m in points], Kind.DIAMETER, units)],
    )


def _grout(axes: Axes, view: Charts, units: Units, side: int) -> None:
    hole = view.hole
    casing = formats.in_unit(hole.casing_m, Kind.DIAMETER, units) / 2.0
    depths, halves = _walls(hole, units)
    for place, mark in enumerate(hole.grout):
        top, bottom = _scaled((mark.likely_m, mark.bottom_m), Kind.DEPTH, units)
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
    outer, bore = _scaled((hole.casing_m / 2.0, view.bore_m / 2.0), Kind.DIAMETER, units)
    top, shoe = _scaled((-hole.stick_up_m, hole.shoe_m), Kind.DEPTH, units)
    axes.fill_betweenx([top, shoe], side * bore, side * outer, color="black", lw=0)
    for depth in _scaled(hole.centralizers_m, Kind.DEPTH, units):
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
        depth, text = _scaled((depth_m, text_m), Kind.DEPTH, units)
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
