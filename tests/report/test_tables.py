"""The report as data: every row of the view in its table, units in the names, text from outside never a formula."""

import csv
import io
import json
from functools import cache
from typing import Any

import pytest

from tally.job import events as ev
from tally.job.view.report import ReportView, report
from tally.report.cells import cell, csv_text, neutral
from tally.report.tables import as_json, tables
from tests.eventful import eventful_day
from tests.scenario import Day, plan

COUNTS_AND_NUMBERS = {
    "begun", "bags", "entries", "number", "place", "planned_place", "stage", "times_interrupted", "voided_joints",
    "amount", "value", "before", "after", "joints_in",
}  # fmt: skip
UNITS = ("_m", "_m3", "_m3_s", "_m3_m", "_n", "_kg", "_kg_m", "_kg_m3", "_pa", "_pa_s", "_s", "_share")


@cache
def view() -> ReportView:
    return report(eventful_day().state, digest="ab" * 32, program="9.9")


def rows(name: str, of: ReportView | None = None) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(tables(of or view())[name])))


class TestCells:
    @pytest.mark.parametrize("start", "=+-@")
    def test_a_formula_stays_text(self, start: str) -> None:
        # OWASP, "CSV Injection": these four, a tab and a carriage return begin a formula
        assert neutral(f'{start}HYPERLINK("x")') == f'\'{start}HYPERLINK("x")'
        assert neutral(f"  {start}1") == f"'  {start}1"
        assert cell(f"\t{start}1").startswith("'")

    def test_numbers_stay_numbers(self) -> None:
        assert [cell(value) for value in (-0.5, 3, None, True, "a")] == ["-0.5", "3", "", "yes", "a"]

    def test_commas_quotes_and_line_ends(self) -> None:
        text = csv_text(("a", "b"), [('x,"y"', "one\ntwo")])
        assert list(csv.reader(io.StringIO(text))) == [["a", "b"], ['x,"y"', "one two"]]

    def test_a_hostile_name_is_neutral_everywhere(self) -> None:
        day = Day(plan(job={"name": "=1+1"}, crew={"driller": "@SUM(A1)"}))
        day.record(ev.NoteWritten(text="-2+3"))
        made = report(day.state, digest="", program="1")
        for text in tables(made).values():
            for row in csv.reader(io.StringIO(text)):
                assert not [found for found in row if found[:1] in ("=", "@", "+") or found == "-2+3"]
        assert rows("notes", made)[0]["text"] == "'-2+3"


class TestTables:
    def test_each_kind_of_row_has_its_table(self) -> None:
        made = view()
        counts = {
            "joints": len(made.casing.joints),
            "rejected_joints": len(made.casing.rejected),
            "hook_loads": len(made.casing.loads),
            "stages": len(made.stages),
            "batches": sum(len(stage.batches) for stage in made.stages),
            "tags": sum(len(stage.tags) for stage in made.stages),
            "alarms": len(made.alarms),
            "corrections": len(made.corrections),
            "notes": len(made.notes),
            "well_record": len(made.facts),
        }
        assert {name: len(rows(name)) for name in counts} == counts
        assert min(counts.values()) > 0

    def test_values(self) -> None:
        # by hand: 5.05 m each, 0.50 m above ground
        assert rows("joints")[0] == {
            "place": "1", "number": "2", "length_m": "5.05", "shoe_m": "4.55", "at": "2026-05-11T12:01:00.000Z",
        }  # fmt: skip
        assert [row["pumped_m3"] for row in rows("stages")] == ["0.6", "0.99"]
        assert rows("stages")[0]["mix_density_kg_m3"] == "1870"
        assert {row["material"] for row in rows("materials")} >= {"Joints", "Bags", "Water"}
        amended = next(row for row in rows("corrections") if row["what"] == "plan amended")
        assert amended["changes"] == "hole sections 1 bottom: 60.0 to 66.0"

    def test_empty_facts_are_empty(self) -> None:
        found = {(row["group"], row["label"]): row for row in rows("well_record")}
        empty = found["Well and owner", "Latitude and longitude"]
        assert (empty["text"], empty["number"], empty["unit"]) == ("", "", "")
        depth = found["Hole", "Total depth"]
        assert (depth["text"], depth["number"], depth["unit"]) == ("", "66", "m")

    def test_a_table_without_rows_is_left_out(self) -> None:
        assert "stages" not in tables(report(Day().state, digest="", program="1"))


class TestJson:
    def test_the_unit_is_in_every_key(self) -> None:
        found = json.loads(json.dumps(as_json(view()), allow_nan=False))
        for key, value in _leaves(found):
            if isinstance(value, int | float) and not isinstance(value, bool):
                assert key.endswith(UNITS) or key in COUNTS_AND_NUMBERS, key

    def test_everything_of_the_view_is_there(self) -> None:
        found = as_json(view())
        assert found["stages"][0]["mix"]["density_kg_m3"] == 1870.0
        assert found["job"]["name"] == view().job.name
        assert [row["entry"] if "entry" in row else row["number"] for row in found["casing"]["joints"]] == [
            row.number for row in view().casing.joints
        ]


def _leaves(value: Any, key: str = "") -> list[tuple[str, Any]]:
    if isinstance(value, dict):
        return [leaf for name, item in value.items() for leaf in _leaves(item, name)]
    if isinstance(value, list):
        return [leaf for item in value for leaf in _leaves(item, key)]
    return [(key, value)]
