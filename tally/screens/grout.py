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
        line(f"planned {show(stage.planned)}  {words.bar(stage.share.si, 20)} {show(stage.share)}"),
        line(
            f"needed from {show(stage.needed_low)} to {show(stage.needed_high)}   still to mix ",
            (f"{stage.bags_needed} bags", "bold"),
        ),
        line(
            "top probably ", (deep(stage.top_likely), "bold"),
            f"   lowest (worst case) {deep(stage.top_low)}, highest {deep(stage.top_high)}",
        ),
        _pump(view, stage, units),
        _returns(stage, units, zone),
    ]  # fmt: skip
    if not view.under_way:
        rows.append(line("next: ", (view.next_stage, "bold")))
    if view.gap.si is not None:
        rows.append(line((f"the meter moved by {show(view.gap)} unseen: o says what counts", "bold reverse")))
    if stage.tremie is not None:
        rows.append(_tremie(stage, units))
    rows.append(
        line(
            f"aboard {view.bags_left} bags, {show(view.water_left)} water   oldest batch {show(stage.oldest_batch)}",
            f" of {show(stage.working_time)}",
        )
    )
    return rows


def _pump(view: GroutView, stage: StageView, units: Units) -> Content:
    out = f"   out of the line {formats.text(stage.out, units)}"
    if view.pump == "moving":
        rate = f" {formats.text(view.rate, units)}" if view.metered else ""
        top = f"   to the top in {formats.text(stage.time_to_top, units)}" if stage.time_to_top.si is not None else ""
        return line(("pump moving", "bold"), f"{rate}{out}{top}")
    if view.pump == "still":
        still = f"{formats.text(view.pump_still, units)} of {formats.text(view.pump_still_limit, units)}"
        return line(("PUMP STILL ", "bold reverse"), f" {still}{out}")
    return line("pump not started", out)


def _returns(stage: StageView, units: Units, zone: str) -> Content:
    returns = stage.returns
    window = f"due from {formats.text(returns.due_low, units)} to {formats.text(returns.due_high, units)}"
    if returns.verdict == "seen":
        seen = f"{returns.strength}, {returns.fluid}" + (
            f", {formats.text(returns.density, units)}" if returns.density.si is not None else ""
        )
        since = formats.clock(returns.first_at, zone) if returns.first_at else ""
        return line(("RETURNS ", "bold"), (seen, "bold"), f"   first {since}   {window}")
    if returns.verdict == "stopped":
        return line(("RETURNS STOPPED", "bold reverse"), f"   {window}")
    if returns.verdict == "overdue":
        return line(("RETURNS OVERDUE", "bold reverse"), f"   {window} ({returns.due_fluid}), none seen")
    word = "RETURNS DUE NOW" if returns.verdict == "due now" else "RETURNS not yet due"
    return line((word, "bold"), f"   {window} ({returns.due_fluid})")


def _tremie(stage: StageView, units: Units) -> Content:
    tremie = stage.tremie
    if tremie is None or not tremie.hangs:
        return line("tremie not in the hole: e sets the depth of its end")
    covered = tremie.cover.si is not None and tremie.cover.si >= 0
    cover = f"{formats.text(tremie.cover, units)} of cover" if covered else "ABOVE THE GROUT"
    pull = f"may pull {tremie.may_pull} section{'' if tremie.may_pull == 1 else 's'} now"
    return line(f"tremie's end at {formats.text(tremie.tip, units)}, ", (cover, "bold"), f"   {pull}")


def _batches(stage: StageView, units: Units, zone: str, room: int) -> list[Content]:
    if room < 2 or not stage.batches:
        return []
    wanted = formats.text(stage.density_wanted, units)
    heading = f"{'batch':>5} {'bags':>5} {'volume':>10} {'density':>12}  time   (mix {wanted})"
    rows = [line((heading, "bold underline"))]
    for row in list(reversed(stage.batches))[: room - 1]:
        volume, density = formats.text(row.volume, units), formats.text(row.density, units)
        rows.append(line(f"{row.place:>5} {row.bags:>5} {volume:>10} {density:>12}  {formats.clock(row.at, zone)}"))
    return rows
