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
    "Numbers here are estimates: measure, tag and look. The local code, the makers' ratings and the licensed"
    " contractor decide.",
)


class HelpScreen(WorkScreen):
    OWN_KEYS = keys.HELP

    def __init__(self) -> None:
        super().__init__()
        self._width = 0

    def body(self) -> ComposeResult:
        with VerticalScroll(id="list", can_focus=False):
            yield Static(id="text")

    def draw(self, state: State, units: Units) -> None:
        """The help is the same whatever happens; only the screen may grow."""
        width = max(self.query_one(VerticalScroll).size.width - 2, 20)
        if width != self._width:
            self._width = width
            self.query_one("#text", Static).update(words.lines(self._told(width)))

    def _told(self, width: int) -> list[Content]:
        def table(title: str, table: Sequence[Key]) -> list[Content]:
            return _table(title, keys.mapped(table, self.tally.keymap), width)

        rows = table("ANYWHERE", keys.PLACES)
        if self.tally.player is not None:
            rows += table("REPLAY", keys.REPLAY)
        elif self.tally.follower is not None:
            rows += table("WATCHING: another program records, nothing is entered here", keys.WATCH)
        else:
            rows += table(f"CASING ({self.tally.face('casing')})", keys.CASING)
            rows += table(f"GROUT ({self.tally.face('grout')})", keys.GROUT)
            rows += table(f"LOG ({self.tally.face('log')})", keys.LOG)
        return rows + _meanings(width)


def _meanings(width: int) -> list[Content]:
    told = "Esc leaves a question. After a refusal that asks, Enter once more records it all the same."
    rows = [line(part) for part in words.folded(told, width, "  ")]
    for title, texts in (("WHAT THE NUMBERS MEAN", (*MEANINGS, LEGEND)), ("CAUTIONS", CAUTIONS)):
        rows.append(line((title, "bold")))
        rows += [line(part) for text in texts for part in words.folded(text, width, "  ")]
    return rows


def _table(title: str, table: Sequence[Key], width: int) -> list[Content]:
    rows = [line((title, "bold"))]
    for key in table:
        first, *rest = words.folded(key.help, width - 22)
        rows.append(line("  ", (f"{key.face:>5}", "bold reverse"), f"  {key.label:<15}{first}"))
        rows += [line(" " * 24 + part) for part in rest]
    return rows
