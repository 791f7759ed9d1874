"""A plan worked out, as text for a terminal of 80 columns and as SI numbers for other programs."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap
from typing import Any

from tally.formats import UNKNOWN, Units, chance, plain
from tally.formats import text as written
from tally.job.view.planned import PlanView
from tally.job.view.planned_mix import BatchPlan
from tally.job.view.quantity import Sentence
from tally.report.planned_drawing import drawing
from tally.report.planned_forces import collapse_lines, load_lines, pressure_lines
from tally.report.planned_instruments import instrument_lines
from tally.report.row import WIDTH
from tally.report.row import row as _row
from tally.report.si import si_object

WASHOUTS = 8
"""So many are told in the text; the JSON has them all."""
CAUTION = (
    "These numbers are estimates. Measure, tag and look: the local code, the makers' ratings and the licensed"
    " contractor decide."
)


def text(view: PlanView, units: Units) -> str:
    """The plan as a crew reads it. Ends with a line break."""
    parts = (
        _head,
        _warnings,
        _hole,
        *((_log,) if view.log else ()),
        _string,
        _landing,
        load_lines,
        collapse_lines,
        _mixes,
        _stages,
        pressure_lines,
        _stock,
        instrument_lines,
    )
    drawn = [line for part in parts for line in (*part(view, units), "")]
    lines = [short for line in drawn for short in _fitted(line)]
    return "\n".join(line.rstrip() for line in (*lines, *wrap(CAUTION, WIDTH))) + "\n"


def as_json(view: PlanView) -> dict[str, Any]:
    """The plan in SI, the unit in every key; a value that is not known is null. Keys in the order of the view."""
    return {**si_object(view), "caution": CAUTION}


def _sentence(sentence: Sentence, units: Units) -> str:
    return plain(sentence.written(lambda value: written(value, units)))


def _fitted(line: str) -> list[str]:
    """A line in one piece, or folded where numbers are wider than their columns."""
    return [line] if len(line) <= WIDTH else wrap(line, WIDTH, subsequent_indent=" " * 26)


def _head(view: PlanView, units: Units) -> Iterator[str]:
    yield plain(view.job)[:WIDTH]
    if view.invented:
        yield "INVENTED: a demonstration, not a real job"
    facts = (view.client, view.place, view.permit and f"permit {view.permit}", f"driller {view.driller}", view.rig)
    yield from wrap(plain("; ".join(fact for fact in facts if fact)), WIDTH)


def _warnings(view: PlanView, units: Units) -> Iterator[str]:
    yield "LOOK AT FIRST" if view.warnings else "NOTHING STANDS OUT"
    for warning in view.warnings:
        said = f"{warning.severity}: {_sentence(warning.sentence, units)}"
        yield from wrap(said, WIDTH, initial_indent="  ", subsequent_indent="    ")


def _hole(view: PlanView, units: Units) -> Iterator[str]:
    yield "HOLE AND CASING, to scale in depth"
    yield from drawing(view, units)
    yield ""
    yield _row("section", "bit size" if view.log else "diameter", "annulus", "per length")
    for section in view.sections:
        place = f"{written(section.top, units)} to {written(section.bottom, units)}"
        cells = (section.diameter, section.annulus, section.capacity)
        yield _row(place, *(written(cell, units) for cell in cells))
    yield _row("all", "", written(view.annulus, units))
    if view.zones:
        yield ""
        yield _row("known zones", "kind", "of its own")
    for zone in view.zones:
        place = f"{written(zone.top, units)} to {written(zone.bottom, units)}"
        yield _row(f"  {place}", zone.kind, f"± {written(zone.spread, units)}")
        yield from wrap(plain(zone.note), WIDTH, initial_indent="    ", subsequent_indent="    ")


def _log(view: PlanView, units: Units) -> Iterator[str]:
    log = view.log
    if log is None:
        return
    yield f"HOLE BY CALIPER LOG, {log.points:,} points, {written(log.top, units)} to {written(log.bottom, units)}"
    yield _row("", "log", "bit size", "over it")
    yield _row("mean width", written(log.mean, units), written(log.bit_mean, units))
    yield _row("  narrowest", written(log.narrowest, units), f"at {written(log.narrowest_at, units)}")
    yield _row("  widest", written(log.widest, units), f"at {written(log.widest_at, units)}")
    volumes = written(log.volume, units), written(log.bit_volume, units)
    yield _row(f"hole in {written(log.measured, units)}", *volumes, written(log.excess, units))
    yield _row("  beside the casing", "", "", written(log.annulus_excess, units))
    if log.washouts:
        yield _row(f"washouts, {written(log.washout_over, units)} over bit", "widest", "bit size", "more than bit")
        for washout in sorted(log.washouts, key=lambda each: -(each.volume.si or 0.0))[:WASHOUTS]:
            place = f"{written(washout.top, units)} to {written(washout.bottom, units)}"
            cells = (washout.widest, washout.bit, washout.volume)
            yield _row(f"  {place}", *(written(cell, units) for cell in cells))
        if len(log.washouts) > WASHOUTS:
            yield f"  and {len(log.washouts) - WASHOUTS} that hold less"
    for note in log.notes:
        yield from wrap(plain(note), WIDTH, initial_indent="  ", subsequent_indent="    ")


def _string(view: PlanView, units: Units) -> Iterator[str]:
    string = view.string
    yield f"CASING, {string.connection}, {string.shoe_end}" + (f", {string.size}" if string.size else "")
    yield _row(
        "outside, bore, mass",
        *(written(each, units) for each in (string.outer_diameter, string.bore, string.line_mass)),
    )
    yield _row(
        "shoe, stick-up, string", *(written(each, units) for each in (string.shoe, string.stick_up, string.needed))
    )
    needed = UNKNOWN if string.joints_needed is None else str(string.joints_needed)
    yield _row("joints needed, on rack", needed, str(string.on_rack), written(string.rack, units))
    if string.delivered != string.on_rack:
        yield _row("delivered", str(string.delivered))
    if string.measured_from.si:
        yield f"  depths measured on the day count from {written(string.measured_from, units)} above ground"


def _landing(view: PlanView, units: Units) -> Iterator[str]:
    plan = view.landing
    yield f"LANDING from the rack: {_moved(plan.moves)}"
    for found in plan.findings:
        yield from wrap(_sentence(found, units), WIDTH, initial_indent="  ", subsequent_indent="    ")
    yield _row("stick-up, to be cut off", written(plan.stick_up, units), written(plan.cut_off, units))
    yield _row("taken as the rack lies", "", written(plan.rack_order_cut_off, units))
    yield _row("joint from the shoe", "place on rack", "length", "connection below")
    for joint in plan.joints:
        near = f"near {joint.weld_near}" if joint.weld_near else ""
        length, weld = written(joint.length, units), written(joint.weld, units)
        yield _row(f"  {joint.place}", str(joint.on_rack), length, weld) + (f"\n    {near}" if near else "")
    for centralizer in plan.centralizers:
        above = f"{written(centralizer.above_end, units)} up it"
        yield _row("centralizer", written(centralizer.depth, units), f"joint {centralizer.on_joint}", above)


def _moved(moves: int) -> str:
    if not moves:
        return "taken as it lies"
    return f"{moves} joint{'s' if moves > 1 else ''} set aside or fetched, then in this order"


def _mixes(view: PlanView, units: Units) -> Iterator[str]:
    yield "MIXES"
    for mix in view.mixes:
        yield _row(
            mix.name,
            f"{written(mix.bag, units)} bag",
            f"{written(mix.water_per_bag, units)} water",
            f"{written(mix.yield_per_bag, units)} yield",
        )
        if mix.of:
            solids = ", ".join(f"{written(part.mass, units)} {part.name}" for part in mix.parts)
            said = plain(f"{mix.of}: to one bag of {mix.bag_of}, {solids}")
            yield from wrap(said, WIDTH, initial_indent="    ", subsequent_indent="    ")
        if mix.water_cement is not None:
            classes = (f"{', '.join(each.classes)}: {each.water_cement:.2f}" for each in mix.by_class)
            yield _row("  water to cement", f"{mix.water_cement:.2f}", *classes)
        yield _row("  density, to use within", written(mix.density, units), written(mix.working_time, units))
        yield _row("  before drilling on", written(mix.waiting_time, units))


def _stages(view: PlanView, units: Units) -> Iterator[str]:
    yield "STAGES, grout with what stays in the line; bags and water likely and high"
    for stage in view.stages:
        interval = f"{written(stage.bottom, units)} up to {written(stage.top, units)}"
        said = f"{stage.name}: {interval}, {stage.mix}, {stage.method}"
        yield from wrap(plain(said), WIDTH, initial_indent="  ", subsequent_indent="    ")
        allowance = f"allowance {written(stage.allowance, units)}"
        yield _row("  annulus in theory", written(stage.theory, units), allowance)
        yield _row("  grout, low to high", *(written(each, units) for each in (stage.low, stage.likely, stage.high)))
        yield _row("  bags", "", str(stage.bags), str(stage.bags_high))
        if stage.batches is not None:
            yield _batches(stage.batches, units)
        yield _row("  mixing water", "", written(stage.water, units), written(stage.water_high, units))
        if stage.displacing.si is not None:
            yield _row(
                "  then water, and stop", written(stage.displacing, units), f"leaves {written(stage.left, units)}"
            )
        if stage.tremie is not None:
            hung, off = f"{stage.tremie.sections} of {stage.tremie.of}", written(stage.tremie.off_bottom, units)
            yield _row("  tremie sections, end", hung, written(stage.tremie.tip, units), f"{off} off")
        within = f"in {written(stage.working_time, units)}"
        if stage.pumping.si is not None:
            yield _row("  high volume is pumped", f"in {written(stage.pumping, units)}", "at planned rate")
        yield _row("  slowest that makes it", written(stage.least_rate, units), within)
        due = f"{stage.returns_fluid} first" if stage.returns_expected else "not this stage"
        yield _row("  returns due between", written(stage.returns_low, units), written(stage.returns_high, units), due)


def _batches(batches: BatchPlan, units: Units) -> str:
    last = "" if batches.bags_last == batches.bags_each else f", last {batches.bags_last}"
    loads = f"{batches.bags_each} bags{last}"
    volume, water = written(batches.volume, units), written(batches.water, units)
    return _row(f"  {batches.count} mixer loads", loads, volume, f"{water} water")


def _stock(view: PlanView, units: Units) -> Iterator[str]:
    stock = view.stock
    yield "ABOARD"
    yield _row("", "aboard", "likely need", "high need")
    yield _row("bags", str(stock.bags_aboard), str(stock.bags), str(stock.bags_high))
    yield _row("  chance it is enough", chance(stock.chance))
    if len(stock.kinds) > 1:
        for kind in stock.kinds:
            yield _row(f"  {kind.of}, {written(kind.bag, units)}", "", str(kind.bags), str(kind.bags_high))
    yield _row("water", *(written(each, units) for each in (stock.water_aboard, stock.water, stock.water_high)))
    yield _row("  to mix", "", written(stock.mixing, units), written(stock.mixing_high, units))
    yield _row("  to fill the line first", "", written(stock.filling, units))
    if stock.displacing.si:
        yield _row("  to push grout down", "", written(stock.displacing, units))
    yield _row("  to wash up", "", written(stock.wash_up, units))
    for material in stock.materials:
        yield _row(material.name, *(written(each, units) for each in (material.aboard, material.needed, material.high)))
    yield _row("line holds", written(stock.line, units), f"starts: {stock.line_starts}")
