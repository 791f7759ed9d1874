"""The figures of the grout screen, line by line: at most 51 columns each, so that 80 hold them beside the hole."""

from __future__ import annotations

from dataclasses import dataclass

from textual.content import Content

from tally import formats
from tally.formats import Units
from tally.job.view.between_stages import SettingView, StartView
from tally.job.view.grout import GroutView
from tally.job.view.grouted import GroutedView
from tally.job.view.quantity import Kind, Quantity
from tally.job.view.stage import StageView
from tally.screens import parts, words
from tally.screens.keys import Face
from tally.screens.words import Row, line

FACTS = 51
"""Columns of the facts on a terminal of 80."""


@dataclass(frozen=True, slots=True)
class Ready:
    """What is done before the first stage begins."""

    landed: bool
    waiting: int
    """Items of the list that have no word yet."""
    bags: int
    """Mixed already."""


def before(view: GroutView, units: Units, face: Face, ready: Ready) -> list[Content]:
    """What is to be done until a stage begins, and what of it is done."""
    unlanded = f"not landed yet: land the casing first ({face('casing')}, then {face('land')})"
    listed = (
        f"{ready.waiting} things to look at before the first batch" if ready.waiting else "the list is gone through"
    )
    hangs = f"{face('tremie-tip')} sets the depth of the tremie's end"
    mixed = "a number of bags and Enter: a batch is mixed"
    if view.tremie.si is not None:
        hangs = f"✓ tremie's end at {words.depth(view.tremie, units)} ({face('tremie-tip')})"
    if ready.bags:
        mixed = f"✓ {ready.bags} bags are mixed; more with a number and Enter"
    return [
        line(f"aboard {view.bags_left} bags, {formats.text(view.water_left, units)} of water"),
        *[row for _, row in _start(view.start, units)],
        line("✓ the casing is landed" if ready.landed else unlanded),
        line(f"{'' if ready.waiting else '✓ '}{face('checks')}: {listed}"),
        line(hangs),
        line(mixed),
        line((f"{face('stage')} begins the stage", "bold" if ready.landed and ready.bags else "")),
        line(("Wet cement burns without pain at first: gloves,", "bold")),
        line(("goggles. Bleed a hose before breaking it.", "bold")),
    ]


def course(view: GroutView, stage: StageView, units: Units, zone: str, face: Face, *, lost: bool) -> list[Row]:
    """A stage that is under way or has ended."""

    def show(quantity: Quantity) -> str:
        return formats.text(quantity, units)

    rows: list[Row] = [(3, line(f"planned {show(stage.planned)}  {words.bar(stage.share.si, 16)} {show(stage.share)}"))]
    if view.under_way:
        low, high = formats.number(stage.needed_low, units), show(stage.needed_high)
        rows.append((2, line(f"needed {low} to {high}, to mix ", (_bags(stage.bags_needed), "bold"))))
        if stage.displacing.si is not None:
            water = f"{show(stage.displacing)} of water"
            rows.append((0, line("then ", (water, "bold"), " down the casing, and stop")))
    else:
        rows.append((0, line("ended: ", (stage.outcome, "bold"))))
    rows += _top(stage, units, face("tag"), face("returns"))
    if lost and view.under_way:
        rows.append((0, line(("LOSING GROUT?", "bold reverse"), f" {face('loss')}: tag, wait, bridge, top up")))
    rows += [*_pump(view, stage, units), *_returns(stage, units, zone)]
    if view.metered and view.meter_why:
        rows += [(0, line((part, "bold"))) for part in words.folded(f"meter: {view.meter_why}", FACTS)[:2]]
    rows += [(0 if row.trouble else 1, parts.instrument(row, units)) for row in view.instruments]
    if view.gap.si is not None:
        rows.append((0, line((f"meter moved {show(view.gap)} unseen: {face('gap')} answers", "bold reverse"))))
    if view.setting is not None:
        rows += _setting(view.setting, units, zone, face("tag"))
    if not view.under_way:
        rows += [(1, line(part)) for part in words.folded(f"next: {view.next_stage}", FACTS)]
        rows += _start(view.start, units)
    if stage.tremie is not None and (view.under_way or stage.tremie.hangs):
        rows.append((0, _tremie(stage, units, face("tremie-tip"))))
        if not view.under_way:
            rows.append((0, line(("TREMIE STILL IN", "bold reverse"), ": flush it, pull it before it sets")))
    chance = f" ({formats.chance(stage.chance)} enough)" if stage.chance.si is not None else ""
    rows.append((1, line(f"aboard {view.bags_left} bags{chance}, {show(view.water_left)} water")))
    if stage.good_until is not None:
        rows.append((0, _clock(stage, units, zone)))
    return [*rows, *_ahead(stage, units)]


def _bags(count: int) -> str:
    return f"{count} bag" if count == 1 else f"{count} bags"


def _clock(stage: StageView, units: Units, zone: str) -> Content:
    """When the oldest batch is too stiff, when the high volume is in, and its age; the first must never be cut."""
    good = formats.clock(stage.good_until, zone) if stage.good_until else ""
    by = f"tremie out by {good}" if stage.tremie is not None and stage.tremie.hangs else f"good until {good}"
    age_s = stage.oldest_batch.si
    if stage.high_in_at is None or age_s is None:
        return line((by, "bold"), f", oldest batch {formats.text(stage.oldest_batch, units)}")
    age = f"{age_s // 60:.0f} min" if age_s >= 60 else formats.text(stage.oldest_batch, units)
    return line((by, "bold"), f", high in {formats.clock(stage.high_in_at, zone)}, oldest {age}")


def _ahead(stage: StageView, units: Units) -> list[Row]:
    """What the grout does to the casing, what it comes to next, and where it comes up."""
    rows: list[Row] = _pressed(stage.grouted, units) if stage.grouted is not None else []
    if stage.inflow is not None:
        more, level = formats.text(stage.inflow.difference, units), stage.inflow.balance
        held = f"fill to {words.depth(level, units)}" if (level.si or 0.0) >= 0 else "cap and fill it"
        rows.append((1, line(("OPEN END", "bold"), f" {more} more outside: {held}")))
    if stage.zone is not None:
        above = f"{words.one_decimal(stage.zone.above.si or 0.0, units)} {formats.unit(Kind.DEPTH, units)}"
        words_ = f"{stage.zone.kind} at {words.depth(stage.zone.bottom, units)}, {above} above the likely top"
        rows.append((1, line(words_)))
    return rows


def _pressed(grouted: GroutedView, units: Units) -> list[Row]:
    """Lift and collapse; loud where something is to be done."""
    rows: list[Row] = []
    if grouted.lifts.si is not None:
        cure = f": fill to {words.depth(grouted.cure, units)}" if grouted.cure.si is not None else ""
        rows.append((0, line((f"LIFTS {formats.text(grouted.lifts, units)}", "bold"), f" unless held{cure}")))
    if grouted.short:
        more, most = formats.text(grouted.pressed, units), formats.number(grouted.allowed, units)
        rows.append((0, line(("COLLAPSE", "bold reverse"), f" {more} more outside, at most {most}: fill it")))
    if not rows:
        return [(4, line(f"casing stays down{_margin(grouted.ratio)}"))]
    if grouted.dry:
        rows.append((1, line("  taken as dry inside until a level is read")))
    return rows


def _margin(ratio: float | None) -> str:
    if ratio is None:
        return ""
    return "; collapse margin over 99" if ratio > 99.0 else f"; collapse margin {ratio:.1f}"


def _top(stage: StageView, units: Units, tag: str, returns: str) -> list[Row]:
    if stage.outcome == "good grout at surface":
        return [(1, line(("TOP at surface", "bold"), " when it ended: tag it as it settles"))]
    if stage.unseen:
        said = ("FULL BY VOLUME, NO GROUT SEEN", "bold reverse")
        return [(0, line(said, f": {tag} tags, {returns} tells"))]
    low, high = words.depth(stage.top_low, units), words.depth(stage.top_high, units)
    likely = words.depth(stage.top_likely, units)
    return [
        (0, line(("TOP probably ", "bold"), (likely, "bold"), f", line holds {formats.text(stage.line, units)}")),
        (1, line(f"  lowest (worst case) {low}, highest {high}")),
    ]


def _pump(view: GroutView, stage: StageView, units: Units) -> list[Row]:
    if not view.under_way:
        return []
    if view.pump == "moving":
        rate = f" {formats.text(view.rate, units)}" if view.metered and view.rate.si is not None else ""
        top = f", at the top in {_about(stage.time_to_top.si)}" if stage.time_to_top.si is not None else ""
        return [(0, line(("PUMP moving", "bold"), f"{rate}{top}"))]
    if view.pump == "still":
        still = f"{formats.text(view.pump_still, units)} of {formats.text(view.pump_still_limit, units)}"
        return [(0, line(("PUMP STILL", "bold reverse"), f" {still} allowed"))]
    return [(0, line(("PUMP", "bold"), " not started"))]


def _about(seconds: float | None) -> str:
    """A forecast, no finer than it is worth."""
    if seconds is None:
        return ""
    if seconds < 90:
        return f"{seconds:.0f} s"
    return f"{seconds / 60:.0f} min" if seconds < 5_400 else formats.text(Quantity(seconds, Kind.DURATION), "metric")


def _returns(stage: StageView, units: Units, zone: str) -> list[Row]:
    """A countdown until they are due, then what was seen."""
    returns = stage.returns
    span = f"{formats.number(returns.due_low, units)} to {formats.text(returns.due_high, units)}"
    window: Row = (2, line(f"  {returns.due_fluid}, from {span} pumped"))
    if returns.verdict == "seen":
        weighed = f", {formats.text(returns.density, units)}" if returns.density.si is not None else ""
        since = f", first {formats.clock(returns.first_at, zone)}" if returns.first_at else ""
        seen = f"{returns.strength}, {returns.fluid}{weighed}"
        return [(0, line(("RETURNS ", "bold"), (seen, "bold"), since))]
    if returns.verdict == "stopped":
        return [(0, line(("RETURNS STOPPED", "bold reverse"))), window]
    if returns.verdict == "overdue":
        over = formats.text(Quantity(-(returns.to_go.si or 0.0), Kind.VOLUME), units)
        return [(0, line(("RETURNS OVERDUE", "bold reverse"), f" by {over}")), window]
    if not stage.outcome and returns.verdict == "due now":
        to_go = formats.text(returns.to_go, units)
        return [(0, line(("RETURNS DUE NOW", "bold"), f", overdue in {to_go}")), window]
    if stage.outcome:
        return [(0, line(("RETURNS none", "bold"), " seen in this stage")), window]
    about = f", about {_about(returns.due_in.si)}" if returns.due_in.si is not None else ""
    return [(0, line(("RETURNS", "bold"), " due in ", (formats.text(returns.until_due, units), "bold"), about)), window]


def _setting(setting: SettingView, units: Units, zone: str, tag: str) -> list[Row]:
    rows: list[Row] = []
    if setting.look_at is not None:
        after = f"{(setting.look.si or 0.0) / 60:.0f} min after the end"
        if setting.look_due:
            rows.append((0, line(("LOOK AT THE LEVEL", "bold reverse"), f", {after}: {tag}")))
        else:
            rows.append((0, line(("level", "bold"), f": look at {formats.clock(setting.look_at, zone)}, {after}")))
    if setting.fell.si is not None:
        rows.append((1, line(f"level fell {formats.text(setting.fell, units)} since the first look")))
    what = "drilling on" if setting.lift == "drilling on" else "next lift"
    when = f"{formats.day(setting.set_at, zone)[5:]} {formats.clock(setting.set_at, zone)}"
    if (setting.waits.si or 0.0) > 0:
        waits = formats.text(setting.waits, units)
        rows.append((0, line((f"{what} not before {when}", "bold"), f", in {waits}")))
    else:
        rows.append((0, line(f"waiting time over since {when}: ", (what, "bold"))))
    return rows


def _start(start: StartView | None, units: Units) -> list[Row]:
    """The coming stage."""
    if start is None:
        return []
    span = f"{formats.number(start.planned, units)} to {formats.text(start.high, units)}"
    takes = line("takes ", (f"{start.bags} to {start.bags_high} bags", "bold"), f", {span}")
    return [(0, takes), *_in_time(start, units)]


def _in_time(start: StartView, units: Units) -> list[Row]:
    """Go or no-go: whether the high volume is in before the mix stiffens."""
    working = formats.text(start.working, units)
    least = formats.text(start.least_rate, units)
    if start.go is None:
        return [(1, line(f"high volume within {working} takes {least}"))]
    takes = _about(start.takes.si)
    if start.go:
        return [(1, line(("GO", "bold"), f": high volume in {takes}, mix works {working}"))]
    return [
        (0, line(("NO-GO", "bold reverse"), f": high volume takes {takes}, mix {working}")),
        (1, line(f"  at least {least}, a shorter lift or a slower mix")),
    ]


def _tremie(stage: StageView, units: Units, key: str) -> Content:
    tremie = stage.tremie
    if tremie is None or not tremie.hangs:
        return line(f"tremie out of the hole: {key} sets its end's depth")
    if tremie.waits:
        return line(f"tremie {words.depth(tremie.tip, units)}, no grout out of it yet")
    covered = tremie.cover.si is not None and tremie.cover.si >= 0
    cover = (
        f"cover {words.one_decimal(tremie.cover.si or 0.0, units)} {formats.unit(Kind.DEPTH, units)}"
        if covered
        else "ABOVE THE GROUT"
    )
    return line(f"tremie {words.depth(tremie.tip, units)}, ", (cover, "bold"), f", may pull {tremie.may_pull}")


def batches(stage: StageView, units: Units, zone: str, room: int) -> list[Content]:
    if room < 2 or not stage.batches:
        return []
    heading = f"{'batch':>5} {'bags':>4} {'volume':>10} {'density':>11}  time"
    rows = [line((heading, "bold underline"))]
    for row in list(reversed(stage.batches))[: room - 1]:
        volume, density = formats.text(row.volume, units), formats.text(row.density, units)
        rows.append(line(f"{row.place:>5} {row.bags:>4} {volume:>10} {density:>11}  {formats.clock(row.at, zone)}"))
    return rows
