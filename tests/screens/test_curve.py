"""The curve of pumped against planned: in the hole's place, by one key, and its figures in words."""

import asyncio

import pytest

from tally.job.view.charted import last_pumped, thinned
from tally.screens.curve import CurvePane, levels_m3
from tests.scenario import Day, grouting_day
from tests.screens.days import grout_under_way
from tests.screens.support import LARGE, bench


@pytest.mark.parametrize(("count", "most"), [(1, 5), (5, 5), (6, 5), (1_000, 120), (3, 2), (7, 0)])
def test_a_curve_is_thinned_to_the_width_and_keeps_its_ends(count: int, most: int) -> None:
    points = tuple((float(place), place / 10.0) for place in range(count))
    kept = thinned(points, most)
    assert len(kept) <= max(most, 2) and (kept[0], kept[-1]) == (points[0], points[-1])
    assert list(kept) == sorted(kept) and set(kept) <= set(points)


def test_of_two_levels_on_one_row_the_planned_volume_stays() -> None:
    chart = last_pumped(grout_under_way().state)
    assert chart is not None
    assert [name for _, name in levels_m3(chart, 40)] == ["0", "due", "over", "plan", "high"]
    assert [name for _, name in levels_m3(chart, 2)] == ["0", "plan"]


async def test_a_key_turns_the_drawing_over_and_back() -> None:
    async with bench(grout_under_way(), place="grout") as screen:
        assert "╎" in screen.text
        await screen.keys("h")
        await screen.shows("pumped 1,050 L, planned 1,892 L", "plan 1892 ┫", "across: minutes of the stage")
        assert "STILL NEEDED" not in screen.text
        await screen.keys("h")
        await screen.shows("╎", "STILL NEEDED")


async def test_a_large_terminal_holds_curve_and_figures() -> None:
    async with bench(grout_under_way(), place="grout", size=LARGE) as screen:
        await screen.keys("h")
        await screen.shows("plan 1892 ┫", "STILL NEEDED", "RETURNS weak, water")
        await screen.keys("f7")
        await screen.shows("plan 500 ┫", "planned 499.9 US gal")


async def test_before_a_stage_there_is_none() -> None:
    async with bench(Day(), place="grout") as screen:
        await screen.keys("h")
        await screen.shows("no stage begun yet")


async def test_where_it_cannot_be_drawn_its_figures_stand(monkeypatch: pytest.MonkeyPatch) -> None:
    async def broken(*_: object) -> None:
        raise ImportError("no such library")

    monkeypatch.setattr(asyncio, "to_thread", broken)
    async with bench(grouting_day(), place="grout") as screen:
        await screen.keys("h")
        await screen.shows("the curve cannot be drawn here: ImportError: no such library")
        await screen.keys("h")
        await screen.shows("STILL NEEDED")
        assert screen.app.screen.query_one(CurvePane)
