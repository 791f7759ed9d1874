"""The day's report from a screen: looked at, written, and what is said when it cannot be."""

import threading
from pathlib import Path

from tally.formats import Units
from tally.screens.reporting import Form
from tests.scenario import Day
from tests.screens.support import Bench, bench


class Clerk:
    """Makes reports as slowly or as badly as a test wants."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, Units]] = []
        self.may = threading.Event()
        self.may.set()
        self.fault: Exception | None = None

    def told(self, units: Units) -> list[str]:
        self.asked.append(("told", units))
        return ["CASING AND GROUT: [/] [red]", *(f"row {number}" for number in range(60)), "the last row"]

    def ruled(self, units: Units) -> list[str]:
        self.asked.append(("ruled", units))
        return ["NOT MET   tremie-start"]

    def write(self, form: Form, units: Units) -> Path:
        self.asked.append((form, units))
        assert self.may.wait(20)
        if self.fault is not None:
            raise self.fault
        return Path(f"/sessions/day.{form}")


async def asked(screen: Bench, clerk: Clerk | None) -> None:
    screen.app.paperwork = clerk
    await screen.keys("f5", "w")


async def test_it_is_looked_at_and_left() -> None:
    clerk = Clerk()
    async with bench(Day()) as screen:
        await asked(screen, clerk)
        await screen.shows("The day's report", "look at it here", "it is written beside the")
        await screen.keys("1")
        await screen.shows("CASING AND GROUT: [/] [red]", "row 3")
        await screen.keys(*["pagedown"] * 8)
        await screen.shows("the last row")
        await screen.keys("escape", "f2")
        await screen.until(lambda: screen.app.current_mode == "casing")
    assert clerk.asked == [("told", "metric")]


async def test_it_is_written_while_the_screen_goes_on_and_says_where_it_is() -> None:
    clerk = Clerk()
    clerk.may.clear()
    async with bench(Day(), units="us") as screen:
        await asked(screen, clerk)
        await screen.keys("2")
        await screen.shows("… making the report")
        await screen.keys("n")
        await screen.shows("note")
        await screen.keys("escape")
        clerk.may.set()
        await screen.shows("report written to /sessions/day.pdf")
    assert clerk.asked == [("pdf", "us")]


async def test_rule_notes_are_looked_at_by_themselves() -> None:
    clerk = Clerk()
    async with bench(Day()) as screen:
        await asked(screen, clerk)
        await screen.keys("4")
        await screen.shows("Rule notes up to now", "NOT MET   tremie-start")
    assert clerk.asked == [("ruled", "metric")]


async def test_what_went_wrong_is_said() -> None:
    clerk = Clerk()
    clerk.fault = OSError("no space left")
    async with bench(Day()) as screen:
        await asked(screen, clerk)
        await screen.keys("3")
        await screen.shows("the report was not made: no space left")


async def test_without_a_file_there_is_none() -> None:
    async with bench(Day()) as screen:
        await asked(screen, None)
        await screen.shows("no session file here")
