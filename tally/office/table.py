"""The tables of an export: their names, and their columns as the rows' own fields say them."""

from __future__ import annotations

import types
from dataclasses import dataclass, fields
from typing import Any, Protocol, Union, get_args, get_origin, get_type_hints

from tally.job.view.ledger import AlarmRow, JobRow, JointRow, Row, SampleRow, StageRow


@dataclass(frozen=True, slots=True)
class Column:
    name: str
    type: type
    """str, int, float, bool or datetime."""
    known: bool
    """Never empty."""


@dataclass(frozen=True)
class Table:
    name: str
    row: type[Row]

    @property
    def columns(self) -> tuple[Column, ...]:
        hints = get_type_hints(self.row)
        return tuple(_column(field.name, hints[field.name]) for field in fields(self.row))


def _column(name: str, hint: Any) -> Column:
    if get_origin(hint) in (Union, types.UnionType):
        [of] = [part for part in get_args(hint) if part is not type(None)]
        return Column(name, of, known=False)
    return Column(name, hint, known=True)


TABLES = (
    Table("jobs", JobRow),
    Table("joints", JointRow),
    Table("stages", StageRow),
    Table("samples", SampleRow),
    Table("alarms", AlarmRow),
)
TABLE_OF = {table.row: table for table in TABLES}


class Sink(Protocol):
    """Where rows go. Holds no more of them than a bounded number."""

    def put(self, row: Row) -> None: ...

    def close(self) -> None:
        """All is written, and every table is there, be it without rows."""
