"""The grouting."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Digits, Static

from tally import formats
from tally.formats import Units
from tally.job import checklist
from tally.job.state import State
from tally.job.view.grout import GroutView, StageView, grout
from tally.job.view.hole import hole
from tally.job.view.quantity import Kind, Quantity
from tally.screens import asks, keys, parts, words
from tally.screens.keys import Face, Key
from tally.screens.parts import HoleDrawing
from tally.screens.words import line
from tally.screens.work import WorkScreen

FACTS = 51
"""Columns of the facts on a terminal of 80."""


class GroutScreen(WorkScreen):
    OWN_KEYS = keys.GROUT
    OWN_ASK = asks.BATCH

    @property
    def own_keys(self) -> tuple[Key, ...]:
        """Those that say something now come to the key line; all of them work, and the help lists them."""
        if self.tally.player is not None:
            return super().own_keys
        state = self.tally.snapshot.state
        if not state.grout.stages:
            idle = keys.GROUT_BEFORE
        else:
            idle = keys.GROUT_UNDER_WAY if state.grout.stage else keys.GROUT_AFTER
            if state.grout.stage and state.flow.condition == "LIVE":
                idle |= {"volume"}
        return tuple(key for key in keys.GROUT if key.action not in idle)

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
                with Vertical(classes="wide-only"):
                    yield Static(id="top-label")
                    yield Digits(id="top")
            yield Static(id="text")

    def draw(self, state: State, units: Units) -> None:
        view, zone = grout(state), state.plan.job.time_zone
        self.query_one(HoleDrawing).show(hole(state), units)
        self.query_one("#stage-line", Static).update(_stage_line(view, units), layout=False)
        stage = view.stage
        unknown = Quantity(None, Kind.VOLUME)
        self._big("pumped", "PUMPED", stage.pumped if stage else unknown, units)
        self._big("needed", "STILL NEEDED", stage.needed if stage else unknown, units)
        self._big("top", "TOP, LIKELY", stage.top_likely if stage else Quantity(None, Kind.DEPTH), units)
        text = self.query_one("#text", Static)
        rows = (
            _facts(view, stage, units, zone, self.tally.face)
            if stage
            else _before(
                view,
                units,
                self.tally.face,
                landed=state.string.landed_on is not None,
                waiting=len(checklist.to_check(state)),
            )
        )
        if stage:
            rows += _batches(stage, units, zone, max(text.size.height - len(rows), 0))
        text.update(words.lines(rows), layout=False)

    def _big(self, name: str, label: str, value: Quantity, units: Units) -> None:
        shown = line((f"{label} ", "bold"), formats.unit(value.kind, units))
        self.query_one(f"#{name}-label", Static).update(shown, layout=False)
        depth = value.kind is Kind.DEPTH and value.si is not None
        number = words.depth(value, units).partition(" ")[0] if depth else words.big(value, units)
        self.query_one(f"#{name}", Digits).update(number)


def _stage_line(view: GroutView, units: Units) -> Content:
    stage = view.stage
    if stage is None:
        return line(("no stage begun", "bold"), f"   next: {view.next_stage}")
    state = "" if view.under_way else " ENDED "
    span = f"{words.depth(stage.bottom, units)} up to {words.depth(stage.top, units)}"
    return line(
        (f"STAGE {stage.begun}", "bold"), (state, "bold reverse"), f"  {span}  {stage.name}, {stage.mix}"
    )  # fmt: skip


def _before(view: GroutView, units: Units, face: Face, *, landed: bool, waiting: int) -> list[Content]:
    return [
        line(f"aboard {view.bags_left} bags, {formats.text(view.water_left, units)} of water"),
        line(""),
        line(
            "the casing is landed"
            if landed
            else f"not landed yet: land the casing first ({face('casing')}, then {face('land')})"
        ),
        line(
            f"{face('checks')}: {waiting} things to look at before the first batch"
            if waiting
            else f"{face('checks')}: the list is gone through"
        ),
        line(f"{face('tremie-tip')} sets the depth of the tremie's end"),
        line("a number of bags and Enter: a batch is mixed"),
        line(f"{face('stage')} begins the stage"),
        line(""),
        line(("Wet cement burns without pain at first:", "bold")),
        line(("gloves, goggles. Bleed a hose before breaking it.", "bold")),
    ]


def _facts(view: GroutView, stage: StageView, units: Units, zone: str, face: Face) -> list[Content]:
    """At most 51 columns each, so that 80 hold them beside the hole."""

    def show(quantity: Quantity) -> str:
        return formats.text(quantity, units)

    rows = [line(f"planned {show(stage.planned)}  {words.bar(stage.share.si, 16)} {show(stage.share)}")]
    if view.under_way:
        rows += _needed(view, stage, units, zone)
    else:
        rows.append(line("ended: ", (stage.outcome, "bold")))
    if stage.outcome == "good grout at surface":
        rows.append(line(("TOP at surface", "bold"), " when it ended: tag it as it settles"))
    else:
        rows += _top(stage, units)
    rows += [*_pump(view, units), *_returns(stage, units, zone)]
    if not view.under_way:
        rows += [line(part) for part in words.folded(f"next: {view.next_stage}", FACTS)]
    if view.metered and view.meter_why:
        rows += [line((part, "bold")) for part in words.folded(f"meter: {view.meter_why}", FACTS)[:2]]
    rows += [parts.instrument(row, units) for row in view.instruments]
    if view.gap.si is not None:
        rows.append(line((f"meter moved {show(view.gap)} unseen: {face('gap')} answers", "bold reverse")))
    if stage.tremie is not None:
        rows.append(_tremie(stage, units))
    chance = f" ({_chance(stage.chance.si)} enough)" if stage.chance.si is not None else ""
    rows.append(line(f"aboard {view.bags_left} bags{chance}, {show(view.water_left)} water"))
    if stage.good_until is not None:
        good = formats.clock(stage.good_until, zone)
        by = f"tremie out by {good}" if stage.tremie is not None and stage.tremie.hangs else f"good until {good}"
        rows.append(line(f"oldest batch {show(stage.oldest_batch)}, ", (by, "bold")))
    return [*rows, *_ahead(stage, units)]


def _ahead(stage: StageView, units: Units) -> list[Content]:
    """What the grout comes to next, and where it comes up."""
    rows = []
    if stage.inflow is not None:
        more, level = formats.text(stage.inflow.difference, units), stage.inflow.balance
        held = f"fill to {words.depth(level, units)}" if (level.si or 0.0) >= 0 else "cap and fill it"
        rows.append(line(("OPEN END", "bold"), f" {more} more outside: {held}"))
    if stage.zone is not None:
        above = f"{words.one_decimal(stage.zone.above.si or 0.0, units)} {formats.unit(Kind.DEPTH, units)}"
        rows.append(line(f"{stage.zone.kind} at {words.depth(stage.zone.bottom, units)}, {above} above the likely top"))
    return rows


def _chance(share: float) -> str:
    """Nothing is quite certain."""
    return ">99 %" if share > 0.99 else "<1 %" if share < 0.01 else f"{share * 100:.0f} %"


def _needed(view: GroutView, stage: StageView, units: Units, zone: str) -> list[Content]:
    low, high = formats.number(stage.needed_low, units), formats.text(stage.needed_high, units)
    rows = [line(f"needed {low} to {high}, to mix ", (f"{stage.bags_needed} bags", "bold"))]
    if view.pump == "moving" and stage.time_to_top.si is not None:
        latest = f", latest {formats.clock(stage.high_in_at, zone)}" if stage.high_in_at else ""
        rows.append(line(f"at the top in {formats.text(stage.time_to_top, units)} at this rate{latest}"))
    return rows


def _top(stage: StageView, units: Units) -> list[Content]:
    low, high = words.depth(stage.top_low, units), words.depth(stage.top_high, units)
    return [
        line(
            ("TOP probably ", "bold"),
            (words.depth(stage.top_likely, units), "bold"),
            f", line filled {formats.text(stage.line, units)}",
        ),
        line(f"  lowest (worst case) {low}, highest {high}"),
    ]


def _pump(view: GroutView, units: Units) -> list[Content]:
    if not view.under_way:
        return []
    if view.pump == "moving":
        return [line(("PUMP moving", "bold"), f" {formats.text(view.rate, units)}" if view.metered else "")]
    if view.pump == "still":
        still = f"{formats.text(view.pump_still, units)} of {formats.text(view.pump_still_limit, units)}"
        return [line(("PUMP STILL", "bold reverse"), f" {still} allowed")]
    return [line(("PUMP", "bold"), " not started")]


def _returns(stage: StageView, units: Units, zone: str) -> list[Content]:
    returns = stage.returns
    span = f"{formats.number(returns.due_low, units)} to {formats.text(returns.due_high, units)}"
    due = f"{returns.due_fluid} due {span}"
    if returns.verdict == "seen":
        seen = f"{returns.strength}, {returns.fluid}"
        weighed = f", {formats.text(returns.density, units)}" if returns.density.si is not None else ""
        since = f", first {formats.clock(returns.first_at, zone)}" if returns.first_at else ""
        return [line(("RETURNS ", "bold"), (f"{seen}{weighed}", "bold"), f"{since}")]
    if returns.verdict == "stopped":
        return [line(("RETURNS STOPPED", "bold reverse"), f", {due}")]
    if returns.verdict == "overdue":
        return [line(("RETURNS OVERDUE", "bold reverse"), f", {due}")]
    if returns.verdict == "due now":
        return [line(("RETURNS DUE NOW", "bold"), f", {due}")]
    return [line(("RETURNS not yet", "bold"), f", {due}")]


def _tremie(stage: StageView, units: Units) -> Content:
    tremie = stage.tremie
    if tremie is None or not tremie.hangs:
        return line("tremie out of the hole: e sets its end's depth")
    covered = tremie.cover.si is not None and tremie.cover.si >= 0
    cover = (
        f"cover {words.one_decimal(tremie.cover.si or 0.0, units)} {formats.unit(Kind.DEPTH, units)}"
        if covered
        else "ABOVE THE GROUT"
    )
    return line(f"tremie {words.depth(tremie.tip, units)}, ", (cover, "bold"), f", may pull {tremie.may_pull}")


def _batches(stage: StageView, units: Units, zone: str, room: int) -> list[Content]:
    if room < 2 or not stage.batches:
        return []
    heading = f"{'batch':>5} {'bags':>4} {'volume':>10} {'density':>11}  time"
    rows = [line((heading, "bold underline"))]
    for row in list(reversed(stage.batches))[: room - 1]:
        volume, density = formats.text(row.volume, units), formats.text(row.density, units)
        rows.append(line(f"{row.place:>5} {row.bags:>4} {volume:>10} {density:>11}  {formats.clock(row.at, zone)}"))
    return rows
