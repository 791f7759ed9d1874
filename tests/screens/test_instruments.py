"""Instruments beside the meter on the screens: what each says, how it is, and the dips of a tank by key."""

from tally.job import events as ev
from tests.job.instrumented import GAUGE, HOOK, beat, day, said
from tests.scenario import grouting_day, plan
from tests.screens.support import bench

HOSTILE = "[/] [red]\x1b[31m"


async def test_what_an_instrument_says_and_then_that_it_is_gone() -> None:
    day_ = day({**GAUGE, "name": HOSTILE})
    beat(day_, said(HOSTILE, "pressure_pa", 12e5))
    async with bench(day_, place="grout") as screen:
        await screen.shows("[/] [red]", "pressure: 12")
        day_.record(ev.MeterChanged(channel=HOSTILE, condition="FAULT", why="there is no port 'e'"))
        await screen.shows("pressure: fault, there is no")


async def test_a_hook_load_of_an_instrument_stands_on_the_casing_screen() -> None:
    day_ = day(HOOK, landed=False)
    day_.joints([5.05] * 4)
    day_.record(ev.MeterChanged(channel="hook", condition="LIVE"))
    beat(day_, said("hook", "force_n", 9_806.65))
    async with bench(day_, place="casing") as screen:
        await screen.shows("hook, hook load: 1", "(unknown)")


async def test_a_count_that_goes_backward_says_so() -> None:
    day_ = grouting_day()
    why = "the count goes backward: check the wires"
    day_.record(ev.MeterChanged(channel="grout", condition="LIVE", why=why, doubt="backward", amount=0.03))
    async with bench(day_, place="grout") as screen:
        await screen.shows("meter: the count goes backward")


async def test_a_dip_of_the_tank_by_key() -> None:
    tank = {"shape": "box", "length_m": 1.0, "width_m": 1.0, "height_m": 1.2}
    async with bench(grouting_day(plan(tank=tank)), place="grout") as screen:
        await screen.keys("x")
        await screen.shows("dip of the tank")
        await screen.write("20 cm")
        found = await screen.recorded(ev.TankDipped)
        assert (found.dip_m, found.volume_m3) == (0.2, 1.0)
