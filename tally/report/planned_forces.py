"""What presses and pulls on the planned casing, as text: the hook, collapse, the pump."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from tally.formats import UNKNOWN, Units, plain
from tally.formats import text as written
from tally.job.view.planned import PlanView
from tally.job.view.planned_collapse import RiseStep
from tally.job.view.planned_pressure import CasingPressure, PressurePlan
from tally.report.row import WIDTH, narrow_row, row


def load_lines(view: PlanView, units: Units) -> Iterator[str]:
    load = view.load
    yield "HOOK LOAD, at the planned depth unless said"
    yield row("in air", written(load.air, units))
    yield row("in the hole's water", written(load.at_target, units))
    yield row("filled as outside", written(load.filled, units))
    at, share = f"at joint {load.largest_at_joint}", written(load.share, units)
    yield row("largest while running", written(load.largest, units), at, share)
    yield row("if the end gives way", written(load.float_failed, units), f"moving, x {load.dynamic_factor:g}")
    for limit in load.limits:
        passed = "not passed" if limit.passed_at_joint is None else f"at joint {limit.passed_at_joint}"
        yield row(f"limit: {limit.name}", written(limit.limit, units), passed, written(limit.share, units))
    yield ""
    yield "  Joint by joint, before the top one is cut; of the lowest limit where it fills:"
    dry = "as filled" if view.string.shoe_end == "open end" else "dry inside"
    yield narrow_row("joint", "string", "shoe", dry, "filled", "of limit")
    for joint in load.joints:
        cells = (joint.length, joint.shoe, joint.expected, joint.filled, joint.share)
        yield narrow_row(str(joint.joint), *(written(cell, units) for cell in cells))
    yield ""
    yield row("with the grout up", "empty inside", "full of water", "to hold down")
    for stage in view.stages:
        cells3 = (stage.load.empty, stage.load.full, stage.load.hold_down)
        yield row(stage.name, *(written(cell, units) for cell in cells3))
        if stage.load.sealed:
            yield "    its end stands in grout that has set"
        if stage.load.cure.si is not None:
            yield f"    water inside up to {written(stage.load.cure, units)} below ground would hold it down"
        if stage.load.cure_density.si is not None:
            yield f"    {written(stage.load.cure_density, units)} inside up to ground level would hold it down"


def collapse_lines(view: PlanView, units: Units) -> Iterator[str]:
    plan = view.collapse
    yield f"COLLAPSE, {plan.factor:g} times asked for"
    yield from _wrapped(f"rating {written(plan.rating, units)} ({plan.formula})")
    if plan.setting_rating != plan.rating:
        said = f"while cement sets {written(plan.setting_rating, units)} ({plan.setting_formula})"
        yield from _wrapped(said)
    for heat in view.heat:
        reached = f"{heat.setting_c:.0f} °C ({heat.setting_c * 1.8 + 32:.0f} °F)"
        yield from _wrapped(
            f"{plain(heat.stage)}: beside {written(heat.grout, units)} of cement it may reach {reached}"
        )
    yield row("inside", "outside over it", "at", "rating is")
    when = ""
    for each in plan.rows:
        if each.when != when:
            when = each.when
            yield f"  {plain(when)}"[:WIDTH]
        yield row(f"  {each.inside}", written(each.differential, units), written(each.depth, units), _times(each.ratio))
    yield ""
    yield f"  worst: {plain(plan.worst.when)[:40]}, inside {plan.worst.inside}"
    yield row("depth", "outside", "inside", "outside over it")
    for part in plan.worst_by_depth:
        cells = (part.outside, part.inside, part.differential)
        yield row(f"  {written(part.depth, units)}", *(written(cell, units) for cell in cells))
    yield ""
    yield "AS THE GROUT COMES UP, the water over it at surface unless the ground drinks"
    yield narrow_row("top at", "hook, empty", "hook, full", "hold down", "collapse by", "rating is")
    stage = ""
    for step in plan.steps:
        if step.stage != stage:
            stage = step.stage
            yield f"  {plain(stage)}"[:WIDTH]
        yield _step(step, units)


def _step(step: RiseStep, units: Units) -> str:
    cells = (step.empty, step.full, step.hold_down, step.differential)
    return narrow_row(written(step.top, units), *(written(cell, units) for cell in cells), _times(step.ratio))


def _wrapped(said: str) -> list[str]:
    return wrap(said, WIDTH, initial_indent="  ", subsequent_indent="    ")


def _times(ratio: float | None) -> str:
    """A margin; near what is asked for, a tenth would round it away."""
    if ratio is None:
        return UNKNOWN
    return f"{ratio:.2f} times" if ratio < 3 else f"{ratio:.1f} times"


def pressure_lines(view: PlanView, units: Units) -> Iterator[str]:
    yield "PUMP, at the end of each stage"
    for plan in view.pressures:
        yield f"  {plain(plan.stage)}"[:WIDTH]
        for words in plan.unsaid:
            yield from wrap(words, WIDTH, initial_indent="    ", subsequent_indent="    ")
        yield from _pump(plan, units)
        if plan.casing is not None:
            yield from _through_casing(plan.casing, units)


def _pump(plan: PressurePlan, units: Units) -> Iterator[str]:
    if plan.friction.si is not None:
        rheology = written(plan.plastic_viscosity, units), written(plan.yield_stress, units)
        yield row("  rate, rheology", written(plan.rate, units), *rheology)
        for passage in plan.passages:
            yield row(f"  friction, {passage.name}", written(passage.loss, units), f"{written(passage.length, units)}")
    yield row("  column outside, inside", written(plan.outside, units), written(plan.column, units))
    falls = "falls by itself" if plan.pump.si == 0.0 else ""
    yield row("  pressure to expect", written(plan.pump, units), falls)
    if plan.limit.si is not None:
        met = "" if plan.rate_at_limit.si is None else f"met at {written(plan.rate_at_limit, units)}"
        yield row("  limit of the pump", written(plan.limit, units), met)


def _through_casing(plan: CasingPressure, units: Units) -> Iterator[str]:
    yield row(
        "  inside over outside",
        written(plan.inside_over_outside, units),
        f"at {written(plan.depth, units)}",
        _times(plan.ratio),
    )
    said = f"casing stands {written(plan.burst_rating, units)} inside ({plan.burst_formula})"
    yield from wrap(said, WIDTH, initial_indent="    ", subsequent_indent="    ")
    yield row("  pull on the cap", written(plan.cap, units))
    yield row("  hook while pumping", written(plan.hook, units), f"bridged {written(plan.bridged, units)}")
