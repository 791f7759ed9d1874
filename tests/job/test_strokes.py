"""Strokes counted by hand: the plan's stroke makes a volume of them, and entry and log keep how it came about."""

import pytest

from tally.formats import text
from tally.job import events as ev
from tally.job import grouting
from tally.job import intents as want
from tally.job.coding import decoded, encoded
from tally.job.decide.refusal import Refusal
from tally.job.view.log import told
from tests.scenario import Day, grouting_day, plan

PUMP = {"rate_m3_s": 0.001, "stroke_m3": 0.0012, "efficiency_share": 0.9}
"""1.2 L a stroke, of which 90 % are delivered: 1.08 L."""


def counted(day: Day, strokes: int) -> ev.VolumeAdded:
    found = day.ask(want.AddStrokes(strokes, f"{strokes} strokes"))
    assert not isinstance(found, Refusal), found
    (event,) = found
    assert isinstance(event, ev.VolumeAdded)
    day.record(event)
    return event


def pumped_m3(day: Day) -> float:
    stage = day.state.grout.stage
    assert stage is not None
    return grouting.pumped_m3(stage, day.state.flow)


def words(event: ev.AnyEvent) -> str:
    return told(event).written(lambda quantity: text(quantity, "metric"))


def test_a_volume_of_strokes_by_hand() -> None:
    # 120 strokes of 1.2 L at 90 %: 129.6 L
    day = grouting_day(plan(meter=None, pump=PUMP))
    event = counted(day, 120)
    assert event.volume_m3 == pytest.approx(0.1296)
    assert (event.strokes, event.stroke_m3, event.efficiency_share, event.typed) == (120, 0.0012, 0.9, "120 strokes")
    counted(day, 30)
    assert pumped_m3(day) == pytest.approx(0.162)
    assert words(event).startswith("130 L pumped that no meter counted: 120 strokes of 1.2")
    assert words(event).endswith("at 90 %")


def test_the_entry_survives_its_line() -> None:
    day = grouting_day(plan(meter=None, pump=PUMP))
    counted(day, 7)
    assert decoded(encoded(day.entries[-1])) == day.entries[-1]


def test_it_is_voided_and_corrected_like_any_volume() -> None:
    day = grouting_day(plan(meter=None, pump=PUMP))
    counted(day, 100)
    found = day.ask(want.CorrectEntry(day.entries[-1].number, want.AddStrokes(110, "110 strokes"), "miscounted"))
    assert not isinstance(found, Refusal), found
    day.record(found[0])
    assert pumped_m3(day) == pytest.approx(0.1188)  # 110 x 1.08 L
    found = day.ask(want.Void(day.entries[-1].number, "never pumped"))
    assert not isinstance(found, Refusal), found
    day.record(found[0])
    assert pumped_m3(day) == pytest.approx(0.108)  # the correction is taken back: 100 strokes stand again


def test_a_stroke_is_that_of_the_plan_under_which_it_was_counted() -> None:
    day = grouting_day(plan(meter=None, pump=PUMP))
    first = counted(day, 100).volume_m3
    day.record(ev.PlanAmended(plan=plan(meter=None, pump=PUMP | {"efficiency_share": 0.8}), reason="bucket test"))
    assert counted(day, 100).volume_m3 == pytest.approx(0.096)
    assert pumped_m3(day) == pytest.approx(first + 0.096)


@pytest.mark.parametrize(
    ("pump", "strokes", "said"),
    [
        (None, 10, "no [pump]: it needs one with stroke_volume and efficiency"),
        ({"rate_m3_s": 0.001}, 10, "in its [pump] no stroke_volume and efficiency"),
        (PUMP, 0, "given 0; a whole number from 1 to 100000"),
        (PUMP, 99_999, "50"),  # 108 m3
    ],
)
def test_strokes_that_make_no_volume_are_refused(pump: dict[str, float] | None, strokes: int, said: str) -> None:
    day = grouting_day(plan(meter=None, pump=pump))
    found = day.ask(want.AddStrokes(strokes, f"{strokes} strokes"))
    assert isinstance(found, Refusal)
    assert said in found.words(lambda quantity: f"{quantity.si:g}")


def test_where_the_meter_counts_it_is_asked() -> None:
    day = grouting_day(plan(pump=PUMP))
    day.metered()
    found = day.ask(want.AddStrokes(10, "10 strokes"))
    assert isinstance(found, Refusal) and "meter is counting" in found.reason
    assert not isinstance(day.ask(want.AddStrokes(10, "10 strokes", sure=True)), Refusal)
