"""What a plan, once worked out, should make its reader stop at: one function a subject, loudest first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from tally.engineering import collapse as collapse_formula
from tally.engineering import grout
from tally.job.hole import HoleSection
from tally.job.plan import Plan
from tally.job.view.landing import LandingPlan
from tally.job.view.planned_collapse import CollapsePlan
from tally.job.view.planned_heat import HeatPlan
from tally.job.view.planned_load import LoadPlan
from tally.job.view.planned_log import LogPlan
from tally.job.view.planned_mix import MixPlan
from tally.job.view.planned_pressure import PressurePlan
from tally.job.view.planned_slip import shoe_slips
from tally.job.view.planned_stage import StagePlan
from tally.job.view.planned_stock import StockPlan
from tally.job.view.planned_string import StringPlan
from tally.job.view.quantity import Kind, Quantity, Sentence

Severity = Literal["stop-and-look", "caution", "note"]
LOUDNESS: dict[Severity, int] = {"stop-and-look": 0, "caution": 1, "note": 2}

MOST_WATER = 6.0 * grout.US_GAL_M3 * grout.WATER_KG_M3 / grout.SACK_KG
"""Of neat cement by mass: 6 US gal to a 94 lb sack (Md. 26.04.04.19; WAC 173-160-450; TM 5-813-1)."""
PLASTIC_C = collapse_formula.PVC_MODULUS_FACTORS[-1][0]
"""No casing of PVC should be relied on past it."""
NARROW_SHARE = 0.05
"""No bit drills so far under its size, worn as it may be: common practice."""
TREMIE_OFF_BOTTOM_M = 3.05
"""Tremie within 10 ft of bottom: Minn. Rules 4725.3050."""


@dataclass(frozen=True, slots=True)
class Warning:
    severity: Severity
    sentence: Sentence


def warnings(
    plan: Plan,
    string: StringPlan,
    landing: LandingPlan,
    load: LoadPlan,
    collapse: CollapsePlan,
    heat: tuple[HeatPlan, ...],
    mixes: tuple[MixPlan, ...],
    stages: tuple[StagePlan, ...],
    pressures: tuple[PressurePlan, ...],
    stock: StockPlan,
    log: LogPlan | None,
) -> tuple[Warning, ...]:
    found = [
        *_log(plan, log),
        *_string(string, landing),
        *(Warning("caution", sentence) for sentence in shoe_slips(plan)),
        *_load(load),
        *_collapse(collapse),
        *(warning for stage in stages for warning in _stage(stage, string)),
        *(warning for each in pressures for warning in _pressure(each)),
        *_through_casing(plan),
        *_mixes(plan, mixes),
        *_heat(heat),
        *_stock(stock),
        *_tremie(plan),
        *_coverage(plan),
        *_ground(plan),
    ]
    return tuple(sorted(found, key=lambda warning: LOUDNESS[warning.severity]))


def _say(severity: Severity, words: str, *values: Quantity | str) -> Warning:
    return Warning(severity, Sentence(words, values))


def _log(plan: Plan, log: LogPlan | None) -> Iterator[Warning]:
    if log is None:
        return
    if plan.hole.log_tight:
        tight = plan.hole.log_tight[0]
        words = "the caliper read {0} at {1}, no wider than the casing: ream it, or make sure that the tool was wrong"
        yield _say(
            "stop-and-look", words, Quantity(tight.diameter_m, Kind.DIAMETER), Quantity(tight.depth_m, Kind.DEPTH)
        )
    reached = [
        stage for stage in plan.stages if stage.allowance_share > 0 and plan.hole.log[0].depth_m < stage.bottom_m
    ]
    if reached and log.annulus_excess.si is not None:
        side = "over" if log.annulus_excess.si >= 0 else "under"
        words = "the allowance of {0} comes on top of the hole as logged, whose annulus is {1} {2} bit size"
        names = ", ".join(stage.name for stage in reached)
        yield _say("note", words, names, Quantity(abs(log.annulus_excess.si), Kind.SHARE), side)
    if (log.excess.si or 0.0) < -NARROW_SHARE:
        words = "the log's hole holds {0} less than the bit's: see that the file, its units and the tool are right"
        yield _say("caution", words, Quantity(-(log.excess.si or 0.0), Kind.SHARE))
    if log.washouts:
        widest = max(log.washouts, key=lambda washout: washout.widest.si or 0.0)
        counted = f"{len(log.washouts)} washouts, the widest" if len(log.washouts) > 1 else "a washout of"
        words = "{0} {1} between {2} and {3}, by a bit of {4}"
        yield _say("note", words, counted, widest.widest, widest.top, widest.bottom, widest.bit)


def _string(string: StringPlan, landing: LandingPlan) -> Iterator[Warning]:
    if string.joints_needed is None:
        words = "the rack makes {0} of string, the shoe depth with its stick-up takes {1}"
        yield _say("stop-and-look", words, string.rack, string.needed)
    elif (landing.cut_off.si or 0.0) > 0.005:
        words = "{0} joints, in the order that cuts least, leave {1} to cut off the top one"
        yield _say("note", words, str(len(landing.joints)), landing.cut_off)
    if string.delivered != string.on_rack:
        words = "{0} joints delivered, {1} on the rack's list: count and measure again"
        yield _say("caution", words, str(string.delivered), str(string.on_rack))


def _load(load: LoadPlan) -> Iterator[Warning]:
    for limit in load.limits:
        if limit.passed_at_joint is not None:
            words = "joint {0} passes the limit of the {1}: {2} expected at most, limit {3}"
            yield _say("stop-and-look", words, str(limit.passed_at_joint), limit.name, load.largest, limit.limit)
    if (load.float_failed.si or 0.0) > (load.limit.si or 0.0):
        words = "if the casing's end gives way the load comes to {0}, over the {1}'s {2}"
        yield _say("caution", words, load.float_failed, load.limit_name, load.limit)
    if (load.at_target.si or 0.0) < 0:
        words = "empty casing floats in the hole's water ({0} on the hook): fill it as it runs"
        yield _say("stop-and-look", words, load.at_target)


def _collapse(collapse: CollapsePlan) -> Iterator[Warning]:
    for row in collapse.rows:
        if row.ratio is None or row.ratio >= collapse.factor:
            continue
        severity: Severity = "caution" if row.inside == "empty" and row.ratio >= 1 else "stop-and-look"
        words = (
            "collapse, {0}, inside {1}: {2} outside over inside, rating {3}, which is {4} times it; {5} is asked for"
        )
        times = f"{row.ratio:.2f}", f"{collapse.factor:g}"
        yield _say(severity, words, row.when, row.inside, row.differential, row.rating, *times)


def _stage(stage: StagePlan, string: StringPlan) -> Iterator[Warning]:
    name, load = stage.name, stage.load
    if (load.hold_down.si or 0.0) > 0:
        lifts_full = (load.full.si or 0.0) < 0
        words = "{0}: the casing lifts{1} unless {2} hold it down; a hoist cannot"
        if string.shoe_end == "open end":
            words += ", and water poured in leaves by the open end"
        inside = "" if lifts_full else " where it is empty inside"
        yield _say("stop-and-look" if lifts_full else "caution", words, name, inside, load.hold_down)
    if load.cure.si is not None:
        words = "{0}: water inside up to {1} below ground keeps the {2} down"
        yield _say("note", words, name, load.cure, string.shoe_end)
    if load.cure_density.si is not None:
        words = "{0}: water inside is too light to keep the {1} down; {2} up to ground level would"
        yield _say("note", words, name, string.shoe_end, load.cure_density)
    if (load.inflow.si or 0.0) > 0:
        words = (
            "{0}: {1} more outside the open end than inside: {2} of grout comes up the casing; fill, plug or seat it"
        )
        yield _say("stop-and-look", words, name, load.inflow, load.inflow_rise)
    if load.pump_limit.si is not None and load.pump_limit.si <= 0:
        words = "{0}: a bridged annulus lifts the casing without the pump's pressure; hold it down"
        yield _say("stop-and-look", words, name)
    elif load.pump_limit.si is not None:
        words = "{0}: if the annulus bridges, a pump pressure over {1} lifts the casing unless it is held"
        yield _say("caution", words, name, load.pump_limit)
    if stage.pumping.si is not None and stage.pumping.si > (stage.working_time.si or 0.0):
        words = (
            "{0}: at the planned rate the high volume takes {1}, the mix's working time is {2}; at least {3} is needed"
        )
        yield _say("caution", words, name, stage.pumping, stage.working_time, stage.least_rate)
    if not stage.returns_expected:
        words = "{0}: returns are not due before {1}, more than the stage takes"
        yield _say("note", words, name, stage.returns_low)


def _pressure(each: PressurePlan) -> Iterator[Warning]:
    name, casing = each.stage, each.casing
    if each.pump.si is not None and each.limit.si is not None and each.pump.si > each.limit.si:
        words = "{0}: {1} at the pump at {2}, over its limit of {3}, which is met at {4}"
        yield _say("stop-and-look", words, name, each.pump, each.rate, each.limit, each.rate_at_limit)
    if casing is not None and casing.ratio is not None and casing.ratio < 1:
        words = "{0}: {1} inside over outside at {2}, over what the casing stands, {3}"
        yield _say("stop-and-look", words, name, casing.inside_over_outside, casing.depth, casing.burst_rating)
    if casing is not None and (casing.hook.si or 0.0) < 0:
        words = "{0}: pumping lifts the casing ({1} on the hook) unless it is held down"
        yield _say("stop-and-look", words, name, casing.hook)


def _through_casing(plan: Plan) -> Iterator[Warning]:
    through = [stage.name for stage in plan.stages if stage.method == "through casing"]
    if through and plan.casing.shoe == "closed":
        words = "{0}: to be pumped through the casing, whose end is closed: nothing can come out of it"
        yield _say("stop-and-look", words, ", ".join(through))

    bare = [stage.name for stage in plan.stages if stage.method == "through casing" and stage.plug_m is None]
    if bare:
        words = "{0}: taken as pumped by a pipe inside that stabs into the shoe; down the bare casing, give its plug"
        yield _say("note", words, ", ".join(bare))


def _mixes(plan: Plan, mixes: tuple[MixPlan, ...]) -> Iterator[Warning]:
    for mix, told in zip(plan.mixes, mixes, strict=True):
        if mix.kind == "neat cement" and told.water_cement is not None and told.water_cement > MOST_WATER + 0.001:
            words = "{0}: {1} of water to one of cement by weight; rules ask at most {2}, 6 US gal to 94 lb"
            yield _say("note", words, mix.name, f"{told.water_cement:.2f}", f"{MOST_WATER:.2f}")


def _heat(heat: tuple[HeatPlan, ...]) -> Iterator[Warning]:
    if not heat:
        return
    hottest = max(heat, key=lambda each: each.setting_c)
    reached = f"{hottest.setting_c:.0f} °C ({hottest.setting_c * 1.8 + 32:.0f} °F)"
    words = "{0}: beside {1} of setting cement plastic casing may reach {2}: keep it full of water, no rapid cement"
    past = hottest.setting_c > PLASTIC_C
    if past:
        words += "; past 60 °C (140 °F) none should be relied on: less cement at a time, sand in it, water kept moving"
    yield _say("caution" if past else "note", words, hottest.stage, hottest.grout, reached)


def _stock(stock: StockPlan) -> Iterator[Warning]:
    if len(stock.kinds) > 1:
        words = "the stages take bags of {0} kinds; those aboard are counted together: see that there is enough of each"
        yield _say("note", words, str(len(stock.kinds)))
    for material in stock.materials:
        high_kg, needed_kg, aboard_kg = material.high.si or 0.0, material.needed.si or 0.0, material.aboard.si
        if aboard_kg is None and high_kg > 0:
            words = "{0} of {1} likely and {2} at the high estimate; the plan does not say what is aboard"
            yield _say("note", words, material.needed, material.name, material.high)
        elif aboard_kg is not None and aboard_kg < high_kg:
            words = "{0} of {1} aboard, {2} likely and {3} at the high estimate"
            short: Severity = "caution" if aboard_kg < needed_kg else "note"
            yield _say(short, words, material.aboard, material.name, material.needed, material.high)
    if stock.bags_aboard < stock.bags_high:
        severity: Severity = "caution" if stock.bags_aboard < stock.bags else "note"
        words = "{0} bags aboard, {1} likely and {2} at the high estimate"
        yield _say(severity, words, str(stock.bags_aboard), str(stock.bags), str(stock.bags_high))
    aboard_m3, high_m3, likely_m3 = (each.si or 0.0 for each in (stock.water_aboard, stock.water_high, stock.water))
    if aboard_m3 < high_m3:
        severity = "caution" if aboard_m3 < likely_m3 else "note"
        yield _say(
            severity,
            "{0} of water aboard, {1} likely and {2} at the high estimate",
            stock.water_aboard,
            stock.water,
            stock.water_high,
        )


def _tremie(plan: Plan) -> Iterator[Warning]:
    if plan.tremie is None:
        return
    by_tremie = [stage for stage in plan.stages if stage.method == "tremie"]
    deepest_m = max((stage.bottom_m for stage in by_tremie), default=0.0)
    length = Quantity(plan.tremie.length_m, Kind.LENGTH)
    if deepest_m - plan.tremie.length_m > TREMIE_OFF_BOTTOM_M:
        words = "the tremie is {0} long, more than {1} off the stage's bottom at {2}"
        yield _say(
            "caution", words, length, Quantity(TREMIE_OFF_BOTTOM_M, Kind.LENGTH), Quantity(deepest_m, Kind.DEPTH)
        )
    beside = [part for part in plan.hole.sections if part.top_m < min(deepest_m, plan.casing.target_shoe_depth_m)]
    for part in beside:
        room_m = _narrowest_m(plan, part) - plan.casing.outer_diameter_m
        if plan.tremie.outer_diameter_m >= room_m / 2:
            severity: Severity = "stop-and-look" if plan.tremie.outer_diameter_m >= room_m else "note"
            words = "a tremie of {0} beside casing in {1}: {2} all round if the casing stands centred"
            tremie = Quantity(plan.tremie.outer_diameter_m, Kind.DIAMETER)
            yield _say(
                severity,
                words,
                tremie,
                Quantity(_narrowest_m(plan, part), Kind.DIAMETER),
                Quantity(room_m / 2, Kind.DIAMETER),
            )


def _narrowest_m(plan: Plan, part: HoleSection) -> float:
    """Least width of a section beside the casing [m], as drilled and as logged."""
    end_m = min(part.bottom_m, plan.casing.target_shoe_depth_m)
    logged = (point.diameter_m for point in plan.hole.log if part.top_m <= point.depth_m <= end_m)
    return min(logged, default=part.diameter_m)


def _coverage(plan: Plan) -> Iterator[Warning]:
    for below, above in pairwise(plan.stages):
        if below.top_m - above.bottom_m > 1e-6:
            words = "nothing is planned between {0} and {1}, {2} to {3}"
            yield _say(
                "caution",
                words,
                below.name,
                above.name,
                Quantity(above.bottom_m, Kind.DEPTH),
                Quantity(below.top_m, Kind.DEPTH),
            )
    top_m = plan.stages[-1].top_m
    if top_m > 0:
        yield _say("note", "the last stage ends at {0}, not at ground level", Quantity(top_m, Kind.DEPTH))
    shoe_m = plan.casing.target_shoe_depth_m
    if plan.stages[0].bottom_m < shoe_m - 1e-6:
        words = "the first stage begins at {0}, above the shoe at {1}"
        yield _say("note", words, Quantity(plan.stages[0].bottom_m, Kind.DEPTH), Quantity(shoe_m, Kind.DEPTH))


def _ground(plan: Plan) -> Iterator[Warning]:
    if plan.hole.drinks_water is None and plan.hole.water_level_m > 0:
        words = "water stands at {0}: the ground may drink, and returns not show before the annulus is full"
        yield _say("note", words, Quantity(plan.hole.water_level_m, Kind.DEPTH))
