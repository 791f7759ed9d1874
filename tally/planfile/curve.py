"""What the two kinds of log file have in common: two columns of readings, chosen by name, each in a unit."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from tally import units
from tally.formats import plain
from tally.job.view.quantity import Kind

What = Literal["depth", "diameter"]

WORDS: dict[What, frozenset[str]] = {
    "depth": frozenset({"depth", "dept", "md"}),
    "diameter": frozenset({"caliper", "cali", "cal", "diameter", "diam", "hole diameter", "hole_diameter"}),
}
"""Names by which a column is found without being told."""


class LogFault(Exception):
    """A log that cannot be used: the key of [hole] that it concerns, what was given, what is accepted."""

    def __init__(self, key: str, given: str, accepted: str) -> None:
        self.key, self.given, self.accepted = key, given, accepted
        super().__init__(f"{key}: given {given}; accepted: {accepted}")


@dataclass(frozen=True, slots=True)
class Heading:
    """A column's name, and its unit as written; "" where the file names none."""

    name: str
    unit: str = ""
    whole: str = ""
    """Name and unit as they stand in the file, where they stand together."""

    def is_called(self, name: str) -> bool:
        return name.strip().casefold() in (self.name.casefold(), self.whole.casefold())


@dataclass(frozen=True, slots=True)
class Curves:
    """Readings in the file's order and units; None is a reading that the file marks as missing."""

    depth: Heading
    diameter: Heading
    readings: tuple[tuple[float | None, float | None], ...]


def place(headings: Sequence[Heading], what: What, wanted: str | None) -> int:
    """Which column holds the depth or the diameter: the one that the plan names, or the only one with a known name."""
    key, every = f"caliper_{what}", ", ".join(plain(heading.whole or heading.name) for heading in headings)
    if wanted is not None:
        found = [at for at, heading in enumerate(headings) if heading.is_called(wanted)]
    else:
        found = [at for at, heading in enumerate(headings) if heading.name.casefold() in WORDS[what]]
    if len(found) == 1:
        return found[0]
    named = f'"{plain(wanted)}"' if wanted is not None else f"no {key}"
    raise LogFault(
        key,
        f"{named}, which is {'none' if not found else f'any of {len(found)}'} of the log's columns",
        f'{key} = "…", one of {every}',
    )


def si_of(unit: str) -> float | None:
    """Metres in one of a unit; None where it is not known here."""
    try:
        return units.quantity("1", Kind.LENGTH, bare_unit=unit)
    except units.UnitFault:
        return None
