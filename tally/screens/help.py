"""Keys, what the numbers mean, cautions."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from tally.formats import Units
from tally.job.state import State
from tally.screens import keys, words
from tally.screens.drawing import LEGEND
from tally.screens.keys import Key
from tally.screens.words import line
from tally.screens.work import WorkScreen

MEANINGS = (
    "SHOE DEPTH is the string's length less its stick-up, along the hole from ground level.",
    "EXPECTED hook load: weight in air less the lift of water or grout, vertical, without drag.",
    "PLANNED volume: annulus by hole size, its allowance, and what stays in the line.",
    "TOP: likely, lowest (worst case) and highest hold the true top about four times in five.",
    "RETURNS are due once the annulus above the water is full; past the high figure they are overdue.",
    "A number with a dash is not known. A saved entry is on the disk; a correction never hides.",
)
CAUTIONS = (
    "Wet cement burns without pain at first: alkali-proof gloves, goggles, wash at once.",
    "Cement and rock dust carry silica. Weld fumes, hot metal: collect rod ends.",
    "Nobody under a hung load. This is no load indicator and holds no brake.",
    "Bleed pressurised hoses before they are broken. Setting grout heats plastic casing.",
    "Numbers here are estimates: measure, tag and look. The local code, the makers' ratings",
    "and the licensed contractor decide.",
)


class HelpScreen(WorkScreen):
    OWN_ASK = None

    def body(self) -> ComposeResult:
        with VerticalScroll(id="list"):
            yield Static(words.lines(_help()), id="text")

    def draw(self, state: State, units: Units) -> None:
        """The help is the same whatever happens."""

    def on_screen_resume(self) -> None:
        super().on_screen_resume()
        self.query_one(VerticalScroll).focus()


def _help() -> list[Content]:
    rows = _table("ANYWHERE", keys.PLACES)
    rows += _table("CASING (F2)", keys.CASING)
    rows += _table("GROUT (F3)", keys.GROUT)
    rows += _table("LOG (F4)", keys.LOG)
    rows += [line(("WHAT THE NUMBERS MEAN", "bold")), *(line(f"  {text}") for text in MEANINGS), line(f"  {LEGEND}")]
    rows += [line(("CAUTIONS", "bold")), *(line(f"  {text}") for text in CAUTIONS)]
    return rows


def _table(title: str, table: Sequence[Key]) -> list[Content]:
    return [line((title, "bold")), *(line("  ", (f"{key.face:>4}", "bold"), f"  {key.help}") for key in table)]
