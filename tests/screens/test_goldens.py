"""The screens as text, to be read in a difference. What they show is `pinned`; other tests check the figures."""

import contextlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tally.live.player import Player
from tests.screens.days import DAYS
from tests.screens.support import LARGE, MIDDLE, SMALL, TINY, bench

GOLDENS = Path(__file__).parent / "goldens"


@dataclass(frozen=True)
class Shot:
    name: str
    day: str
    place: str
    size: tuple[int, int] = SMALL
    units: str = "metric"
    keys: tuple[str, ...] = ()
    waits: str = ""
    replay: bool = False

    def __str__(self) -> str:
        width, height = self.size
        return f"{self.name}{'-us' if self.units == 'us' else ''}-{width}x{height}"


def _shots() -> list[Shot]:
    named = [
        ("casing", "casing", "casing"),
        ("grout-before", "before-grout", "grout"),
        ("grout-under-way", "grout", "grout"),
        ("grout-overdue", "grout-overdue", "grout"),
        ("grout-ended", "grout-ended", "grout"),
        ("log", "corrected", "log"),
        ("alarms", "grout-overdue", "alarms"),
        ("help", "casing", "help"),
    ]
    shots = [Shot(name, day, place, size) for name, day, place in named for size in (SMALL, MIDDLE, LARGE)]
    shots += [Shot(name, day, place, SMALL, "us") for name, day, place in named[:5]]
    shots += [Shot(name, day, place, TINY) for name, day, place in (named[0], named[3])]
    shots += [
        Shot("casing-refused", "casing", "casing", keys=(*"3.2", "enter"), waits="Enter again"),
        Shot("casing-low", "casing-low", "casing", units="us"),
        Shot("hook-load-question", "casing", "casing", keys=("h", "space"), waits="lowering (space"),
        Shot("void-question", "casing-low", "casing", keys=("u",), waits="entered by mistake"),
        Shot("checklist", "before-grout", "grout", keys=(*"5", "enter"), waits="Before the first batch"),
        Shot("curve", "grout", "grout", keys=("h",), waits="plan 1892"),
        Shot("curve", "grout-overdue", "grout", LARGE, "us", keys=("h",), waits="over 280"),
        Shot("loss", "grout-overdue", "grout", keys=("l",), waits="5 TOP UP"),
        Shot("returns-question", "grout", "grout", keys=("r",), waits="Returns at surface"),
        Shot("alarm-question", "grout-overdue", "grout", keys=("a",), waits="own words"),
        Shot("leaving", "grout", "grout", keys=("f9",), waits="Stop recording?"),
        Shot("replay", "grout-overdue", "grout", keys=("e",), waits="at the end", replay=True),
        Shot("replay-go", "grout-overdue", "grout", keys=("1", "2"), waits="Go to", replay=True),
        Shot("correct-question", "casing-low", "log", keys=(*["up"] * 3, "e"), waits="joint length", replay=False),
        Shot("replay-help", "casing", "help", replay=True, waits="to the next entry"),
    ]
    return shots


@pytest.mark.parametrize("shot", _shots(), ids=str)
async def test_the_screen_reads_as_kept(shot: Shot, rebuild_goldens: bool) -> None:
    path, day = GOLDENS / f"{shot}.txt", DAYS[shot.day]()
    feed: Any = Player(day.entries) if shot.replay else day
    async with bench(feed, size=shot.size, place=shot.place, units=shot.units) as screen:
        await screen.settled()
        await screen.keys(*shot.keys)
        await screen.shows(*([shot.waits] if shot.waits else []))
        await screen.settled()
        if rebuild_goldens:
            path.write_text(screen.text + "\n", encoding="utf-8", newline="\n")
        assert path.is_file(), f"no {path.name}; --rebuild-goldens writes it"
        kept = path.read_text(encoding="utf-8")
        with contextlib.suppress(AssertionError):
            await screen.until(lambda: screen.text + "\n" == kept)
        text = screen.text + "\n"
    assert text == kept


def test_no_golden_is_left_over() -> None:
    assert {path.stem for path in GOLDENS.glob("*.txt")} == {str(shot) for shot in _shots()}


@pytest.mark.parametrize("shot", [shot for shot in _shots() if shot.size != TINY and not shot.keys], ids=str)
def test_no_number_is_cut_short(shot: Shot) -> None:
    """At 80 columns and more an ellipsis may stand in what a person named, and in a line of the log, alone."""
    if shot.place == "log":
        return
    lines = (GOLDENS / f"{shot}.txt").read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if "…" in line] == []
