"""Published tables: every row with its source, and the tolerance that its printed digits allow."""

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
REQUIRED = ("id", "source", "edition", "address", "date_read", "known", "rounding", "rows")
KNOWN = ("R", "R2", "M+")


@dataclass(frozen=True)
class Row:
    """One row of a table. Indexing finds its own value first, then the table's."""

    file: str
    table: dict[str, Any]
    values: dict[str, Any]

    def __getitem__(self, key: str) -> Any:
        return self.values[key] if key in self.values else self.table[key]

    def __contains__(self, key: str) -> bool:
        return key in self.values or key in self.table

    @property
    def source(self) -> str:
        return f"{self['source']} ({self['known']}, {self['address']})"

    def tolerance(self, column: str | None = None, rounding: float | None = None) -> float:
        """Half the last printed digit, or the row's (or table's) own bound, which must carry a reason."""
        bound = self.values.get("bound", self.table.get("bound"))
        if isinstance(bound, dict):
            bound = bound.get(column)
        if bound is not None:
            assert self["reason"], f"{self.file}: a bound without a reason"
            return float(bound)
        return 0.5 * float(self["rounding"] if rounding is None else rounding) * (1 + 1e-9)

    def holds(self, value: float, column: str, *, rounding: float | None = None) -> None:
        """Assert that a computed value agrees with the printed one; `rounding` for a column printed in its own way."""
        tolerance, printed = self.tolerance(column, rounding), float(self[column])
        assert abs(value - printed) <= tolerance, f"{value} for a printed {printed} ± {tolerance}: {self.source}"

    def __repr__(self) -> str:
        return f"{self.table['id']}-" + "-".join(
            f"{v}" for v in self.values.values() if not isinstance(v, str) or len(v) < 20
        )


def tables() -> Iterator[tuple[str, dict[str, Any]]]:
    """Every table of every file, with the file's name."""
    for path in sorted(HERE.glob("*.toml")):
        for table in tomllib.loads(path.read_text(encoding="utf-8"))["table"]:
            yield path.name, table


def rows(*ids: str) -> list[Row]:
    """Every row of the named tables."""
    found = [Row(file, table, values) for file, table in tables() if table["id"] in ids for values in table["rows"]]
    assert {row.table["id"] for row in found} == set(ids)
    return found
