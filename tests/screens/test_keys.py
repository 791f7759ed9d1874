"""The table of keys: ids, other keys for them, and where those show."""

from pathlib import Path

import pytest

from tally.job import events as ev
from tally.live.player import Player
from tally.screens import keys
from tally.screens.app import TallyApp
from tally.screens.start import StartApp
from tests.scenario import Day
from tests.screens.days import DAYS
from tests.screens.support import Bench, DayFeed, started


def test_an_id_means_the_same_key_wherever_it_stands() -> None:
    stands: dict[str, str] = {}
    for table in keys.SCREENS.values():
        for key in table:
            if key.changeable:
                assert stands.setdefault(key.action, key.key) == key.key, key.action


@pytest.mark.parametrize("where", keys.SCREENS)
def test_no_key_stands_for_two_things_on_a_screen(where: str) -> None:
    faces = [key.face for key in keys.SCREENS[where]]
    assert len(faces) == len(set(faces))


def test_a_swap_is_no_clash() -> None:
    wanted = {"note": "a", "answer": "n", "next-alarm": "y"}
    assert keys.remapped(wanted) == (wanted, [])


@pytest.mark.parametrize(
    ("wanted", "says"),
    [
        ({"note": "h"}, "keys.note: given h, which stands for hook-load on the casing screen"),
        ({"note": "y", "undo": "y"}, "which stands for"),
        ({"casing": "f3"}, "keys.casing: given f3, which stands for grout"),
        ({"casing": "q"}, "keys.casing: given q; accepted: f1 to f12"),
        ({"joint": "y"}, "keys.joint: given y; 0-9 stands for it and cannot be changed"),
        ({"notes": "y"}, 'keys.notes: given a name that is not known; accepted: "note" (nearest)'),
        ({"gap": "r"}, "keys.gap: given r, which stands for returns on the grout screen"),
    ],
)
def test_what_cannot_be_had_is_refused_with_words(wanted: dict[str, str], says: str) -> None:
    taken, problems = keys.remapped(wanted)
    assert any(says in problem for problem in problems), problems
    assert len(taken) < len(wanted)
    assert keys.remapped(taken) == (taken, [])


async def test_other_keys_work_and_show_wherever_keys_are_named() -> None:
    keymap, problems = keys.remapped(
        {"hook-load": "y", "note": "f10", "casing": "f11", "leave": "f12", "surface-density": "c"}
    )
    assert problems == []
    app = TallyApp(DayFeed(Day()), keymap=keymap)
    async with app.run_test(size=(100, 30)) as pilot:
        screen = Bench(app, pilot, app.feed)
        await screen.settled()
        await screen.shows("y hook load", "F10 note", "F11 casing", "F12 leave")
        await screen.keys("h")
        await screen.shows("nothing is tied to h here; F6 shows the keys")
        await screen.keys("y")
        await screen.shows("hook load, still")
        await screen.keys("escape", "f10")
        await screen.write("by another key")
        await screen.recorded(ev.NoteWritten)
        await screen.keys("f6")
        await screen.shows("CASING (F11)", "  y  hook load")
        await screen.keys("f9")
        await screen.settled()
        assert "Stop recording?" not in screen.text
        await screen.keys("f11")
        await screen.shows("SHOE DEPTH")
        await screen.keys("f12")
        await screen.shows("Stop recording?")


async def test_a_replay_has_them_too() -> None:
    keymap, problems = keys.remapped({"end": "f10"})
    assert problems == []
    app = TallyApp(Player(DAYS["grout"]().entries), keymap=keymap)
    async with app.run_test(size=(100, 30)) as pilot:
        screen = Bench(app, pilot, app.feed)
        await screen.settled()
        await screen.shows("F10 end")
        await screen.keys("f10")
        await screen.shows("at the end")


async def test_the_first_screen_has_them_too(tmp_path: Path) -> None:
    keymap, problems = keys.remapped({"help": "f1", "leave": "f10"})
    assert problems == []
    async with started(StartApp((), tmp_path, keymap=keymap)) as screen:
        await screen.shows("F1 help", "F10 leave")
        await screen.keys("f1")
        await screen.shows("Nothing is recorded on this screen")
        await screen.keys("escape", "f9")
        await screen.settled()
        assert not screen.app._exit
        await screen.keys("f10")
        await screen.until(lambda: screen.app._exit, "it left")


async def test_what_was_not_taken_is_said_on_the_first_screen_of_a_job() -> None:
    app = TallyApp(DayFeed(Day()), said="settings: keys.note: given h, which stands for hook-load")
    async with app.run_test(size=(100, 30)) as pilot:
        screen = Bench(app, pilot, app.feed)
        await screen.shows("settings: keys.note: given h")
        await screen.write("5.05")
        await screen.recorded(ev.JointAdded)
