"""The grouting."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Digits, Static

from tally import formats
from tally.formats import Units
from tally.job.state import State
from tally.job.view.grout import GroutView, StageView, grout
from tally.job.view.hole import hole
from tally.job.view.quantity import Kind, Quantity
from tally.screens import asks, keys, words
from tally.screens.parts import HoleDrawing
from tally.screens.words import line
from tally.screens.work import WorkScreen


class GroutScreen(WorkScreen):
    OWN_KEYS = keys.GROUT
    OWN_ASK = asks.BATCH

    def body(self) -> ComposeResult:
        yield HoleDrawing(id="hole")
        with Vertical(id="facts"):
            yield Static(id="stage-line")
            with Horizontal(id="big"):
                with Vertical():
                    yield Static(id="pumped-label")
                    yield Digits(id="pumped")
                with Vertical():
                    yield Static(id="needed-label")
                    yield Digits(id="needed")
            yield Static(id="text")

    def draw(self, state: State, units: Units) -> None:
        view, zone = grout(state), state.plan.job.time_zone
        self.query_one(HoleDrawing).show(hole(state), units)
        self.query_one("#stage-line", Static).update(_stage_line(view, units), layout=False)
        unit, stage = formats.unit(Kind.VOLUME, units), view.stage
        unknown = Quantity(None, Kind.VOLUME)
        self.query_one("#pumped-label", Static).update(line(("PUMPED ", "bold"), unit), layout=False)
        self.query_one("#pumped", Digits).update(formats.number(stage.pumped if stage else unknown, units))
        self.query_one("#needed-label", Static).update(line(("STILL NEEDED ", "bold"), unit), layout=False)
        self.query_one("#needed", Digits).update(formats.number(stage.needed if stage else unknown, units))
        rows = _facts(view, stage, units, zone) if stage else _before(view, units)
        room = self.query_one("#text", Static).size.height
        if stage:
            rows += _batches(stage, units, zone, max(room - len(rows), 0))
        self.query_one("#text", Static).update(words.lines(rows), layout=False)


def _stage_line(view: GroutView, units: Units) -> Content:
    stage = view.stage
    if stage is None:
        return line(("no stage begun", "bold"), f"   next: {view.next_stage}")
    span = f"{formats.text(stage.bottom, units)} up to {formats.text(stage.top, units)}"
    state = "" if view.under_way else f"  ENDED: {stage.outcome}"
    return line((f"STAGE {stage.begun}  {stage.name}", "bold"), f"  {span}  {stage.mix}", (state, "bold reverse"))


def _before(view: GroutView, units: Units) -> list[Content]:
    return [
        line(f"aboard {view.bags_left} bags, {formats.text(view.water_left, units)} of water"),
        line(""),
        line("land the casing (F2, l), then g begins the stage;"),
        line("e sets the tremie's depth, a number of bags mixes a batch."),
        line(""),
        line(("Wet cement burns without pain at first: gloves, goggles.", "bold")),
        line("Bleed the hose before it is broken."),
    ]


def _facts(view: GroutView, stage: StageView, units: Units, zone: str) -> list[Content]:
    def show(quantity: Quantity) -> str:
        return formats.text(quantity, units)

    def deep(quantity: Quantity) -> str:
        return words.depth(quantity, units)

    rows = [
        line(f"planned {show(stage.planned)}  {words.bar(stage.share.si, 16)} {show(stage.share)}"),
        line(
            f"needed {show(stage.needed_low)} to {show(stage.needed_high)}, to mix ",
            (f"{stage.bags_needed} bags", "bold"),
        ),
        line(("TOP probably ", "bold"), (deep(stage.top_likely), "bold"), f", out of the line {show(stage.out)}"),
        line(f"  lowest (worst case) {deep(stage.top_low)}, highest {deep(stage.top_high)}"),
        *_pump(view, stage, units),
        *_returns(stage, units, zone),
    ]
    if not view.under_way:
        rows.append(line("next: ", (view.next_stage, "bold")))
    if view.metered and view.meter_why:
        rows.append(line((f"meter: {view.meter_why}", "bold")))
    if view.gap.si is not None:
        rows.append(line((f"meter moved {show(view.gap)} unseen: o says what counts", "bold reverse")))
    if stage.tremie is not None:
        rows.append(_tremie(stage, units))
    rows.append(line(f"aboard {view.bags_left} bags, {show(view.water_left)} of water"))
    if stage.oldest_batch.si is not None:
        rows.append(line(f"oldest batch {show(stage.oldest_batch)} of {show(stage.working_time)} working time"))
    return rows


def _pump(view: GroutView, stage: StageView, units: Units) -> list[Content]:
    if view.pump == "moving":
        rate = f" {formats.text(view.rate, units)}" if view.metered else ""
        top = f", at the top in {formats.text(stage.time_to_top, units)}" if stage.time_to_top.si is not None else ""
        return [line(("PUMP moving", "bold"), f"{rate}{top}")]
    if view.pump == "still":
        still = f"{formats.text(view.pump_still, units)} of {formats.text(view.pump_still_limit, units)}"
        return [line(("PUMP STILL", "bold reverse"), f" {still} allowed")]
    return [line(("PUMP", "bold"), " not started")] if view.under_way else []


def _returns(stage: StageView, units: Units, zone: str) -> list[Content]:
    returns = stage.returns
    due = f"due {formats.text(returns.due_low, units)} to {formats.text(returns.due_high, units)}"
    if returns.verdict == "seen":
        seen = f"{returns.strength}, {returns.fluid}"
        weighed = f", {formats.text(returns.density, units)}" if returns.density.si is not None else ""
        since = f", first {formats.clock(returns.first_at, zone)}" if returns.first_at else ""
        return [line(("RETURNS ", "bold"), (f"{seen}{weighed}", "bold"), f"{since}")]
    if returns.verdict == "stopped":
        return [line(("RETURNS STOPPED", "bold reverse"), f"  {due}")]
    if returns.verdict == "overdue":
        return [line(("RETURNS OVERDUE", "bold reverse"), f"  {due} of {returns.due_fluid}")]
    if returns.verdict == "due now":
        return [line(("RETURNS DUE NOW", "bold"), f"  {due} of {returns.due_fluid}")]
    return [line(("RETURNS", "bold"), f" not yet  {due} of {returns.due_fluid}")]


def _tremie(stage: StageView, units: Units) -> Content:
    tremie = stage.tremie
    if tremie is None or not tremie.hangs:
        return line("tremie out of the hole: e sets its end's depth")
    covered = tremie.cover.si is not None and tremie.cover.si >= 0
    cover = f"cover {formats.text(tremie.cover, units)}" if covered else "ABOVE THE GROUT"
    return line(f"tremie {formats.text(tremie.tip, units)}, ", (cover, "bold"), f", may pull {tremie.may_pull} now")


def _batches(stage: StageView, units: Units, zone: str, room: int) -> list[Content]:
    if room < 2 or not stage.batches:
        return []
    heading = f"{'batch':>5} {'bags':>4} {'volume':>10} {'density':>11}  time"
    rows = [line((heading, "bold underline"))]
    for row in list(reversed(stage.batches))[: room - 1]:
        volume, density = formats.text(row.volume, units), formats.text(row.density, units)
        rows.append(line(f"{row.place:>5} {row.bags:>4} {volume:>10} {density:>11}  {formats.clock(row.at, zone)}"))
    return rows
