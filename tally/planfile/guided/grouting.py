"""Mixes, what is aboard, the way of the grout and its stages."""

from __future__ import annotations

from collections.abc import Iterator

from tally.job.view.quantity import Kind
from tally.planfile.guided.asking import MOST_PARTS, by_units, count, more, one_of, size, text, units_of
from tally.planfile.guided.ground import bottom
from tally.planfile.guided.mixes import COMMON, KINDS, CommonMix, offered
from tally.planfile.guided.question import Answers, Question
from tally.planfile.guided.recipe import RECIPE, solids, thickness


def mix_names(answers: Answers) -> list[str]:
    found: list[str] = []
    for place in range(1, MOST_PARTS + 1):
        found.append(answers.get(f"mix[{place}].name", ""))
        if answers.get(f"mix[{place}].more") != "yes":
            break
    return [name for name in found if name]


def mixes(answers: Answers) -> Iterator[Question]:
    for place in range(1, MOST_PARTS + 1):
        yield from _mix(answers, f"mix[{place}]", place)
        yield more("mix", f"mix[{place}].more", "Another mix?")
        if answers.get(f"mix[{place}].more") != "yes":
            return


def _mix(answers: Answers, key: str, place: int) -> Iterator[Question]:
    yield one_of(
        "mix",
        "",
        "Mix" if place == 1 else "The other mix",
        (
            *offered(units_of(answers)),
            ("own", "another: give its figures"),
            (RECIPE, "by its recipe: weigh what goes in"),
        ),
        name=f"{key}.common",
        remark="its figures are then offered one by one",
    )
    said = answers.get(f"{key}.common", "")
    taken = COMMON[int(said) - 1] if said.isdigit() and 1 <= int(said) <= len(COMMON) else None
    kind = answers.get(f"{key}.kind", taken.kind if taken else "neat cement")
    yield text(
        "mix",
        f"{key}.name",
        "What the crew calls it",
        offered=taken.kind if taken and place == 1 else "",
        stands_in=f"mix {place}",
    )
    same = taken if taken and taken.kind == kind else None
    if said == RECIPE:
        yield from solids(answers, key)
    else:
        yield from _by_kind(key, kind, taken, same)
    yield size(
        "mix",
        f"{key}.water_per_bag",
        "Water to a bag",
        Kind.VOLUME,
        offered=same.water if same else "",
        stands_in="20 L",
        comment=same.source if same and answers.get(f"{key}.water_per_bag", same.water) == same.water else "",
    )
    yield size(
        "mix",
        f"{key}.mixer",
        "The mixer takes",
        Kind.VOLUME,
        optional=True,
        remark="Enter alone: batches as the crew makes them",
        comment="what the mixer takes; the plan then comes in whole batches",
    )
    yield from thickness(answers, key)
    yield size(
        "mix",
        f"{key}.density_band",
        "Question a batch off by",
        Kind.DENSITY,
        offered=by_units(answers, "0.04 kg/L", "0.3 lb/gal"),
        stands_in="0.04 kg/L",
    )
    yield size(
        "mix",
        f"{key}.working_time",
        "It stays pumpable for",
        Kind.DURATION,
        stands_in="90 min",
        remark="by the maker, for the warmest it may get",
    )
    yield size(
        "mix",
        f"{key}.waiting_time",
        "Before anybody drills on",
        Kind.DURATION,
        offered="24 h",
        stands_in="24 h",
        unit="h",
        remark="as the local code asks",
    )


def _by_kind(key: str, kind: str, taken: CommonMix | None, same: CommonMix | None) -> Iterator[Question]:
    """The solids of a mix of one of the usual kinds; `same` is the common mix that was taken, if it is of that kind."""
    yield one_of("mix", f"{key}.kind", "Kind of mix", KINDS, offered=taken.kind if taken else "", stands_in=kind)
    yield size("mix", f"{key}.bag", "One bag holds", Kind.MASS, offered=same.bag if same else "", stands_in="40 kg")
    if kind == "cement-bentonite":
        yield size(
            "mix",
            f"{key}.bentonite",
            "Bentonite",
            Kind.SHARE,
            offered=same.bentonite if same else "",
            stands_in="4 %",
            remark="by weight",
        )
        bases = (("cement", "cement: dry blended"), ("water", "water: mixed in first"))
        yield one_of("mix", f"{key}.bentonite_of", "By weight of", bases, offered=same.of if same else "")
    if kind == "cement-sand":
        yield size(
            "mix",
            f"{key}.sand_per_bag",
            "Sand to a bag",
            Kind.MASS,
            offered=same.sand if same else "",
            stands_in="40 kg",
        )


def aboard() -> Iterator[Question]:
    yield count("aboard", "aboard.bags", "Bags aboard", stands_in="0")
    yield size("aboard", "aboard.water", "Water aboard", Kind.VOLUME, stands_in="0 L")
    yield size(
        "aboard",
        "aboard.wash_up",
        "Of it to wash up, each stage",
        Kind.VOLUME,
        optional=True,
        remark="Enter alone: none",
        comment="of it, after each stage",
    )


def line(answers: Answers) -> Iterator[Question]:
    ways = (("tremie", "through a tremie beside the casing"), ("through casing", "down the casing itself"))
    yield one_of("line", "", "The grout goes in", ways, name="line.way")
    yield size(
        "line",
        "line.length",
        "Line from pump to its end",
        Kind.LENGTH,
        stands_in="1 m",
        comment="from the pump to the end where the grout comes out",
    )
    yield size("line", "line.bore", "Bore of the line", Kind.DIAMETER, stands_in="1 mm")
    starts = (("water", "full of water"), ("empty", "empty"))
    yield one_of("line", "line.starts", "When pumping starts it is", starts)
    yield size("line", "pump.rate", "The pump gives", Kind.RATE, optional=True, remark="Enter alone: not known")
    if answers.get("pump.rate"):
        yield size(
            "line",
            "pump.pressure_limit",
            "Hose and pump may see",
            Kind.PRESSURE,
            optional=True,
            remark="Enter alone: not known",
        )
    if answers.get("line.way", "tremie") == "tremie":
        yield size("line", "tremie.outer_diameter", "Tremie, outside diameter", Kind.DIAMETER, stands_in="2 mm")
        yield size("line", "tremie.bore", "Bore of the tremie", Kind.DIAMETER, stands_in="1 mm")
        yield size("line", "tremie.section", "Length of one section", Kind.LENGTH, stands_in="3 m")
        yield count("line", "tremie.sections", "Sections aboard", stands_in="900")
        yield size(
            "line",
            "tremie.minimum_cover",
            "Least cover of its end",
            Kind.LENGTH,
            offered=by_units(answers, "1.5 m", "5 ft"),
            stands_in="1.5 m",
        )


def at_ground(depth: str) -> bool:
    """Whether it is ground level: "0 m", "0.00 ft", "0' 0\""."""
    return not any(digit in depth for digit in "123456789")


def stages(answers: Answers) -> Iterator[Question]:
    names = mix_names(answers)
    start = bottom(answers)
    for place in range(1, MOST_PARTS + 1):
        key = f"stage[{place}]"
        yield size(
            "stages",
            f"{key}.from",
            "Grout from" if place == 1 else "The next stage from",
            Kind.DEPTH,
            offered=start,
            stands_in=start or "60 m",
            remark="the bottom of this stage",
        )
        yield size(
            "stages",
            f"{key}.to",
            "Up to",
            Kind.DEPTH,
            offered=by_units(answers, "0 m", "0 ft"),
            stands_in="0 m",
            remark="its top; 0 is ground level",
        )
        start = answers.get(f"{key}.to", "0 m")
        yield text(
            "stages",
            f"{key}.name",
            "The stage is called",
            offered="to surface" if at_ground(start) else f"lift {place}",
            stands_in=f"stage {place}",
        )
        if len(names) > 1:
            yield one_of("stages", f"{key}.mix", "With", tuple((name, name) for name in dict.fromkeys(names)))
        if answers.get("line.way") == "through casing":
            yield size(
                "stages",
                f"{key}.plug",
                "Grout to stand inside",
                Kind.LENGTH,
                optional=True,
                remark="down the bare casing, water pushes out the rest; Enter alone: a pipe stabs into the shoe",
                comment="how high it is to stand inside in the end",
            )
        yield size(
            "stages",
            f"{key}.allowance",
            "Allowance on the annulus",
            Kind.SHARE,
            offered="15 %",
            stands_in="15 %",
            remark="for a hole that is not its bit size",
            comment="of annulus, for a hole that is not its bit size",
        )
        yield size(
            "stages",
            f"{key}.spread",
            "Allowance off by, either way",
            Kind.SHARE,
            offered="15 %",
            stands_in="15 %",
            remark="8 holes in 10 lie within",
            comment="half the width of the range that holds 8 holes in 10",
        )
        if at_ground(start):
            return  # nothing is left above it
        yield more("stages", f"{key}.more", "Another stage above it?")
        if answers.get(f"{key}.more") != "yes":
            return
