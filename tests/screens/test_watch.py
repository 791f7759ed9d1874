"""A session that another program records, in the same screens: how far behind it is, and that nothing enters."""

from datetime import timedelta
from pathlib import Path

import pytest

from tally.job import events as ev
from tally.job.coding import encoded
from tally.live.follower import Follower
from tests.live.test_follower import HeldClock
from tests.record.sessions import chained
from tests.scenario import Day
from tests.screens.days import DAYS
from tests.screens.support import bench


class Written:
    """A day in a file that grows as another program would let it grow."""

    def __init__(self, path: Path, day: Day) -> None:
        self.path, self.day = path, day
        self.write()
        self.clock = HeldClock(day.state.at + timedelta(seconds=2))
        self.follower = Follower(path, self.clock)

    def write(self) -> None:
        self.path.write_bytes(b"".join(chained(tuple(encoded(entry) for entry in self.day.entries))))


@pytest.fixture
def written(tmp_path: Path) -> Written:
    return Written(tmp_path / "day.jsonl", DAYS["casing"]())


async def test_it_draws_what_was_added_and_takes_no_entry(written: Written) -> None:
    async with bench(written.follower) as screen:
        await screen.shows("WATCHING, read-only, 2 s behind", "joints in 7", "nothing is entered here")
        before = written.path.read_bytes()
        await screen.keys(*"5.05", "enter", "h", "u", "a", "n")
        await screen.settled()
        assert written.path.read_bytes() == before
        written.day.joint()
        written.write()
        await screen.shows("joints in 8")
        await screen.keys("f4")
        await screen.shows("WATCHING", "joint")
        await screen.keys("f7", "f2")
        await screen.shows("SHOE DEPTH ft")
        await screen.keys("f6")
        await screen.shows("WATCHING: another program records")


async def test_a_silent_recorder_is_said_in_the_header(written: Written) -> None:
    async with bench(written.follower) as screen:
        await screen.shows("2 s behind")
        written.clock.move(10.0)
        await screen.shows("SILENT since 12:0", "the recorder is silent since 12:0")
        assert "STOP AND LOOK" not in screen.text
        written.day.joint()
        written.write()
        await screen.until(lambda: "SILENT" not in screen.text, "it is heard again")


async def test_a_signed_off_session_says_so(written: Written) -> None:
    async with bench(written.follower) as screen:
        written.day.record(ev.SessionClosed())
        written.write()
        written.clock.move(100.0)
        await screen.shows("WATCHING, read-only, signed off")


@pytest.mark.parametrize("key", ["f9", "ctrl+q"])
async def test_leaving_needs_no_question(written: Written, key: str) -> None:
    async with bench(written.follower) as screen:
        await screen.keys(key)
        await screen.until(lambda: screen.app._exit, "it left")


async def test_a_file_that_is_gone_is_said_and_the_screens_stay(written: Written) -> None:
    async with bench(written.follower) as screen:
        written.path.unlink()
        await screen.shows("cannot be read just now", "joints in 7")
