"""Tables as CSV, one file each, row by row. No cell is taken for a formula."""

from __future__ import annotations

import csv
from contextlib import ExitStack
from datetime import datetime
from functools import lru_cache
from operator import attrgetter
from pathlib import Path
from typing import Any

from tally.job.coding import utc_text
from tally.job.view.ledger import Row
from tally.office.table import TABLES
from tally.report.cells import cell, neutral


class CsvFiles:
    """`jobs.csv`, `joints.csv` … in a folder: UTF-8, RFC 4180 with plain line ends, times in UTC."""

    def __init__(self, folder: Path) -> None:
        self._files = ExitStack()
        self._writers: dict[type[Row], Any] = {}
        self._cells: dict[type[Row], attrgetter[tuple[Any, ...]]] = {}
        for table in TABLES:
            path = folder / f"{table.name}.csv"
            file = self._files.enter_context(path.open("w", encoding="utf-8", newline=""))
            self._writers[table.row] = csv.writer(file, lineterminator="\n")
            names = [column.name for column in table.columns]
            self._cells[table.row] = attrgetter(*names)
            self._writers[table.row].writerow(names)

    def put(self, row: Row) -> None:
        self._writers[type(row)].writerow(map(_text, self._cells[type(row)](row)))

    def close(self) -> None:
        self._files.close()


def _text(value: Any) -> str:
    if isinstance(value, str):
        return _neutral(value)
    return utc_text(value) if isinstance(value, datetime) else cell(value)


@lru_cache(maxsize=1_000)
def _neutral(text: str) -> str:
    # Session, rig and channel stand in every row of a day.
    return neutral(text)
