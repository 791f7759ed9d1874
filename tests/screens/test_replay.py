"""A recorded day shown again in the same screens."""

from tally.job import events as ev
from tally.live.player import Player
from tests.scenario import grouting_day, plan
from tests.screens.support import bench


def player() -> Player:
    day = grouting_day(plan(casing={"shoe": "float"}), alarms=True)
    day.pump(1.2, seconds=20)
    day.quiet(60.0)
    return Player(day.entries)


async def test_a_replay_has_a_time_bar_and_no_entry_line() -> None:
    async with bench(player()) as screen:
        await screen.shows("REPLAY holding", "entry 1 of", "play/pause", "joints in 0")
        assert not screen.app.screen.query("#input")


async def test_step_goes_entry_by_entry_over_heartbeats() -> None:
    async with bench(player()) as screen:
        await screen.keys("right")
        await screen.shows("joints in 1")
        await screen.keys(*["right"] * 11)
        await screen.shows("joints in 12")


async def test_next_alarm_holds_there_and_end_goes_to_the_end() -> None:
    async with bench(player(), place="grout") as screen:
        await screen.keys("n")
        await screen.shows("Returns overdue", "REPLAY holding")
        await screen.keys("n")
        await screen.shows("2 of 2", "PUMP STILL 1 min 00 s")
        await screen.keys("e")
        await screen.shows("REPLAY at the end")


async def test_playing_moves_and_holds() -> None:
    playing = player()
    async with bench(playing) as screen:
        await screen.keys(*["plus"] * 9)
        await screen.shows("as fast as it goes")
        await screen.keys("minus")
        await screen.shows("600×")
        await screen.keys("minus")
        await screen.shows("300×")
        await screen.keys("space")
        await screen.until(lambda: playing.place > 3, "entries were played")
        await screen.until(lambda: playing.at_end, "it came to its end")
        await screen.shows("REPLAY at the end", "joints in 12")


async def test_nothing_is_entered_into_a_replay() -> None:
    playing = player()
    async with bench(playing) as screen:
        for place in ("f2", "f3", "f4", "f5", "f6"):
            await screen.keys(place)
            await screen.settled()
            await screen.keys("5", "enter", "h", "u", "v", "a", "enter")
            await screen.settled()
        assert playing.snapshot.state.number == 1
        assert not any(isinstance(entry.entry.event, ev.JointAdded) for entry in playing.snapshot.state.entries)


async def test_keys_of_the_replay_work_on_every_screen() -> None:
    playing = player()
    async with bench(playing) as screen:
        for count, place in enumerate(("f2", "f3", "f4", "f5", "f6"), start=1):
            await screen.keys(place)
            await screen.settled()
            await screen.keys("right")
            await screen.until(lambda count=count: playing.place == count + 1, f"{place} stepped")  # type: ignore[misc]


async def test_leaving_a_replay_asks_nothing() -> None:
    async with bench(player()) as screen:
        await screen.keys("f9")
        await screen.until(lambda: not screen.app.is_running or screen.app._exit, "it left")
