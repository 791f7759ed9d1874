"""The day as PDF. The only module that knows the typesetter, which is loaded when a page is asked for."""

from __future__ import annotations

import json
from collections.abc import Sequence
from importlib import resources

from tally import formats
from tally.formats import Units
from tally.job.view.report import ReportView
from tally.report import day, sheet
from tally.report.writer import Writer

ESTIMATE = (
    "A computed number is an estimate: measure, tag and look."
    " The local code, the makers' ratings and the licensed contractor decide."
)
FONTS = ("Libertinus Serif", "DejaVu Sans Mono")
RUNNING = 90
"""Characters of the job's name on top of each page; the first page has all of it."""


def pdf(view: ReportView, units: Units, drawings: Sequence[Sequence[sheet.Part]]) -> bytes:
    """The report as a PDF document: the same view and drawings give the same bytes."""
    import typst

    return bytes(
        typst.compile(
            resources.files("tally.report").joinpath("day.typ").read_bytes(),
            sys_inputs={"day": json.dumps(_data(view, units, drawings), ensure_ascii=False)},
            ignore_system_fonts=True,
        )
    )


def _data(view: ReportView, units: Units, drawings: Sequence[Sequence[sheet.Part]]) -> sheet.Part:
    write = Writer(view.job.time_zone, units, view.since or view.opened_at)
    paper: sheet.Paper = "us-letter" if units == "us" else "a4"
    name = formats.plain(view.job.name)
    short = name if len(name) <= RUNNING else name[: RUNNING - 1] + "…"
    invented = f"{day.INVENTED} · " if view.job.invented else ""
    return {
        "title": name,
        "paper": paper,
        "fonts": list(FONTS),
        "running": sheet.shown(f"{invented}{short} · {day.days(view, write)}"),
        "digest": view.digest or formats.UNKNOWN,
        "rests_on": sheet.shown(f"{view.entries:,} entries · tally {view.program}"),
        "estimate": ESTIMATE,
        "parts": sheet.parts(day.blocks(view, units), paper, drawings),
    }
