"""What the report's drawings show, against the eventful day's round numbers."""

import pytest

from tally.job import events as ev
from tally.job.view.charted import charts
from tests.eventful import eventful_day
from tests.scenario import Day, plan


class TestPumped:
    def test_a_curve_a_stage_from_nothing_to_what_was_pumped(self) -> None:
        first, second = charts(eventful_day().state).pumped
        assert (first.stage, first.name, second.stage, second.name) == (1, "foot", 2, "rest")
        assert first.pumped[0] == (0.0, 0.0)
        # by hand: 400 and 200 L by meter; then 20 L on the operator's word, 900 L by meter, 70 L typed
        assert first.pumped[-1][1] == pytest.approx(0.600)
        assert second.pumped[-1][1] == pytest.approx(0.990)
        for chart in (first, second):
            assert list(chart.pumped) == sorted(chart.pumped)
            assert [m3 for _, m3 in chart.pumped] == sorted(m3 for _, m3 in chart.pumped)
            assert chart.planned_m3 < chart.planned_high_m3

    def test_returns_tags_and_alarms_stand_on_the_curve(self) -> None:
        first, second = charts(eventful_day().state).pumped
        assert [(mark.kind, mark.words, mark.depth_m) for mark in first.marks] == [
            ("alarm", "Returns overdue", None),
            ("tag", "grout lost", 40.0),
        ]
        assert first.marks[0].pumped_m3 == pytest.approx(0.600)
        assert [(mark.kind, mark.words) for mark in second.marks] == [
            ("returns", "weak water"),
            ("returns", "full grout"),
        ]
        assert second.marks[1].pumped_m3 == pytest.approx(0.990)

    def test_a_tag_after_the_end_is_not_on_it(self) -> None:
        assert 0.30 not in [mark.depth_m for chart in charts(eventful_day().state).pumped for mark in chart.marks]


class TestLoad:
    def test_each_joint_and_each_reading(self) -> None:
        made = charts(eventful_day().state).load
        assert made is not None
        assert len(made.expected) == 12 + 1
        assert [depth_m for depth_m, _ in made.expected] == sorted(depth_m for depth_m, _ in made.expected)
        assert made.expected[-1][0] == pytest.approx(60.0)
        assert [(load_n, verdict) for _, load_n, verdict in made.read] == [
            (5_000.0, "low")
        ]  # 28.26 kg/m x 20.2 m is 5,598 N, band 560 N
        assert (made.limit_name, made.limit_n) == ("hoist", 60_000.0)

    def test_by_the_water_that_was_known_when_the_joint_went_on(self) -> None:
        # filled only after the run: the run itself was of an empty closed string
        day = Day(plan(casing={"shoe": "closed"}))
        day.joints()
        empty = charts(day.state).load
        day.tick(60)
        day.record(ev.FluidLevelRead(where="inside casing", depth_m=0.0, typed="0 m"))
        assert charts(day.state).load == empty

    def test_none_without_casing(self) -> None:
        assert charts(Day().state).load is None
