"""The facts that well-record forms ask for, in one list; what the session does not know stays empty.

The fields are the union of those on published forms and in published rules: Colorado GWS-31, North Carolina GW-1,
Delaware 7301-8.0, Maryland COMAR 26.04.04.29, Wisconsin NR 812 (reasons for interrupted grouting).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from tally.job.state import State
from tally.job.view.quantity import Kind, Quantity, Sentence
from tally.job.view.reported_casing import CasingReport, HoleReport
from tally.job.view.reported_grout import StageReport

Value = Sentence | Quantity | str | datetime | None


@dataclass(frozen=True, slots=True)
class Fact:
    group: str
    label: str
    value: Value
    """None or "" where the field is to be filled in by hand."""


def facts(state: State, hole: HoleReport, casing: CasingReport, stages: tuple[StageReport, ...]) -> tuple[Fact, ...]:
    groups = {
        "Well and owner": _well(state),
        "Contractor and crew": _crew(state),
        "Dates": _dates(state, casing, stages),
        "Drilling": _empty("Purpose of the well", "Method", "Drilling fluid"),
        "Hole": _hole(hole),
        "Formations": _empty("Log: from, to, material, colour, hardness", "Water struck at", "Losses", "Gas"),
        "Casing": _casing(casing),
        "Screen and filter pack": _empty(
            "Screen: kind, opening, from, to", "Filter pack: material, from, to", "Packer"
        ),
        "Grout": (fact for stage in stages for fact in _stage(stage)),
        "Water level": _level(hole),
        "Test": _empty("Method", "Duration", "Rate", "Drawdown"),
        "Finishing": _empty("Disinfection: agent, amount, time", "Water sample", "Cap", "Well tag"),
        "Variances": _empty("Variance: what, approved by, date"),
    }
    return tuple(Fact(group, label, value) for group, pairs in groups.items() for label, value in pairs)


Pairs = Iterator[tuple[str, Value]]


def _empty(*labels: str) -> Pairs:
    return ((label, None) for label in labels)


def _well(state: State) -> Pairs:
    job = state.plan.job
    yield "Job", job.name
    yield "Owner", job.client
    yield "Place", job.place
    yield "Permit", job.permit
    yield from _empty("Latitude and longitude", "Datum")


def _crew(state: State) -> Pairs:
    crew = state.plan.crew
    yield "Contractor", None
    yield "Driller", state.who
    # A licence belongs to the driller of the plan, not to whoever took over.
    yield "Licence", crew.licence if state.who == crew.driller else None
    yield "Helper", state.helper
    yield "Rig", crew.rig


def _dates(state: State, casing: CasingReport, stages: tuple[StageReport, ...]) -> Pairs:
    yield "Drilling begun", None
    yield "Drilling ended", None
    yield "Casing begun", casing.joints[0].at if casing.joints else None
    yield "Casing landed", casing.landed_at
    yield "Grouting begun", stages[0].started_at if stages else None
    yield "Grouting ended", stages[-1].ended_at if stages else None


def _hole(hole: HoleReport) -> Pairs:
    for place, section in enumerate(hole.sections, start=1):
        words = "{0} from {1} to {2}" + (" (bore of a casing that stood before)" if section.cased else "")
        yield f"Section {place}", Sentence(words, (section.diameter, section.top, section.bottom))
    yield "Total depth", hole.bottom
    yield "Depth to rock", hole.rock


def _casing(casing: CasingReport) -> Pairs:
    yield "Material", casing.material
    yield "Standard", casing.standard
    yield "Outside diameter", casing.outer_diameter
    yield "Bore", casing.bore
    yield "Wall", casing.wall
    yield "Mass", casing.line_mass
    yield "Connection", casing.connection
    ran = bool(casing.joints)
    yield "Joints", Quantity(float(len(casing.joints)), Kind.COUNT) if ran else None
    yield "Length", casing.length if ran else None
    yield "From, above ground", casing.stick_up if ran else None
    yield "To, depth of the shoe", casing.shoe if ran else None
    yield "Shoe", casing.shoe_end
    depths = tuple(row.depth for row in casing.centralizers)
    yield "Centralizers at", Sentence(", ".join(f"{{{at}}}" for at in range(len(depths))), depths) if depths else None
    yield "Inspection of welds", None


def _stage(stage: StageReport) -> Pairs:
    number, mix = f"Stage {stage.begun}", stage.mix
    yield f"{number}, from and to", Sentence("{0} to {1}", (stage.bottom, stage.top))
    yield f"{number}, material", _material(stage)
    yield f"{number}, water per bag", mix.water_per_bag
    yield f"{number}, bags", Quantity(float(stage.bags), Kind.COUNT) if stage.bags else None
    weighed = tuple(batch.density for batch in stage.batches if batch.density.si is not None)
    yield f"{number}, density mixed", Sentence(", ".join(f"{{{at}}}" for at in range(len(weighed))), weighed)
    back = [row.density for row in stage.returns if row.density.si is not None]
    yield f"{number}, density in returns", back[-1] if back else None
    yield f"{number}, volume in theory", stage.theory
    yield f"{number}, volume pumped", stage.pumped
    yield f"{number}, excess", stage.excess
    yield f"{number}, placed by", stage.method
    yield f"{number}, begun", stage.started_at
    yield f"{number}, returns first seen", stage.first_returns.at if stage.first_returns else None
    yield f"{number}, ended", stage.ended_at
    yield f"{number}, interruptions", _interruptions(stage)
    yield f"{number}, top tagged", stage.tags[-1].depth if stage.tags else None
    yield f"{number}, set until", stage.set_until
    yield f"{number}, sample", None


def _material(stage: StageReport) -> Sentence:
    mix = stage.mix
    words = "{0}, bags of {1}" + (" of {4}" if mix.parts else "")
    if mix.bentonite.si:
        words += f", bentonite {{2}} of the {mix.bentonite_basis}"
    if mix.sand_per_bag.si:
        words += ", {3} of sand a bag"
    if others := ", ".join(name for name, _ in mix.parts[1:]):
        words += ", with {5}"
    bag_of = mix.parts[0][0] if mix.parts else ""
    return Sentence(words, (mix.name, mix.bag, mix.bentonite, mix.sand_per_bag, bag_of, others))


def _interruptions(stage: StageReport) -> Sentence:
    if not stage.interruptions:
        return Sentence("none recorded")
    reasons = "; ".join(dict.fromkeys(row.reason for row in stage.interruptions if row.reason))
    words = f"{stage.times_interrupted} recorded, {{0}} together" + (": {1}" if reasons else ", no reason given")
    return Sentence(words, (stage.interrupted, reasons))


def _level(hole: HoleReport) -> Pairs:
    yield "Depth to water", hole.water_read
    yield "Read", hole.water_read_at
    yield "Datum", "ground level"
