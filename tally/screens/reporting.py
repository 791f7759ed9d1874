"""The day's report from a screen: looked at as text, or written beside the session. The screen goes on meanwhile."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable
from pathlib import Path
from typing import TYPE_CHECKING, Literal, Protocol, TypeVar

from tally.formats import Units
from tally.screens.pick import PickScreen
from tally.screens.reading import ReadScreen

if TYPE_CHECKING:
    from tally.screens.work import WorkScreen

Form = Literal["pdf", "md"]
Look = Literal["told", "ruled"]
Made = TypeVar("Made")
BEAT_S = 0.5
BAR = 8


class Paperwork(Protocol):
    """Whoever can make the report of the session on screen. Takes its time: never called in the screen's own thread."""

    def told(self, units: Units) -> list[str]: ...

    def ruled(self, units: Units) -> list[str]: ...

    def write(self, form: Form, units: Units) -> Path: ...


class Reporting:
    """Asks what is wanted, has it made, and says where it is."""

    CHOICES: tuple[tuple[str, Form | Look], ...] = (
        ("look at it here", "told"),
        ("write it as PDF, to print and sign", "pdf"),
        ("write it as Markdown", "md"),
        ("what it shows of the rule files that the plan names", "ruled"),
    )

    def __init__(self, screen: WorkScreen) -> None:
        self._screen = screen

    def ask(self) -> None:
        paperwork = self._screen.tally.paperwork
        if paperwork is None:
            self._screen.say("no session file here to report on; tally report FILE writes one")
            return

        def chosen(place: int | str | None) -> None:
            if isinstance(place, int):
                work = self._made(paperwork, self.CHOICES[place][1])
                self._screen.run_worker(work, group="report", exclusive=True, exit_on_error=False)

        remark = "Of everything that is saved up to now; it is written beside the session."
        labels = [label for label, _ in self.CHOICES]
        self._screen.app.push_screen(PickScreen("The day's report", labels, remark=remark), chosen)

    async def _made(self, paperwork: Paperwork, form: Form | Look) -> None:
        units = self._screen.tally.units
        try:
            if form == "told" or form == "ruled":
                make = paperwork.told if form == "told" else paperwork.ruled
                told = await self._progress(asyncio.to_thread(make, units))
                self._screen.say("")
                title = "The day's report up to now" if form == "told" else "Rule notes up to now"
                self._screen.app.push_screen(ReadScreen(title, told))
            else:
                path = await self._progress(asyncio.to_thread(paperwork.write, form, units))
                self._screen.say(f"✓ report written to {path}")
        except Exception as fault:
            # Whatever went wrong, the record is not touched by it.
            self._screen.say(f"✗ the report was not made: {fault}", "bold")

    async def _progress(self, work: Awaitable[Made]) -> Made:
        """Says that it goes on, beat by beat: how long it takes nobody knows beforehand."""
        task, beats = asyncio.ensure_future(work), 0
        while not task.done():
            done = beats % (BAR + 1)
            self._screen.say(f"… making the report {'■' * done}{'·' * (BAR - done)} {beats * BEAT_S:.0f} s")
            await asyncio.wait({task}, timeout=BEAT_S)
            beats += 1
        return task.result()
