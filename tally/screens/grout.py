"""The grouting."""

from __future__ import annotations

from dataclasses import replace

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Digits, Static

from tally import formats
from tally.formats import Units
from tally.job import checklist
from tally.job.state import State
from tally.job.view.charted import last_pumped
from tally.job.view.grout import GroutView, grout
from tally.job.view.hole import hole
from tally.job.view.quantity import Kind, Quantity
from tally.job.view.stage import StageView
from tally.screens import asks, grout_facts, keys, words
from tally.screens.curve import CurvePane
from tally.screens.keys import Key
from tally.screens.parts import HoleDrawing
from tally.screens.words import line
from tally.screens.work import WorkScreen

LOSSES = ("returns-overdue", "no-rise", "returns-stopped", "past-high-volume")
"""Alarms that may mean that grout is lost."""


class GroutScreen(WorkScreen):
    OWN_KEYS = keys.GROUT
    OWN_ASK = asks.BATCH

    @property
    def own_keys(self) -> tuple[Key, ...]:
        """Those that say something now come to the key line; all of them work, and the help lists them."""
        if self.entry is None:
            return super().own_keys
        state = self.tally.snapshot.state
        if not state.grout.stages:
            idle = keys.GROUT_BEFORE
        else:
            idle = keys.GROUT_UNDER_WAY if state.grout.stage else keys.GROUT_AFTER
            if state.grout.stage and state.flow.condition == "LIVE":
                idle |= {"volume"}
        shown = tuple(key for key in keys.GROUT if key.action not in idle)
        if state.plan.tank is not None:
            shown = tuple(replace(key, listed=True) if key.action == "dip" else key for key in shown)
        return shown

    def body(self) -> ComposeResult:
        yield HoleDrawing(id="hole")
        yield CurvePane()
        with Vertical(id="facts"):
            yield Static(id="stage-line")
            with Horizontal(id="big"):
                with Vertical():
                    yield Static(id="pumped-label")
                    yield Digits(id="pumped")
                with Vertical():
                    yield Static(id="needed-label")
                    yield Digits(id="needed")
                with Vertical(classes="wide-only"):
                    yield Static(id="top-label")
                    yield Digits(id="top")
            yield Static(id="text")

    def turn_over(self) -> None:
        """From the hole to the curve and back; on a small terminal the curve takes the place of the figures too."""
        self.toggle_class("curve")
        if self.has_class("curve"):
            self.run_worker(self._with_curve(), group="curve", exclusive=True, exit_on_error=False)
        self.tally.redraw()

    async def _with_curve(self) -> None:
        await self.query_one(CurvePane).load()
        self.call_after_refresh(self.tally.redraw)

    def draw(self, state: State, units: Units) -> None:
        view, zone = grout(state), state.plan.job.time_zone
        if self.has_class("curve"):
            self.query_one(CurvePane).show(last_pumped(state), units)
        else:
            self.query_one(HoleDrawing).show(hole(state), units)
        top = self.query_one("#stage-line", Static)
        top.update(_stage_line(view, units, max(top.size.width, 20)), layout=False)
        stage = view.stage
        unknown = Quantity(None, Kind.VOLUME)
        self._big("pumped", "PUMPED", stage.pumped if stage else unknown, units)
        self._big("needed", "STILL NEEDED", stage.needed if stage else unknown, units)
        self._big("top", "TOP, LIKELY", stage.top_likely if stage else Quantity(None, Kind.DEPTH), units)
        text = self.query_one("#text", Static)
        room = max(text.size.height, 8)
        face = self.tally.face
        if stage is None:
            rows = grout_facts.before(view, units, face, _ready(state))
        else:
            rows = words.fitted(grout_facts.course(view, stage, units, zone, face, lost=_lost(state)), room)
            rows += grout_facts.batches(stage, units, zone, room - len(rows))
        text.update(words.lines(rows), layout=False)

    def _big(self, name: str, label: str, value: Quantity, units: Units) -> None:
        shown = line((f"{label} ", "bold"), formats.unit(value.kind, units))
        self.query_one(f"#{name}-label", Static).update(shown, layout=False)
        depth = value.kind is Kind.DEPTH and value.si is not None
        number = words.depth(value, units).partition(" ")[0] if depth else words.big(value, units)
        self.query_one(f"#{name}", Digits).update(number)


def _ready(state: State) -> grout_facts.Ready:
    return grout_facts.Ready(
        landed=state.string.landed_on is not None,
        waiting=len(checklist.to_check(state)),
        bags=sum(batch.bags for batch in state.grout.batches),
    )


def _stage_line(view: GroutView, units: Units, width: int) -> Content:
    """Where and which; name and mix as far as there is room, their beginnings last to go."""
    stage = view.stage
    if stage is None:
        return line(("no stage begun", "bold"), f"   next: {words.cut(view.next_stage, max(width - 24, 10))}")
    state = "" if view.under_way else " ENDED "
    span = f"  {words.depth(stage.bottom, units)} up to {words.depth(stage.top, units)}  "
    begun = f"STAGE {stage.begun}"
    room = width - words.cells(begun + state + span)
    named = words.cut(_named(stage, room), room) if room > 3 else ""
    return line((begun, "bold"), (state, "bold reverse"), span, named)


def _named(stage: StageView, room: int) -> str:
    both = f"{stage.name}, {stage.mix}"
    return both if words.cells(both) <= room else stage.name


def _lost(state: State) -> bool:
    return any(alarm.active and alarm.alarm in LOSSES for alarm in state.alarms)
