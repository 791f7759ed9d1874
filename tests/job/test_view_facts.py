"""The block of facts against what published forms ask for, and against a session: filled where known, else empty."""

import csv
import io
from functools import cache

import pytest

from tally.formats import Units
from tally.job.view.report import ReportView, report
from tally.job.view.reported_facts import Fact
from tally.report.tables import as_json, tables
from tally.report.writer import Writer
from tests.eventful import eventful_day
from tests.published.tables import Row, rows
from tests.scenario import Day

FIELDS = rows("colorado_gws_31", "north_carolina_gw_1", "wisconsin_nr_812")
BY_HAND = {("Screen and filter pack", "Filter pack: material, from, to"), ("Screen and filter pack", "Packer")}
BY_HAND |= {("Test", "Method"), ("Test", "Rate")}


@cache
def view() -> ReportView:
    return report(eventful_day().state, digest="", program="1")


def found(group: str, label: str) -> Fact:
    (fact,) = [fact for fact in view().facts if (fact.group, fact.label) == (group, label)]
    return fact


def shown(fact: Fact, units: Units = "metric") -> str:
    return Writer("UTC", units, view().opened_at).fact(fact.value)


@pytest.mark.parametrize("field", FIELDS, ids=lambda field: f"{field.table['id']} {field['field']}")
def test_each_field_of_a_published_form_has_its_fact(field: Row) -> None:
    filled = bool(shown(found(*field["fact"])))
    assert filled is (tuple(field["fact"]) not in BY_HAND), field.source


def test_values_by_hand() -> None:
    assert shown(found("Grout", "Stage 1, from and to")) == "60.00 m to 20.00 m"
    assert shown(found("Grout", "Stage 1, volume pumped")) == "600 L"
    assert shown(found("Grout", "Stage 1, bags")) == "30"
    assert "hose burst" in shown(found("Grout", "Stage 1, interruptions"))
    assert shown(found("Casing", "To, depth of the shoe")) == "60.00 m"
    assert shown(found("Casing", "Outside diameter"), "us") == "6.625 in"


def test_what_the_session_cannot_know_is_empty_everywhere() -> None:
    empty = {(fact.group, fact.label) for fact in report(Day().state, digest="", program="1").facts if not shown(fact)}
    assert {
        ("Well and owner", "Latitude and longitude"),
        ("Casing", "Joints"),
        ("Casing", "Inspection of welds"),
    } <= empty
    table = list(csv.DictReader(io.StringIO(tables(view())["well_record"])))
    for row, fact in zip(table, view().facts, strict=True):
        assert (row["group"], row["label"]) == (fact.group, fact.label)
        assert bool(row["text"] or row["number"]) is bool(shown(fact)), row
    facts = as_json(view())["facts"]
    assert [(row["group"], row["label"]) for row in facts] == [(fact.group, fact.label) for fact in view().facts]
