"""What the time went into so far, to be read over the screen."""

from __future__ import annotations

from textual.content import Content

from tally import formats
from tally.formats import Units
from tally.job.state import State
from tally.job.view import activity
from tally.job.view.entered import at_elapsed
from tally.job.view.quantity import Kind, Quantity
from tally.screens.reading import ReadScreen
from tally.screens.words import line

LATEST = 12
"""Spans that are listed one by one."""


def page(state: State, units: Units) -> ReadScreen:
    return ReadScreen("TIMES SO FAR", rows(state, units))


def rows(state: State, units: Units) -> list[Content]:
    """Totals by activity, which make up the session, then the latest spans."""

    def lasted(seconds: float) -> str:
        return formats.text(Quantity(seconds, Kind.DURATION), units)

    zone, spans = state.plan.job.time_zone, activity.spans(state)
    found = [line((f"{'activity':<36} {'lasted':>12} {'share':>6}", "bold underline"))]
    for total in activity.totals(state):
        share = formats.text(total.share, units)
        found.append(line(f"{total.activity.text:<36} {formats.text(total.lasted, units):>12} {share:>6}"))
    found += [line((f"{'the session so far':<36} {lasted(state.elapsed_s):>12}", "bold")), line("")]
    found.append(line((f"{'from':<5}  {'lasted':>12}  the latest, newest first", "bold underline")))
    for span in list(reversed(spans))[:LATEST]:
        said = "  (said)" if span.said else ""
        from_at = formats.clock(at_elapsed(state, span.from_s), zone)
        found.append(line(f"{from_at:<5}  {lasted(span.until_s - span.from_s):>12}  {span.activity.text}{said}"))
    return found
