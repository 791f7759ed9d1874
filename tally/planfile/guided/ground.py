"""The job, the crew and the hole: what is known before any casing is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from tally.catalogue import rules as catalogue
from tally.job.view.quantity import Kind
from tally.planfile.guided.asking import MOST_PARTS, more, one_of, pick, size, text, units_of
from tally.planfile.guided.question import Answers, Question

RULES = "job.rules"
LOG = "hole.caliper"


def job(answers: Answers, zone: str) -> Iterator[Question]:
    yield text("job", "job.name", "Name of the job")
    yield text("job", "job.place", "Place", optional=True)
    yield text("job", "job.client", "Client", optional=True)
    yield text("job", "job.permit", "Permit", optional=True)
    yield one_of(
        "job",
        "job.units",
        "Units of screens and report",
        (("metric", "metric: m, L, t"), ("US", "US: ft, gal, lb")),
        comment='what screens and report show: "metric" or "US"',
    )
    if units_of(answers) == "us":
        yield one_of(
            "job",
            "job.gallons",
            "A gallon is",
            (("US", "a US gallon, 231 in3"), ("imperial", "an imperial gallon")),
            offered="US",
            comment='what a bare "gal" means in this file',
        )
    yield text(
        "job",
        "job.time_zone",
        "Time zone",
        offered=zone,
        stands_in="UTC",
        comment="by its IANA name",
        remark='by its IANA name, such as "America/Denver" or "Europe/Oslo"',
    )


def crew() -> Iterator[Question]:
    yield text("crew", "crew.driller", "Driller, who records")
    yield text("crew", "crew.licence", "Licence", optional=True)
    yield text("crew", "crew.helper", "Helper", optional=True)
    yield text("crew", "crew.rig", "Rig", optional=True)


MOST_RULES = 6


def rules(answers: Answers) -> Iterator[Question]:
    """Rule files by name, until Enter alone."""
    for place in range(1, MOST_RULES + 1):
        key = f"{RULES}[{place}]"
        yield pick(
            "crew",
            key,
            "Check it by a rule file" if place == 1 else "By another one",
            tuple((name, name) for name in catalogue.names()),
            optional=True,
            remark="one of these, or the path of your own .toml; Enter alone: none" + (" more" if place > 1 else ""),
            comment="they inform and certify nothing; the local code decides" if place == 1 else "",
        )
        if not answers.get(key):
            return


LOG_UNITS = (
    ("", "as the log says"),
    ('{depth = "m", diameter = "mm"}', "depths in m, diameters in mm"),
    ('{depth = "m", diameter = "in"}', "depths in m, diameters in inches"),
    ('{depth = "ft", diameter = "in"}', "depths in ft, diameters in inches"),
)


def caliper(answers: Answers) -> Iterator[Question]:
    """The log's file; what its columns are in, where the file does not say."""
    log = text(
        "hole",
        LOG,
        "Caliper log of the hole",
        optional=True,
        remark="a .csv or .las file, by its path from here or its whole path; Enter alone: none",
    )
    yield replace(log, covers=tuple(f"{LOG}_{what}" for what in ("depth", "diameter", "gap")))
    if answers.get(LOG):
        yield one_of("hole", f"{LOG}_units", "The log is in", LOG_UNITS, offered="", flag=True)


def hole(answers: Answers) -> Iterator[Question]:
    for place in range(1, MOST_PARTS + 1):
        key, which = f"hole.section[{place}]", "Hole" if place == 1 else "Next section"
        deepest = f"{60 * place} m"
        yield size(
            "hole",
            f"{key}.to",
            f"{which} down to",
            Kind.DEPTH,
            stands_in=deepest,
            remark="depth of that section's bottom, along the hole from ground level",
        )
        yield size(
            "hole",
            f"{key}.diameter",
            "Diameter of that section",
            Kind.DIAMETER,
            stands_in="2 m",
            remark="the bit's, or the bore of a casing that stands there",
        )
        yield one_of(
            "hole",
            f"{key}.cased",
            "That section is",
            (("", "open hole"), ("true", "cased already")),
            offered="",
            flag=True,
            comment="the bore of a casing that already stands",
        )
        yield more("hole", f"{key}.more", "Another section below?")
        if answers.get(f"{key}.more") != "yes":
            break
    yield from caliper(answers)
    yield size("hole", "hole.water_level", "Water stands at", Kind.DEPTH, stands_in="10 m", remark="depth to the water")
    yield size("hole", "hole.rock", "Rock from", Kind.DEPTH, optional=True, comment="depth to rock")
    yield one_of(
        "hole",
        "hole.drinks_water",
        "Displaced water",
        (("", "not known where it goes"), ("false", "comes up to the surface"), ("true", "goes into the ground")),
        offered="",
        flag=True,
        comment="true where the ground takes displaced water; leave it out where nobody knows",
    )
    yield from _zones(answers)


def _zones(answers: Answers) -> Iterator[Question]:
    asked = "Fracture, void or loss met?"
    for place in range(1, MOST_PARTS + 1):
        key = f"hole.zone[{place}]"
        yield more("hole", f"{key}.more", asked)
        if answers.get(f"{key}.more") != "yes":
            return
        yield size("hole", f"{key}.from", "From", Kind.DEPTH, stands_in="1 m")
        yield size("hole", f"{key}.to", "Down to", Kind.DEPTH, stands_in="2 m")
        kinds = tuple((kind, kind) for kind in ("fracture", "void", "washout", "loss"))
        yield one_of("hole", f"{key}.kind", "It is a", kinds)
        asked = "Another one?"


def bottom(answers: Answers) -> str:
    """Depth of the hole as it was answered."""
    said = ""
    for place in range(1, MOST_PARTS + 1):
        said = answers.get(f"hole.section[{place}].to", said) or said
        if answers.get(f"hole.section[{place}].more") != "yes":
            break
    return said
