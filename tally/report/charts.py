"""The report's drawings: the finished hole, hook load against depth, pumped against planned.

The drawing library is known to this room's three modules of drawings alone, and loaded when one is asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tally import formats
from tally.formats import Units
from tally.job.view.charted import Charts, LoadChart, Mark, PumpedChart
from tally.job.view.quantity import Kind
from tally.report.drawn import STYLE, TALL_PT, TEXT_PT, Room, drawn, put, scaled
from tally.report.hole_drawn import hole_drawn

if TYPE_CHECKING:
    from matplotlib.axes import Axes

LINE_PT = 12
"""From a line of words at a mark to the next."""
HOLE_SHARE = 0.44
"""Of the hole's drawing in its row."""
LEGEND_IN = 1.05
LINE_IN = 0.12
"""Width of a legend beside its axes; height of a line of one above them."""
CLOSE = 0.16
"""Share of the time axis within which words of two marks would cover each other."""
VERDICTS = {"as expected": "o", "low": "<", "high": ">"}
RETURNS = {"none": "x", "weak": "<", "full": "^"}


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
            return [[hole_drawn(view, units, HOLE_SHARE)], *([chart] for chart in pumped)]
        return [
            [hole_drawn(view, units, HOLE_SHARE), _load(view.load, units, 1.0 - HOLE_SHARE)],
            *([chart] for chart in pumped),
        ]


# --- pumped against planned ---------------------------------------------------------------------------------------


def _pumped(chart: PumpedChart, units: Units, share: float) -> dict[str, Any]:
    def draw(axes: Axes) -> Room:
        minutes = [s / 60.0 for s, _ in chart.pumped]
        axes.plot(minutes, scaled([m3 for _, m3 in chart.pumped], Kind.VOLUME, units), color="black", label="pumped")
        for m3, style, label in (
            (chart.planned_m3, "--", "planned"),
            (chart.planned_high_m3, ":", "planned, high"),
        ):
            axes.axhline(formats.in_unit(m3, Kind.VOLUME, units), color="black", lw=0.8, ls=style, label=label)
        if chart.due_high_m3 > chart.due_low_m3:
            low, high = scaled((chart.due_low_m3, chart.due_high_m3), Kind.VOLUME, units)
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
    alt = f"Stage {chart.stage}: {put(last_m3, Kind.VOLUME, units)} pumped, planned" + (
        f" {put(chart.planned_m3, Kind.VOLUME, units)}"
    )
    return drawn(share, f"Stage {chart.stage}: pumped against planned", alt, draw)


def _mark_words(mark: Mark, units: Units) -> str:
    if mark.kind == "tag":
        return put(mark.depth_m or 0.0, Kind.DEPTH, units)
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
        depths = scaled([m for m, _ in chart.expected], Kind.DEPTH, units)
        loads = scaled([n for _, n in chart.expected], Kind.LOAD, units)
        axes.plot(loads, depths, color="black", marker=".", ms=3, label="expected")
        for verdict in dict.fromkeys(verdict for _, _, verdict in chart.read):
            rows = [(m, n) for m, n, said in chart.read if said == verdict]
            axes.plot(
                scaled([n for _, n in rows], Kind.LOAD, units),
                scaled([m for m, _ in rows], Kind.DEPTH, units),
                marker=VERDICTS.get(verdict, "d"),
                mfc="white",
                mec="black",
                mew=0.9,
                ls="",
                label="read" if verdict == "as expected" else f"read, {verdict}",
            )
        limit = formats.in_unit(chart.limit_n, Kind.LOAD, units)
        beyond = limit > 2.0 * max([*loads, *scaled([n for _, n, _ in chart.read], Kind.LOAD, units)])
        if not beyond:
            axes.axvline(limit, color="black", lw=0.9, ls="--")
        axes.set_xlim(left=min(0.0, *loads))
        axes.set_ylim(bottom=max(depths) * 1.05, top=0.0)
        dashed = "" if beyond else "dashed: "
        axes.set_xlabel(f"hook load, {unit} ({dashed}{chart.limit_name} {put(chart.limit_n, Kind.LOAD, units)})")
        axes.set_ylabel(f"shoe, {formats.unit(Kind.DEPTH, units)}")
        lines = _legend(axes, 2, loc="lower right", bbox_to_anchor=(1.03, 0.99))
        beside = all(verdict == "as expected" for _, _, verdict in chart.read)  # its words are short enough for that
        return 0.0, LINE_IN * (lines - beside)

    alt = f"Hook load expected and {len(chart.read)} readings against depth"
    return drawn(share, "Hook load", alt, draw)
