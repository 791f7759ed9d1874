"""The landing on the casing screen: planned by a key, followed, departed from. Lengths added up by hand."""

from typing import Any

from tally.job import events as ev
from tally.job import intents as want
from tests.scenario import Day, plan
from tests.screens.support import LARGE, bench

RACK_M = [6.02, 6.05, 5.98, 6.01, 6.04, 6.03, 6.00]


def day(rack_m: list[float] | None = None, **casing: Any) -> Day:
    """Seven joints make 42.13 m; a shoe at 41.6 m leaves 0.53 m, with 0.35 to 0.55 m wanted."""
    casing = {"target_shoe_depth_m": 41.6, "stick_up_m": 0.45, "stick_up_tolerance_m": 0.1} | casing
    return Day(plan(hole={"rock_m": 6.5}, casing={"rack_m": rack_m or RACK_M, **casing}))


async def test_a_key_plans_it_and_the_screen_says_what_is_next() -> None:
    async with bench(day()) as screen:
        await screen.keys("p")
        chosen = await screen.recorded(ev.LandingChosen)
        assert chosen.order_m == tuple(RACK_M)
        await screen.shows(
            "NEXT 6.02 m (no 1 of 7 left): shoe 5.57 m",
            "then 6.05 m, 5.98 m",
            "lands with stick-up 0.53 m",
        )
        await screen.write("6.02")
        await screen.shows("NEXT 6.05 m (no 1 of 6 left): shoe 11.62 m", "then 5.98 m")


async def test_a_wide_screen_lists_the_whole_order() -> None:
    async with bench(day(), size=LARGE) as screen:
        await screen.keys("p")
        await screen.shows("NEXT 6.02 m", "then 6.05 m, 5.98 m, 6.01 m, 6.04 m, 6.03 m, 6.00 m")


async def test_another_joint_asks_for_a_new_plan() -> None:
    async with bench(day([*RACK_M, 6.06])) as screen:
        await screen.keys("p")
        await screen.shows("NEXT 6.02 m")
        await screen.write("6.06")
        await screen.shows("PLAN AGAIN (p): 6.06 m went on, 6.02 m was", "planned")
        await screen.keys("p")
        await screen.recorded(ev.LandingChosen, 2)
        await screen.shows("NEXT ", "lands with stick-up")
        assert "PLAN AGAIN" not in screen.text


async def test_what_is_to_be_cut_is_said() -> None:
    async with bench(day([6.05] * 7)) as screen:
        await screen.keys("p")
        await screen.shows(
            "lands with stick-up 0.55 m, 0.20 m cut off", "LANDING stick-up would be 0.75 m, window 0.35"
        )


async def test_a_rack_that_does_not_reach_says_so_and_records_nothing() -> None:
    async with bench(day([6.05] * 5)) as screen:
        await screen.keys("p")
        await screen.shows("no landing to plan: the longest string from what is left ends 11.70 m short")
        assert not screen.events(ev.LandingChosen)


async def test_what_comes_too_near_is_asked_first() -> None:
    """Joints of 6 m: the last weld is at 5.6 m whatever the order, 0.9 m from the rock at 6.5 m."""
    async with bench(day([6.0] * 7, keep_welds_from_rock_m=1.2)) as screen:
        await screen.keys("p")
        await screen.shows("a connection comes to 5.60 m, 0.90 m from the rock", "1  yes, record it")
        await screen.keys("1")
        await screen.recorded(ev.LandingChosen)


async def test_a_landed_casing_has_nothing_to_plan() -> None:
    made = day()
    made.joints(RACK_M)
    made.do(want.LandCasing("rock"))
    async with bench(made) as screen:
        await screen.keys("p")
        await screen.shows("no landing to plan: the casing has landed")
        assert not screen.events(ev.LandingChosen)
