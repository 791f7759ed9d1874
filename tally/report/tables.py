"""The report as data: one object for JSON, one table a kind of row for spreadsheets. SI, the unit in every name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from tally.job.view.quantity import Quantity
from tally.job.view.report import ReportView
from tally.report.cells import csv_text
from tally.report.si import si_object, si_unit

Row = dict[str, Any]
_OWN_TABLES = {"joints", "rejected", "cut_offs", "centralizers", "loads", "batches", "returns", "tags", "interruptions"}


def as_json(view: ReportView) -> dict[str, Any]:
    """Everything in the view, keys in its order; an unknown value is null."""
    return si_object(view)


def tables(view: ReportView) -> dict[str, str]:
    """Name of a table to its text as CSV. A table without rows is left out."""
    return {name: _text(rows) for name, rows in _tables(view).items() if rows}


def _text(rows: Sequence[Row]) -> str:
    found = dict.fromkeys(key for row in rows for key in row)
    columns = [key for key in found if not _stands_for_nothing(key, rows, found)]
    return csv_text(columns, ([row.get(key) for key in columns] for row in rows))


def _stands_for_nothing(key: str, rows: Sequence[Row], columns: Iterable[str]) -> bool:
    """An object that some rows lack: the others have its parts as columns."""
    parts = any(column.startswith(f"{key}_") for column in columns)
    return parts and all(row.get(key) is None for row in rows)


def _tables(view: ReportView) -> dict[str, list[Row]]:
    hole, casing = view.hole, view.casing
    whole = si_object(view)
    day = _flat({key: whole[key] for key in ("job", "crew", "who", "opened_at", "at", "entries", "digest", "program")})
    return {
        "day": [day],
        "times": _rows(view.moments),
        "activities": _rows(view.spells),
        "hole_sections": _rows(hole.sections),
        "zones": _rows(hole.zones),
        "casing": [_flat(si_object(casing))],
        "joints": _rows(casing.joints),
        "rejected_joints": _rows(casing.rejected),
        "cut_offs": _rows(casing.cut_offs),
        "centralizers": _rows(casing.centralizers),
        "hook_loads": _rows(casing.loads),
        "stages": _rows(view.stages),
        "batches": [*_of_stages(view, "batches"), *({"stage": None} | row for row in _rows(view.loose_batches))],
        "returns": _of_stages(view, "returns"),
        "tags": _of_stages(view, "tags"),
        "interruptions": _of_stages(view, "interruptions"),
        "materials": list(_materials(view)),
        "alarms": _rows(view.alarms),
        "corrections": list(_corrections(view)),
        "measured": _rows(view.measured),
        "meter": _rows(view.meter),
        "notes": _rows(view.notes),
        "record": _rows(view.record),
        "rules": [{"rules": each.name} | row for each in view.rules for row in _rows(each.notes)],
        "well_record": list(_facts(view)),
    }


def _rows(parts: Iterable[Any]) -> list[Row]:
    return [_flat(si_object(part)) for part in parts]


def _flat(row: Row, before: str = "") -> Row:
    """Objects within a row as further columns, lists of plain values as one; lists of objects have their own tables."""
    found: Row = {}
    for key, value in row.items():
        if isinstance(value, dict):
            found |= _flat(value, f"{before}{key}_")
        elif not isinstance(value, list):
            found[before + key] = value
        elif key not in _OWN_TABLES and not any(isinstance(item, dict | list) for item in value):
            found[before + key] = "; ".join(str(item) for item in value)
    return found


def _of_stages(view: ReportView, name: str) -> list[Row]:
    return [{"stage": stage.begun} | row for stage in view.stages for row in _rows(getattr(stage, name))]


def _materials(view: ReportView) -> Iterator[Row]:
    for balance in view.balances:
        for side in ("came", "went"):
            for part in getattr(balance, side):
                yield {"material": balance.name, "side": side, "holds": balance.holds, **si_object(part)}


def _facts(view: ReportView) -> Iterator[Row]:
    """One table for all: text, or a number and its unit; neither where the field is to be filled in by hand."""
    for fact in view.facts:
        row = si_object(fact)
        number = isinstance(fact.value, Quantity)
        value = next(value for key, value in row.items() if key.startswith("value"))
        yield {
            "group": fact.group,
            "label": fact.label,
            "text": None if number else value,
            "number": value if number else None,
            "unit": si_unit(fact.value.kind) if isinstance(fact.value, Quantity) and value is not None else None,
        }


def _corrections(view: ReportView) -> Iterator[Row]:
    for made in view.corrections:
        row = si_object(made)
        changes: list[Row] = row.pop("changes")
        words = [f"{change.pop('key')}: {' to '.join(str(value) for value in change.values())}" for change in changes]
        yield row | {"changes": "; ".join(words)}
