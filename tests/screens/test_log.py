"""The log: every entry in words, and corrections made from it."""

from tally.job import events as ev
from tests.scenario import JOINT_M, Day
from tests.screens.support import SMALL, bench


def some() -> Day:
    day = Day()
    day.joints([JOINT_M] * 2)
    day.hook(3_000.0)
    day.record(ev.NoteWritten(text="wind from the west"))
    return day


async def test_every_entry_is_told_newest_last() -> None:
    async with bench(some(), place="log") as screen:
        await screen.shows(
            "session opened", "joint of 5.05 m on", "hook load read, 0.31 t, still", "wind from the west"
        )
        told = [line.split()[0] for line in screen.lines if line.strip()[:1].isdecimal()]
        assert told[:5] == ["1", "2", "3", "4", "5"]
        screen.day.joint()
        await screen.shows(" 6  ")


async def test_arrows_move_the_bar_and_say_the_entry_in_full() -> None:
    day = some()
    words = "the tape was read twice, by both of the crew, and both of them found the same to the centimetre again"
    day.record(ev.NoteWritten(text=words))
    async with bench(day, place="log") as screen:
        await screen.shows("…")
        await screen.keys("up", "up", "down")
        await screen.settled()
        assert words.split()[-1] not in screen.text
        await screen.keys("down")
        await screen.shows("centimetre again")
        await screen.keys("pageup")
        await screen.shows("session opened by")


async def test_an_entry_is_voided_from_the_log() -> None:
    async with bench(some(), place="log") as screen:
        await screen.shows("wind from the west")
        await screen.keys("up", "up", "v")
        await screen.shows("void 3 (joint of 5.05 m on), why")
        await screen.write("Typed twice")
        voided = await screen.recorded(ev.EntryVoided)
        assert (voided.entry, voided.reason) == (3, "Typed twice")
        await screen.shows("VOID joint of 5.05 m on", "entry 3 voided: Typed twice")


async def test_what_cannot_be_voided_says_so() -> None:
    async with bench(some(), place="log") as screen:
        await screen.shows("wind from the west")
        await screen.keys("pageup", "v")
        await screen.shows("entry 1 is none that can be voided")


async def test_a_note_from_the_log_and_stray_digits() -> None:
    async with bench(some(), place="log") as screen:
        await screen.keys("4", "2", "n")
        await screen.shows("note ▸")
        await screen.write("Two Men on a line")
        await screen.recorded(ev.NoteWritten, 2)
        assert screen.events(ev.NoteWritten)[-1].text == "Two Men on a line"
        await screen.shows("press a key ▸")


async def test_units_and_width_are_told_anew() -> None:
    async with bench(some(), place="log", size=SMALL) as screen:
        await screen.keys("up", "up", "up")
        await screen.keys("f7")
        await screen.shows("joint of 16.57 ft on")
        await screen.pilot.resize_terminal(132, 43)
        await screen.settled()
        await screen.shows("joint of 16.57 ft on", "wind from the west")
        await screen.keys("v")
        await screen.shows("void 2 (")


async def test_the_table_holds_the_latest_of_a_long_day() -> None:
    day = Day()
    for number in range(1_000):
        day.record(ev.NoteWritten(text=f"note {number}"))
    async with bench(day, place="log") as screen:
        await screen.shows("note 999")
        await screen.keys(*["pageup"] * 34)
        await screen.shows("note: note 600")
