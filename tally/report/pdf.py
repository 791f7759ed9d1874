"""The day as PDF. The only module that knows the typesetter, which is loaded when a page is asked for."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
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
_BEYOND = re.compile("[\u0700-\u1dff\u2e80-\ufaff\U00010000-\U0010ffff]")
"""Writing that the built-in fonts do not draw: they hold Latin, Greek, Cyrillic, Hebrew, Arabic and symbols."""
_PAGE = re.compile(rb"/Type\s*/Page\b")
RUNNING = 90
"""Characters of the job's name on top of each page; the first page has all of it."""


def pdf(view: ReportView, units: Units, drawings: Sequence[Sequence[sheet.Part]]) -> bytes:
    """The report as a PDF document: the same view and drawings give the same bytes.

    Of the settings that take the fewest pages it is the roomiest.
    """
    with ThreadPoolExecutor() as at_once:  # the typesetter leaves Python alone meanwhile
        settings: tuple[sheet.Setting, ...] = ("roomy", "closest")
        roomy, closest = at_once.map(lambda setting: _set(view, units, drawings, setting), settings)
    if _pages(roomy) in (1, _pages(closest)):
        return roomy
    close = _set(view, units, drawings, "close")
    return close if _pages(close) == _pages(closest) else closest


def _set(view: ReportView, units: Units, drawings: Sequence[Sequence[sheet.Part]], setting: sheet.Setting) -> bytes:
    import typst

    data = json.dumps(_data(view, units, drawings, setting), ensure_ascii=False)
    template = resources.files("tally.report").joinpath("day.typ").read_bytes()
    # Without the machine's fonts the bytes are the same everywhere; writing that the built-in ones lack needs them.
    alone = _BEYOND.search(data) is None
    return bytes(typst.compile(template, sys_inputs={"day": data}, ignore_system_fonts=alone))


def _pages(document: bytes) -> int:
    """Good for telling which of two settings of the same words has fewer."""
    return len(_PAGE.findall(document))


def _data(
    view: ReportView, units: Units, drawings: Sequence[Sequence[sheet.Part]], setting: sheet.Setting
) -> sheet.Part:
    write = Writer(view.job.time_zone, units, view.since or view.opened_at)
    paper: sheet.Paper = "us-letter" if units == "us" else "a4"
    name = formats.plain(view.job.name)
    short = name if len(name) <= RUNNING else name[: RUNNING - 1] + "…"
    invented = f"{day.INVENTED} · " if view.job.invented else ""
    return {
        "title": name,
        "paper": paper,
        "setting": setting,
        "margin": sheet.MARGIN_PT,
        "gap": sheet.GAP_PT,
        "long": sheet.LONG_TABLE,
        "fonts": list(FONTS),
        "running": sheet.shown(f"{invented}{short} · {day.days(view, write)}"),
        "digest": view.digest or formats.UNKNOWN,
        "rests_on": sheet.shown(f"{view.entries:,} entries · tally {view.program}"),
        "estimate": ESTIMATE,
        "parts": sheet.parts(day.blocks(view, units), drawings, setting),
    }
