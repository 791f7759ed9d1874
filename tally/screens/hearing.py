"""The instruments of a plan listened to one after another before any job: nothing is recorded, nothing is asked."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen
from textual.widgets import Static

from tally.job.plan import Plan
from tally.job.wired import Wired, Wiring
from tally.live.picture import Picture
from tally.live.trial import Trial
from tally.screens import keys, words
from tally.screens.keyline import KeyLine
from tally.screens.listening import drawn
from tally.screens.words import line

if TYPE_CHECKING:
    from tally.screens.start import StartApp

TICK_S = 0.25


def instruments(plan: Plan) -> list[tuple[str, Wired]]:
    """What it is, and how it is wired; the meter that counts first."""
    found: list[tuple[str, Wired]] = [("the meter that counts grout", plan.meter)] if plan.meter else []
    return [*found, *((f"{one.name}, {one.measures}", one) for one in plan.instruments)]


class HearScreen(Screen[None]):
    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "go(-1)", show=False),
        Binding("down", "go(1)", show=False),
        Binding("escape,enter", "back", show=False),
    ]

    def __init__(self, plan: Plan) -> None:
        super().__init__()
        self._plan, self._found, self._at = plan, instruments(plan), 0
        self._trial, self._picture = Trial(), Picture()

    def compose(self) -> ComposeResult:
        yield Static(id="header")
        yield Static(id="heard")
        yield KeyLine(id="start-keys")

    def on_mount(self) -> None:
        self.set_interval(TICK_S, self._tick)
        self._listen()

    def on_unmount(self) -> None:
        self._trial.stop()

    def on_resize(self) -> None:
        self._draw()

    def action_go(self, step: int) -> None:
        self._at = min(max(self._at + step, 0), len(self._found) - 1)
        self._listen()

    def action_back(self) -> None:
        self._trial.stop()
        self.dismiss()

    def _listen(self) -> None:
        wired = self._found[self._at][1]
        self._trial.listen(Wiring(wired.port, wired.baud, wired.bits, bool(wired.registers), wired, wired.pattern))
        self._draw()

    def _tick(self) -> None:
        if self._trial.picture is not self._picture:
            self._picture = self._trial.picture
            self._draw()

    def _draw(self) -> None:
        start = cast("StartApp", self.app)
        panel = self.query_one("#heard", Static)
        head = line((f" {self._plan.job.name}", "bold"), "   its instruments, listened to; nothing is recorded")
        self.query_one("#header", Static).update(head.truncate(max(self.app.size.width, 20), ellipsis=True))
        width, room = max(panel.size.width, 20), max(panel.size.height, 4)
        rows = []
        for place, (name, wired) in enumerate(self._found):
            here = place == self._at
            told = words.cut(f" {name} on {wired.port}", width - 2)
            rows.append(line("▸" if here else " ", (told, "bold reverse" if here else "")))
        rows = [*rows[max(0, self._at - 5) :][:6], line("")]
        shown = drawn(self._picture, width, room - len(rows), self._plan.job.units)
        panel.update(words.lines([*rows, *shown]))
        self.query_one(KeyLine).show((), keys.mapped(keys.HEAR, start.keymap))
