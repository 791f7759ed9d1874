"""The curve of pumped against planned. The plotting library is loaded when the curve is first asked for."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.strip import Strip
from textual.widget import Widget
from textual.widgets import Static

from tally import formats
from tally.formats import Units
from tally.job.view.charted import PumpedChart, thinned
from tally.job.view.quantity import Kind, Quantity
from tally.screens import words
from tally.screens.words import line

if TYPE_CHECKING:
    from textual_plot import PlotWidget

REDRAWN_S = 1.0
LABEL_WIDTH = 10
"""The plot's own: changed, it lays itself out anew, and not always before it is drawn."""
MARKS = {"returns": "o", "tag": "T", "alarm": "!"}
DOTS = 2
"""Points of the curve that a column holds."""


class CurvePane(Vertical):
    """One line of figures and the plot under it."""

    def __init__(self) -> None:
        super().__init__(id="curve")
        self._plot: PlotWidget | None = None
        self._drawn: tuple[object, ...] = ()
        self._drawn_s = 0.0
        self._trouble = ""
        self._loading = False
        self._shown: tuple[PumpedChart | None, Units] | None = None

    def compose(self) -> ComposeResult:
        yield Static(id="curve-line")

    async def load(self) -> None:
        """The plot; importing it takes a while and is done in a thread."""
        if self._plot is not None or self._loading:
            return
        self._loading = True
        try:
            module: Any = await asyncio.to_thread(__import__, "textual_plot")
            plot = _plot_of(module)(id="plot-widget", allow_pan_and_zoom=False)
            plot.can_focus = False
            await self.mount(plot)
            # What is drawn before the plot has its size stands crooked.
            self.call_after_refresh(self.call_after_refresh, self._ready, plot)
        except Exception as fault:  # the figures beside it say the same
            self._trouble = f"the curve cannot be drawn here: {type(fault).__name__}: {fault}"
        self._loading = False

    def show(self, chart: PumpedChart | None, units: Units) -> None:
        """Once a second at most, unless it is another stage, size or unit."""
        self._shown = chart, units
        look = (chart and chart.stage, units, self.size, self._plot, self._trouble, self.app.theme)
        now_s = time.monotonic()
        if look == self._drawn and now_s - self._drawn_s < REDRAWN_S:
            return
        self._drawn, self._drawn_s = look, now_s
        head = self._trouble or (
            "no stage begun yet" if chart is None else told(chart, units, max(self.size.width, 20))
        )
        self.query_one("#curve-line", Static).update(words.lines([line(row) for row in head.split("\n")]))
        if chart is not None and self._plot is not None:
            self._draw(self._plot, chart, units)

    def _ready(self, plot: PlotWidget) -> None:
        self._plot = plot
        self.on_resize()

    def on_resize(self) -> None:
        if self._shown is not None:
            self.show(*self._shown)

    def _draw(self, plot: PlotWidget, chart: PumpedChart, units: Units) -> None:
        from textual_plot import HiResMode

        # The theme's own: the style's variables follow a change of theme a little later.
        ink = self.app.current_theme.foreground or "white"

        def shown(volume_m3: float) -> float:
            return formats.in_unit(volume_m3, Kind.VOLUME, units)

        points = thinned(chart.pumped, max(self.size.width - LABEL_WIDTH, 10) * DOTS)
        last_min = max(points[-1][0] / 60.0, 1.0)
        levels = levels_m3(chart, max(self.size.height - 3 - 5 - 2, 2))
        top = shown(max(chart.planned_high_m3, points[-1][1], chart.due_high_m3)) * 1.05
        plot.clear()
        plot.set_xlimits(0.0, last_min * 1.05)
        plot.set_ylimits(0.0, top)
        plot.set_y_formatter(_labels({shown(level_m3): label for level_m3, label in levels}))
        for level_m3, _ in levels[1:]:
            across = [last_min * 1.05 * place / 24 for place in range(25)]
            plot.scatter(across, [shown(level_m3)] * len(across), marker="·", marker_style=ink)
        xs, ys = [at_s / 60.0 for at_s, _ in points], [shown(m3) for _, m3 in points]
        plot.plot(xs, ys, line_style=f"bold {ink}", hires_mode=HiResMode.BRAILLE)
        for mark in chart.marks:
            plot.scatter([mark.s / 60.0], [shown(mark.pumped_m3)], MARKS.get(mark.kind, "?"), f"bold {ink}")


def _plot_of(module: Any) -> Any:
    """The library's plot, every line of it styled from its first frame on."""

    class Plot(module.PlotWidget):  # type: ignore[misc]
        def compose(self) -> ComposeResult:
            for part in super().compose():
                part.render_line = _styled(part)
                yield part

    return Plot


def _styled(canvas: Widget) -> Callable[[int], Strip]:
    """Where no colour is added, a piece without any style, as the plot has them, would end the program."""
    render_line = canvas.render_line

    def styled(y: int) -> Strip:
        strip, plain = render_line(y), canvas.rich_style
        return Strip([piece._replace(style=piece.style or plain) for piece in strip], strip.cell_length)

    return styled


def told(chart: PumpedChart, units: Units, width: int) -> str:
    """The curve's figures, for whoever does not read it off."""

    def show(volume_m3: float) -> str:
        return formats.text(Quantity(volume_m3, Kind.VOLUME), units)

    pumped_m3 = chart.pumped[-1][1]
    rows = [
        f"STAGE {chart.stage}  pumped {show(pumped_m3)}, planned {show(chart.planned_m3)},"
        f" high {show(chart.planned_high_m3)}",
        f"returns due {show(chart.due_low_m3)} to {show(chart.due_high_m3)}",
        "across: minutes of the stage   o returns  T tagged  ! alarm",
    ]
    return "\n".join(words.cut(row, width) for row in rows)


def levels_m3(chart: PumpedChart, rows: int) -> list[tuple[float, str]]:
    """Volumes that the curve is read against, lowest first; of two on one row the one that matters more."""
    wanted = [
        (0.0, "0"),
        (chart.planned_m3, "plan"),
        (chart.due_high_m3, "over"),
        (chart.planned_high_m3, "high"),
        (chart.due_low_m3, "due"),
    ]
    least_m3 = max(level_m3 for level_m3, _ in wanted) * 1.05 * 1.5 / max(rows, 1)
    kept: list[tuple[float, str]] = []
    for level_m3, label in wanted:
        if all(abs(level_m3 - other_m3) >= least_m3 for other_m3, _ in kept):
            kept.append((level_m3, label))
    return sorted(kept)


def _short(volume: float) -> str:
    return f"{volume:.0f}" if volume < 9_999.5 else f"{volume / 1_000:.0f}k"


def _labels(named: dict[float, str]) -> Any:
    """The axis, its ticks at the named volumes."""
    from textual_plot import AxisFormatter

    class Named(AxisFormatter):
        def get_ticks(self, min_: float, max_: float, max_ticks: int = 8) -> list[float]:
            return [tick for tick in named if min_ <= tick <= max_]

        def get_labels_for_ticks(self, ticks: Sequence[float]) -> list[str]:
            return [named[tick] if not tick else f"{named[tick]} {_short(tick)}" for tick in ticks]

    return Named()
