"""What a plan that is being made comes to so far: each figure once all that it rests on is answered."""

from __future__ import annotations

from collections.abc import Iterator

from textual.content import Content

from tally import formats
from tally.formats import Units
from tally.job.view.planned import PlanView
from tally.job.view.planned_stage import StagePlan
from tally.job.view.quantity import Quantity
from tally.screens import words
from tally.screens.words import line

LABEL = 14


def facts(view: PlanView, steps: frozenset[str], units: Units, width: int) -> list[Content]:
    rows = [*_hole(view, steps, units), *_string(view, steps, units), *_mixes(view, steps, units)]
    if {"hole", "casing", "shoe", "mix", "line"} <= steps:
        for place, stage in enumerate(view.stages, 1):
            if f"stage[{place}]" in steps:
                rows += _stage(stage, units)
        if {"aboard", "stages"} <= steps:
            rows += _stock(view, units)
    if not rows:
        rows = [("", "figures come with the hole")]
    return [_row(label, text, width) for label, text in rows]


Row = tuple[str, str]
"""Label and figures; a label alone is a heading."""


def _row(label: str, text: str, width: int) -> Content:
    if not text:
        return line((words.cut(label, width), "bold"))
    if not label:
        return line(words.cut(text, width))
    label = f"{words.cut(label, LABEL):<{LABEL - 1}} "
    room = max(width - len(label), 8)
    # The unit stands in the rows around it too, the figures do not.
    bare = text.removesuffix(" US gal")
    fitting = (each for each in (text, bare, bare.replace(" to ", "–")) if len(each) <= room)
    return line(label, (next(fitting, words.cut(text, room)), "bold"))


def _hole(view: PlanView, steps: frozenset[str], units: Units) -> Iterator[Row]:
    if "hole" in steps:
        yield "HOLE", ""
        whole = Quantity(sum(section.hole.si or 0.0 for section in view.sections), view.annulus.kind)
        yield "holds", formats.text(whole, units)
    if {"hole", "casing", "shoe"} <= steps:
        yield "beside casing", formats.text(view.annulus, units)


def _string(view: PlanView, steps: frozenset[str], units: Units) -> Iterator[Row]:
    def show(quantity: Quantity) -> str:
        return formats.text(quantity, units)

    string, load = view.string, view.load
    if "casing" in steps:
        yield "CASING", ""
        yield "weighs", show(string.line_mass)
    if {"casing", "rack", "shoe"} <= steps:
        yield "string", show(string.needed)
        if string.joints_needed is None:
            yield "joints", f"{string.on_rack} ARE TOO FEW"
        else:
            yield "joints", f"{string.joints_needed} of {string.on_rack}"
            yield "to cut off", show(string.cut_off)
    if {"hole", "casing", "rack", "shoe", "hoist"} <= steps:
        yield "on the hook", f"{show(load.largest)}, joint {load.largest_at_joint}"
        over = "  OVER" if load.past_limit_at_joint else ""
        yield f"{load.limit_name} limit", f"{show(load.limit)}{over}"


def _mixes(view: PlanView, steps: frozenset[str], units: Units) -> Iterator[Row]:
    if "mix" in steps:
        for mix in view.mixes:
            yield formats.plain(mix.name).upper(), ""
            yield "weighs", formats.text(mix.density, units)
            yield "a bag makes", formats.text(mix.yield_per_bag, units)


def _stage(stage: StagePlan, units: Units) -> Iterator[Row]:
    def show(quantity: Quantity) -> str:
        return formats.text(quantity, units)

    yield formats.plain(stage.name).upper(), ""
    yield "pump likely", show(stage.likely)
    yield "low to high", f"{formats.number(stage.low, units)} to {show(stage.high)}"
    yield "bags", f"{stage.bags}, at most {stage.bags_high}"
    if stage.batches is not None:
        last = stage.batches.bags_last
        odd = "" if last == stage.batches.bags_each else f", last {last}"
        yield "mixer loads", f"{stage.batches.count} of {stage.batches.bags_each}{odd}"
    if stage.returns_expected:
        yield "returns at", f"{formats.number(stage.returns_low, units)} to {show(stage.returns_high)}"


def _stock(view: PlanView, units: Units) -> Iterator[Row]:
    stock = view.stock
    yield "ABOARD", ""
    yield "bags need", f"{stock.bags} of {stock.bags_aboard}"
    yield "enough", f"chance {formats.chance(stock.chance)}"
    yield "water need", formats.text(stock.water, units)
    yield "water aboard", formats.text(stock.water_aboard, units)
