"""Tables as Parquet, parted by the year and month in which a session was opened. The only module with pyarrow."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path

import pyarrow as pa
import pyarrow.parquet as pq

from tally.job.view.ledger import Row
from tally.office.table import TABLE_OF, TABLES, Column, Table

GROUP = 20_000
"""Rows held before they are written: a group of a file."""
MOST_OPEN = 10
"""Files open at once. Sessions come by their date, so that a month is left behind soon."""
_TYPES = {
    str: pa.string(),
    int: pa.int64(),
    float: pa.float64(),
    bool: pa.bool_(),
    datetime: pa.timestamp("us", tz="UTC"),
}


class _Part:
    """One file under way."""

    def __init__(self, path: Path, table: Table) -> None:
        path.parent.mkdir(parents=True, exist_ok=True)
        self._schema, self._names = _schema(table), [column.name for column in table.columns]
        self._writer = pq.ParquetWriter(path, self._schema, compression="zstd")
        self._rows: list[Row] = []

    def put(self, row: Row) -> None:
        self._rows.append(row)
        if len(self._rows) >= GROUP:
            self._write()

    def _write(self) -> None:
        columns = {name: [getattr(row, name) for row in self._rows] for name in self._names}
        self._writer.write_table(pa.Table.from_pydict(columns, schema=self._schema))
        self._rows = []

    def close(self) -> None:
        if self._rows:
            self._write()
        self._writer.close()


class ParquetFiles:
    """`stages/year=2026/month=05/part-0001.parquet` and so on, as engines read a parted table; months in UTC."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._open: dict[tuple[str, str], _Part] = {}
        self._made = 0

    def put(self, row: Row) -> None:
        table = TABLE_OF[type(row)]
        key = table.name, _month(row.opened_at)
        part = self._open.pop(key, None) or self._begun(table, key)
        self._open[key] = part  # the one that was written to last stands last
        part.put(row)

    def _begun(self, table: Table, key: tuple[str, str]) -> _Part:
        while len(self._open) >= MOST_OPEN:
            self._open.pop(next(iter(self._open))).close()
        self._made += 1
        return _Part(self._folder / key[0] / key[1] / f"part-{self._made:04d}.parquet", table)

    def close(self) -> None:
        for part in self._open.values():
            part.close()
        self._open.clear()
        for table in TABLES:
            if not (self._folder / table.name).is_dir():
                _Part(self._folder / table.name / "empty.parquet", table).close()


@lru_cache(maxsize=100)
def _month(opened_at: datetime) -> str:
    return f"year={opened_at.astimezone(UTC):%Y}/month={opened_at.astimezone(UTC):%m}"


def _schema(table: Table) -> pa.Schema:
    return pa.schema(_fields(table.columns))


def _fields(columns: Sequence[Column]) -> list[pa.Field]:
    return [pa.field(column.name, _TYPES[column.type], nullable=not column.known) for column in columns]
