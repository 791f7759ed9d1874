"""The list before the first batch: asked for once, worked out where it can be, overridden with a reason, reported."""

import pytest

from tally.job import checklist
from tally.job import events as ev
from tally.job import intents as want
from tally.job.decide.refusal import Refusal
from tally.job.view.checklist import rows
from tally.job.view.quantity import Kind
from tally.job.view.report import report
from tally.report.markdown import markdown
from tests.scenario import Day, plan

ALL = ("flushed", "tremie", "balance", "stock", "casing", "protection")
THROUGH = {"stages": [{"name": "all", "bottom_m": 60.0, "top_m": 0.0, "mix": "neat", "method": "through casing"}]}


def refused(day: Day, intent: want.Intent) -> Refusal:
    decision = day.ask(intent)
    assert isinstance(decision, Refusal)
    return decision


def test_the_first_batch_meets_it_once() -> None:
    day = Day()
    for left, check in zip(range(6, 0, -1), ALL, strict=True):
        asked = refused(day, want.MixBatch(5, "5"))
        assert (asked.field, bool(asked.ask)) == ("checklist", True) and f" {left} thing" in asked.reason
        day.do(want.ConfirmCheck(check))  # type: ignore[arg-type]
    (first,) = day.do(want.MixBatch(5, "5"))
    day.void(first)
    day.do(want.MixBatch(6, "6"))


def test_it_can_be_insisted_on_and_never_stands_before_what_happened_already() -> None:
    day = Day()
    (first,) = day.do(want.MixBatch(5, "5", sure=True))
    assert not checklist.to_check(day.state)
    day.do(want.CorrectEntry(first.number, want.MixBatch(6, "6"), "miscounted"))
    other = Day()
    other.do(want.InsertEntry(1, want.MixBatch(5, "5"), "forgot it"))
    assert other.state.grout.batches


def test_what_is_no_batch_says_so_first() -> None:
    assert refused(Day(), want.MixBatch(0, "0")).field == "bags"


def test_without_a_tremie_nobody_moves_one() -> None:
    assert checklist.items(plan(**THROUGH)) == tuple(check for check in ALL if check != "tremie")
    assert "none of the things" in refused(Day(plan(**THROUGH)), want.ConfirmCheck("tremie")).reason


def test_what_is_short_by_the_numbers_takes_a_reason() -> None:
    """60 m of pi/4 x (0.250^2 - 0.168275^2) m2 is 1.6108 m3; +15 % and 15 points more is 2.09 m3 or 64 bags with the
    line: 40 aboard do not cover that, whatever the spread's exact form."""
    day = Day(plan(aboard={"bags": 40}))
    short = refused(day, want.ConfirmCheck("stock"))
    assert short.reason.startswith("40 bags and") and not short.ask
    assert checklist.stock(day.state).bags_high in range(62, 67)
    assert refused(day, want.OverrideCheck("stock", " ")).field == "reason"
    day.do(want.OverrideCheck("stock", "truck is on its way"))
    day.do(want.TakeDelivery(bags=40))
    day.do(want.ConfirmCheck("stock"))
    assert "confirmed already" in refused(day, want.OverrideCheck("stock", "x")).reason


def test_voided_it_waits_again() -> None:
    day = Day()
    (entry,) = day.do(want.ConfirmCheck("flushed"))
    day.void(entry)
    assert checklist.to_check(day.state) == ALL


@pytest.mark.parametrize(
    ("casing", "words"),
    [
        ({}, "open end"),
        ({"shoe": "closed"}, "would lift by"),
        ({"target_shoe_depth_m": 59.0, "shoe": "closed", "mass_kg_m": 400.0}, "the loads ask for nothing"),
    ],
)
def test_the_casing_is_asked_for_what_its_loads_ask(casing: dict[str, object], words: str) -> None:
    """A closed 168 mm pipe of 28 kg/m weighs less than the grout that it stands in; one of 400 kg/m does not."""
    found = next(
        row for row in rows(Day(plan(casing=casing, limits={"collapse_pa": 1e9})).state) if row.check == "casing"
    )
    assert words in found.detail.text
    assert all(
        value.kind in (Kind.LOAD, Kind.DEPTH, Kind.PRESSURE)
        for value in found.detail.values
        if not isinstance(value, str)
    )


def test_the_report_says_what_was_not_done_and_why() -> None:
    day = Day()
    day.do(want.OverrideCheck("flushed", "no water | left"))
    day.do(want.ConfirmCheck("balance"))
    text = markdown(report(day.state, digest="", program="test"), "metric")
    assert "NOT DONE, because no water \\| left" in text
    assert "Not done before the first batch: hole flushed, foam or cuttings out, because no water" in text
    assert "Before the first batch" not in markdown(report(Day().state, digest="", program="test"), "metric")
    day.record(ev.CheckOverridden(check="tremie", reason=""))
    assert "tremie free to move" in markdown(report(day.state, digest="", program="test"), "metric")
