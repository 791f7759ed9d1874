"""A table of a plan file, read key by key. A mistake is noted and reading goes on, so that one pass finds them all."""

import difflib
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from tally import units
from tally.formats import plain
from tally.job.view.quantity import Kind
from tally.planfile.locator import Path, line_of
from tally.planfile.mistake import Mistake

LONGEST_SHOWN = 60


@dataclass
class Desk:
    """What all tables of one file share."""

    file: str
    lines: dict[Path, int]
    gallon: units.Gallon | None = None
    mistakes: list[Mistake] = field(default_factory=list)

    def note(self, path: Path, given: str, accepted: str) -> None:
        self.mistakes.append(Mistake(shown_path(path), line_of(self.lines, path), given, accepted, self.file))


def shown_path(path: Path) -> str:
    """hole.section[2].diameter: positions counted from 1, as a crew counts."""
    words = "".join(f"[{part + 1}]" if isinstance(part, int) else f".{plain(part)}" for part in path)
    return words.removeprefix(".")


def shown(value: object) -> str:
    """A value from the file as short plain text."""
    if isinstance(value, dict):
        return "a table"
    text = {True: "true", False: "false"}[value] if isinstance(value, bool) else plain(str(value))
    if isinstance(value, str) and not text:
        return "an empty text"
    return text if len(text) <= LONGEST_SHOWN else f"{text[:LONGEST_SHOWN]}…"


class Table:
    """Each getter returns None where the key is absent or wrong; what is wrong or missing has then been noted."""

    def __init__(self, values: dict[str, Any], path: Path, desk: Desk) -> None:
        self._values, self.path, self.desk = values, path, desk
        self._known: list[str] = []
        self._before = len(desk.mistakes)

    @property
    def sound(self) -> bool:
        """True while nothing wrong has been noted since this table was opened."""
        return len(self.desk.mistakes) == self._before

    def has(self, key: str) -> bool:
        return key in self._values

    def peek(self, key: str) -> Any:
        """The raw value, looked at before its turn."""
        return self._values.get(key)

    def typed(self, key: str) -> str:
        """A value as it stands in the file, unit and all: what a mistake names it by."""
        return shown(self.peek(key))

    def note(self, key: str, given: str, accepted: str) -> None:
        self.desk.note((*self.path, key), given, accepted)

    def _get(self, key: str, accepted: str, required: bool) -> Any:
        self._known.append(key)
        value = self._values.get(key)
        if value is None and required:
            self.note(key, "nothing", accepted)
        return value

    def text(self, key: str, *, required: bool = False, example: str = "a text in quotes") -> str | None:
        value = self._get(key, example, required)
        if value is None:
            return None
        if not isinstance(value, str) or (required and not value.strip()) or len(value) > 2000:
            self.note(key, shown(value), f"{example}, at most 2000 characters")
            return None
        return value

    def choice(self, key: str, options: Sequence[str], *, required: bool = True) -> str | None:
        accepted = " or ".join(f'"{option}"' for option in options)
        value = self._get(key, accepted, required)
        if value is None:
            return None
        if value not in options:
            self.note(key, shown(value), accepted)
            return None
        return str(value)

    def texts(self, key: str, *, example: str) -> list[str]:
        """A list of texts; empty where there is none or it is wrong."""
        value = self._get(key, example, False)
        if value is None:
            return []
        if not isinstance(value, list) or not all(isinstance(item, str) and item.strip() for item in value):
            self.note(key, shown(value), example)
            return []
        return value

    def day(self, key: str, *, example: str) -> str | None:
        """A day as a TOML date or in quotes, as 2026-11-25."""
        value = self._get(key, example, True)
        if value is None:
            return None
        if type(value) is date:
            return value.isoformat()
        try:
            return date.fromisoformat(value).isoformat()
        except (TypeError, ValueError):
            self.note(key, shown(value), example)
            return None

    def flag(self, key: str) -> bool | None:
        value = self._get(key, "true or false", False)
        if value is not None and not isinstance(value, bool):
            self.note(key, shown(value), "true or false")
            return None
        return value

    def number(self, key: str, low: float, high: float) -> float | None:
        """A pure number, such as a factor."""
        accepted = f"a number from {low:g} to {high:g}"
        value = self._get(key, accepted, False)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
            self.note(key, shown(value), accepted)
            return None
        return float(value)

    def count(self, key: str, low: int, high: int, *, required: bool = True) -> int | None:
        accepted = f"a whole number from {low} to {high}"
        value = self._get(key, accepted, required)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            self.note(key, shown(value), accepted)
            return None
        return value

    def quantity(self, key: str, kind: Kind, *, required: bool = False, above_zero: bool = False) -> float | None:
        value = self._get(key, units.accepted(kind), required)
        return None if value is None else self._read((key,), value, kind, above_zero)

    def signed(self, key: str, kind: Kind) -> float | None:
        """A correction, which may be negative: "-3 mm"."""
        value = self._values.get(key)
        if not isinstance(value, str) or not value.lstrip().startswith(("-", "−")):
            return self.quantity(key, kind)
        self._known.append(key)
        size = self._read((key,), value.lstrip()[1:], kind, False)
        return None if size is None else -size

    def length(self, key: str, *, required: bool = False, above_zero: bool = False) -> float | None:
        return self.quantity(key, Kind.LENGTH, required=required, above_zero=above_zero)

    def quantities(
        self, key: str, kind: Kind, *, accepted: str, required: bool = False
    ) -> list[tuple[int, float]] | None:
        """(position, value) of each item; None if any is wrong. An item "12 x 6.10 m" counts twelve times."""
        value = self._get(key, accepted, required)
        if value is None:
            return None
        if not isinstance(value, list):
            self.note(key, shown(value), accepted)
            return None
        found: list[tuple[int, float]] = []
        sound = True
        for position, item in enumerate(value):
            times, one = _times(item)
            if not 1 <= times <= 1000:
                self.desk.note((*self.path, key, position), shown(item), "between 1 and 1000 of a kind")
                sound = False
                continue
            size = self._read((key, position), one, kind, True)
            sound = sound and size is not None
            found += [(position, size)] * times if size is not None else []
        return found if sound else None

    def _read(self, key: Path, value: object, kind: Kind, above_zero: bool) -> float | None:
        where = (*self.path, *key)
        if not isinstance(value, str):
            self.desk.note(where, shown(value), units.accepted(kind))
            return None
        try:
            si = units.quantity(value, kind, gallon=self.desk.gallon)
        except units.UnitFault as fault:
            self.desk.note(where, f"{shown(value)} ({fault.why})" if fault.why else shown(value), fault.accepted)
            return None
        if above_zero and si <= 0:
            self.desk.note(where, shown(value), f"more than nothing: {units.accepted(kind)}")
            return None
        return si

    def unit(self, key: str, kind: Kind, *, required: bool) -> float | None:
        """SI value of one of a unit that is given alone: "L/min"."""
        accepted = f"a unit alone, such as {' or '.join(units.spellings(kind)[:4])}"
        value = self._get(key, accepted, required)
        if value is None:
            return None
        try:
            return units.quantity("1", kind, gallon=self.desk.gallon, bare_unit=value if isinstance(value, str) else "")
        except units.UnitFault:
            self.note(key, shown(value), accepted)
            return None

    def table(self, key: str, *, required: bool = False) -> "Table | None":
        accepted = f"a table [{shown_path((*self.path, key))}]"
        value = self._get(key, accepted, required)
        if value is None:
            return None
        if not isinstance(value, dict):
            self.note(key, shown(value), accepted)
            return None
        return Table(value, (*self.path, key), self.desk)

    def tables(self, key: str) -> "list[Table] | None":
        """At least one table, or None."""
        accepted = f"one or more tables [[{shown_path((*self.path, key))}]]"
        value = self._get(key, accepted, True)
        if value is None:
            return None
        if not isinstance(value, list) or not value or not all(isinstance(item, dict) for item in value):
            self.note(key, shown(value), accepted)
            return None
        return [Table(item, (*self.path, key, number), self.desk) for number, item in enumerate(value)]

    def close(self) -> bool:
        """Notes every key that nobody asked for; True if the whole table was sound."""
        for key in self._values:
            if key in self._known:
                continue
            # What a scale shows is a mass here, whatever the crew calls it.
            near = difflib.get_close_matches(key.replace("weight", "mass"), self._known, n=1)
            known = ", ".join(self._known)
            self.note(
                key,
                "a key that is not known here",
                f'"{near[0]}" (nearest), or one of {known}' if near else f"one of {known}",
            )
        return self.sound


def _times(item: object) -> tuple[int, object]:
    """ "12 x 6.10 m" is twelve of 6.10 m."""
    if isinstance(item, str):
        count, mark, rest = item.replace("×", "x").partition("x")
        if mark and count.strip().isascii() and count.strip().isdigit() and len(count) < 8:
            return int(count), rest
    return 1, item
