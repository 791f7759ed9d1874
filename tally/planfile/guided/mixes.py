"""Common mixes that the guided plan offers: figures with their source, each to be taken or changed by the crew."""

from __future__ import annotations

from dataclasses import dataclass

from tally.formats import Units


@dataclass(frozen=True, slots=True)
class CommonMix:
    words: str
    kind: str
    bag: str
    water: str
    """Per bag."""
    source: str
    bentonite: str = ""
    of: str = ""
    sand: str = ""


COMMON: tuple[CommonMix, ...] = (
    CommonMix(
        "neat cement: 94 lb, 5.2 US gal", "neat cement", "94 lb", "5.2 US gal",
        "N.J.A.C. 7:9D Appendix A, table 1: 5.2 gal to 94 lb, 15.6 lb/gal",
    ),
    CommonMix(
        "neat cement: 94 lb, 6 US gal", "neat cement", "94 lb", "6 US gal",
        "most water to a bag in COMAR 26.04.04.19, WAC 173-160-450 and TM 5-813-1",
    ),
    CommonMix(
        "neat cement: 40 kg, 18.4 L", "neat cement", "40 kg", "18.4 L",
        "0.46 of water to 1 of cement by weight, as N.J.A.C. 7:9D Appendix A, table 1",
    ),
    CommonMix(
        "neat cement: 50 kg, 23 L", "neat cement", "50 kg", "23 L",
        "0.46 of water to 1 of cement by weight, as N.J.A.C. 7:9D Appendix A, table 1",
    ),
    CommonMix(
        "cement, 5.3 % bentonite: 94 lb, 8.3 US gal", "cement-bentonite", "94 lb", "8.3 US gal",
        "N.J.A.C. 7:9D Appendix A, table 2: 5 lb of bentonite and 8.3 gal to 94 lb, 13.9 lb/gal",
        bentonite="5.3 %", of="cement",
    ),
    CommonMix(
        "cement and sand 1:1: 94 lb, 6 US gal", "cement-sand", "94 lb", "6 US gal",
        "most water to a bag in Ohio Adm. Code 3745-9-07(B)(1)(c)", sand="94 lb",
    ),
    CommonMix(
        "bentonite, 20 % solids: 50 lb, 24 US gal", "bentonite", "50 lb", "24 US gal",
        "Water Well Journal, September 2015, page 33: 50 lb to 24 gal, 20 % solids",
    ),
)  # fmt: skip


def offered(units: Units) -> tuple[tuple[str, str], ...]:
    """(place in `COMMON` from 1, words) of each: first those whose bags are sold where one works in these units."""
    places = [(str(place), mix) for place, mix in enumerate(COMMON, 1)]
    places.sort(key=lambda each: each[1].bag.endswith("kg") is not (units == "metric"))
    return tuple((place, mix.words) for place, mix in places)


KINDS = (
    ("neat cement", "neat cement"),
    ("cement-bentonite", "cement with bentonite"),
    ("cement-sand", "cement with sand"),
    ("bentonite", "bentonite grout"),
)
