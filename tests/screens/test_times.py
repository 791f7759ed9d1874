"""What the crew is at, who records, the weather and the times so far, by one key on the casing and the grout screen."""

from tally.job import events as ev
from tests.scenario import Day
from tests.screens.support import bench


async def test_standby_is_one_key_and_its_reason_stands_there_already() -> None:
    async with bench(Day()) as screen:
        await screen.keys("b")
        await screen.shows("From now on the crew is at …")
        await screen.keys("1")
        await screen.shows("standby, for what ▸ waiting for others")
        await screen.keys("enter")
        begun = await screen.recorded(ev.ActivityBegan)
        assert (begun.activity, begun.note) == ("standby", "waiting for others")
        await screen.shows("Driller A  standby")
        await screen.write("5.05")
        await screen.shows("Driller A  casing")


async def test_who_records_from_now_and_the_weather() -> None:
    async with bench(Day(), place="grout") as screen:
        await screen.keys("b")
        await screen.shows("7  somebody else records")
        await screen.keys("7")
        await screen.shows("who records now")
        await screen.write("Driller B, Helper C")
        changed = await screen.recorded(ev.CrewChanged)
        assert (changed.driller, changed.helper) == ("Driller B", "Helper C")
        await screen.keys("b")
        await screen.shows("8  weather")
        await screen.keys("8")
        await screen.shows("weather, such as")
        await screen.write("sleet, 1 C")
        assert (await screen.recorded(ev.WeatherNoted)).air_c == 1.0


async def test_the_times_so_far_add_up_on_the_screen() -> None:
    day = Day()
    day.joints([5.05] * 3)
    async with bench(day) as screen:
        await screen.keys("b")
        await screen.shows("9  nothing new")
        await screen.keys("9")
        await screen.shows("TIMES SO FAR", "before the first joint", "1 min 00 s", "running casing", "2 min 00 s")
        await screen.shows("the session so far", "3 min 00 s")
        await screen.keys("escape")
        await screen.shows("SHOE DEPTH")
