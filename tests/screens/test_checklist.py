"""The list before the first batch, by keys alone."""

from tally.job import events as ev
from tests.scenario import Day, plan
from tests.screens.support import TINY, bench

HOSTILE = "[/] [red] [@click=app.quit]x[/]"


async def test_esc_leaves_it_and_the_batch_waits_in_the_line() -> None:
    async with bench(Day(), place="grout") as screen:
        await screen.write("5")
        await screen.shows("Before the first batch")
        await screen.keys("enter", "escape")
        await screen.shows("the list waits", "k: 5 things to look at")
        assert screen.typed == "5" and not screen.events(ev.BatchMixed)
        await screen.keys("enter")
        await screen.shows("Before the first batch", "✓ hole flushed")


async def test_one_reason_goes_on_without_all_that_is_left() -> None:
    async with bench(Day(), place="grout") as screen:
        await screen.write("5")
        await screen.shows("Before the first batch")
        await screen.keys("2", "9")
        await screen.shows("not done, because …")
        await screen.write(HOSTILE)
        await screen.recorded(ev.BatchMixed)
        assert [each.check for each in screen.events(ev.CheckConfirmed)] == ["tremie"]
        assert {each.reason for each in screen.events(ev.CheckOverridden)} == {HOSTILE}
        assert len(screen.events(ev.CheckOverridden)) == 5
        await screen.keys("k")
        await screen.shows("✗ hole flushed", f"not done, because {HOSTILE}")


async def test_what_is_short_is_said_with_its_numbers_and_takes_a_reason() -> None:
    async with bench(Day(plan(aboard={"bags": 20})), place="grout", units="us") as screen:
        await screen.keys("k", "4")
        await screen.shows("✗ 20 bags and", "65 bags and 348.8 US")
        assert not screen.events(ev.CheckConfirmed)
        await screen.keys("0")
        await screen.write("truck comes")
        assert (await screen.recorded(ev.CheckOverridden)).check == "stock"
        await screen.shows("▸ 5 ")
        await screen.keys("up", "up", "enter")
        assert (await screen.recorded(ev.CheckConfirmed)).check == "balance"


async def test_the_smallest_terminal_holds_the_line_that_is_written_in() -> None:
    async with bench(Day(), place="grout", size=TINY) as screen:
        await screen.keys("k", "0")
        await screen.write("why not", "pagedown")
        await screen.shows("why not", "hole flushed")
