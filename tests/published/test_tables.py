"""No published value without its source."""

from typing import Any

import pytest

from tests.published.tables import KNOWN, REQUIRED, tables

TABLES = list(tables())


@pytest.mark.parametrize(("file", "table"), TABLES, ids=[table.get("id", "?") for _, table in TABLES])
def test_every_table_names_its_source_and_how_it_is_known(file: str, table: dict[str, Any]) -> None:
    for key in REQUIRED:
        assert table.get(key), f"{file}: table {table.get('id')} has no {key}"
    assert table["known"] in KNOWN, "values from memory alone or from our own code are not published checks"
    assert "from memory" not in table["source"]


@pytest.mark.parametrize(("file", "table"), TABLES, ids=[table.get("id", "?") for _, table in TABLES])
def test_every_bound_of_its_own_carries_its_reason(file: str, table: dict[str, Any]) -> None:
    for holder in (table, *table["rows"]):
        if "bound" in holder:
            assert len(holder.get("reason", "")) > 10, f"{file}: {table['id']}: a bound without a reason"
    if table["source"].startswith("each row"):
        assert all(row.get("source") and row.get("reason") for row in table["rows"])


def test_ids_are_unique() -> None:
    names = [table["id"] for _, table in TABLES]
    assert len(names) == len(set(names))
