"""One drawing of the report as SVG: its size, margins, letters and lines, whatever is drawn in it.

Black and white: what is what shows by line, hatching and marker, never by colour. The same view gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from tally import formats
from tally.formats import Units
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
LABEL_IN = 0.06
"""From the edge to the middle of what an axis is called."""
FONT = "Libertinus Serif"
"""The page's own, which the typesetter has built in; the drawing library says where letters stand without it."""
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


def drawn(share: float, title: str, alt: str, draw: Callable[[Axes], Room]) -> dict[str, Any]:
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


def scaled(values: Sequence[float], kind: Kind, units: Units) -> list[float]:
    return [formats.in_unit(value, kind, units) for value in values]


def put(si: float, kind: Kind, units: Units) -> str:
    return formats.text(Quantity(si, kind), units)
