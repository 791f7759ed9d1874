"""Every screen and every question over one, each with a row: how it is come by, and what on it must be loudest.

`test_table.py` finds the screens by the syntax tree of the package: one that has no row here fails it. Goldens,
contrast, colourless drawing and hostile text are then tested row by row.
"""

import os
import re
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path

from tally import formats
from tally.job import events as ev
from tally.job.coding import encoded
from tally.live.follower import Follower
from tally.live.player import Player
from tally.planfile import example
from tally.planfile.guided import draft
from tally.record.folder import sessions
from tally.screens.start import StartApp
from tests.live.test_follower import HeldClock
from tests.planfile.test_guided import METRIC, interviewed
from tests.record.sessions import chained
from tests.scenario import Day
from tests.screens.days import DAYS
from tests.screens.hostile import tampered
from tests.screens.support import LARGE, MIDDLE, SMALL, TINY, Bench, DayFeed, bench, started
from tests.screens.test_opening import Gate, opened
from tests.screens.test_reporting import Clerk

FOLDER = Path("/rig/sessions")
ANSWERS = interviewed(METRIC)
IN_FILE = 2_000
LONGEST_NAME = 300


@dataclass(frozen=True)
class Stage:
    """Where a row is played: a private folder, which is the working one, a size, and text from outside, if any."""

    folder: Path
    size: tuple[int, int] = SMALL
    text: str = ""

    def day(self, name: str, *, longest: int | None = None) -> Day:
        """`longest`: what a field of a session file takes, where the day is to be written to one."""
        made = DAYS[name]()
        return tampered(made, self.text[:longest]) if self.text else made

    def kept(self, name: str, day: Day) -> Path:
        """`day` as a session of the folder."""
        path = self.folder / f"{name}.jsonl"
        path.write_bytes(b"".join(chained(tuple(encoded(entry) for entry in day.entries))))
        return path


Opener = Callable[[Stage], AbstractAsyncContextManager[Bench]]


@dataclass(frozen=True)
class Row:
    """`made_in`: the screen by its class; a general one by module and function that puts it up."""

    name: str
    made_in: str
    opened: Opener
    keys: tuple[str, ...] = ()
    waits: str = ""
    """Words that only this screen shows."""
    loud: tuple[str, ...] = ()
    """Words that stand in reverse video, or on it, whatever the colours are."""
    units: str = "metric"
    sizes: tuple[tuple[int, int], ...] = (SMALL, MIDDLE, LARGE)
    whole: bool = False
    """No number may be cut short: an ellipsis would be one."""
    before: Callable[[Bench], None] | None = None

    def __str__(self) -> str:
        return f"{self.name}{'-us' if self.units == 'us' else ''}"

    @asynccontextmanager
    async def shown(self, stage: Stage) -> AsyncIterator[Bench]:
        """The screen, in front and drawn."""
        async with self.opened(stage) as screen:
            if self.units == "us":
                await screen.keys("f7")
            if self.before is not None:
                self.before(screen)
            await screen.keys(*self.keys)
            await screen.shows(*([self.waits] if self.waits else []))
            await screen.settled()
            yield screen


# --- how each is come by ---------------------------------------------------------------------------------------------


def _job(day: str, place: str) -> Opener:
    @asynccontextmanager
    async def opened(stage: Stage) -> AsyncIterator[Bench]:
        async with bench(stage.day(day), size=stage.size, place=place) as screen:
            screen.app.paperwork = Clerk()
            yield screen

    return opened


def _replay(day: str, place: str) -> Opener:
    @asynccontextmanager
    async def opened(stage: Stage) -> AsyncIterator[Bench]:
        async with bench(Player(stage.day(day).entries), size=stage.size, place=place) as screen:
            yield screen

    return opened


def _watched(day: str, place: str, silent_s: float = 2.0) -> Opener:
    @asynccontextmanager
    async def opened(stage: Stage) -> AsyncIterator[Bench]:
        written = stage.day(day, longest=IN_FILE)
        path = stage.kept("day", written)
        clock = HeldClock(written.state.at + timedelta(seconds=2.0))
        async with bench(Follower(path, clock), size=stage.size, place=place) as screen:
            clock.move(silent_s - 2.0)
            yield screen

    return opened


def session_folder(stage: Stage) -> None:
    """Newest first: one that is no session, a signed-off one, two open ones, a damaged one."""
    (stage.folder / "2026-05-15-torn.jsonl").write_bytes(b'{"number":1,"at":')
    closed = stage.day("grout-ended", longest=IN_FILE)
    closed.record(ev.SessionClosed())
    stage.kept("2026-05-14-signed", closed)
    stage.kept("2026-05-13-newest-open", stage.day("casing", longest=IN_FILE))
    stage.kept("2026-05-12-older-open", stage.day("grout", longest=IN_FILE))
    damaged = stage.kept("2026-05-11-damaged", stage.day("casing", longest=IN_FILE))
    lines = damaged.read_bytes().split(b"\n")
    lines[4] = lines[4].replace(b'"number"', b'"nimber"')
    damaged.write_bytes(b"\n".join(lines))


@asynccontextmanager
async def _opening(stage: Stage) -> AsyncIterator[Bench]:
    """As long as it stands: what it opens is never let."""
    name = formats.plain(stage.text) or "house-well.toml"
    async with opened(Gate(DayFeed(stage.day("casing"))), size=stage.size, name=name) as (screen, _):
        yield screen


@asynccontextmanager
async def _start(stage: Stage) -> AsyncIterator[Bench]:
    session_folder(stage)
    sound = re.sub(r'port = "[^"]*"', 'port = "/dev/none"', example())
    plans = {"upper": sound, "wrong": example().replace('"12 1/4 in"', '"12 1/4"')}
    for place, (name, text) in enumerate(plans.items()):
        (stage.folder / f"{name}.toml").write_text(text, encoding="utf-8")
        os.utime(stage.folder / f"{name}.toml", (place, place))
    async with started(StartApp(sessions(stage.folder), FOLDER), size=stage.size) as screen:
        await screen.until(lambda: "jsonl  …" not in screen.text, "every session was read")
        yield screen


def _guided(upto: str = "", *, at: bool = True) -> Opener:
    """The guided plan with every answer before `upto` kept; at that question, or at the one about the draft."""

    @asynccontextmanager
    async def opened(stage: Stage) -> AsyncIterator[Bench]:
        said = dict(list(ANSWERS.items())[: list(ANSWERS).index(upto) if upto else None])
        if stage.text and said:
            # Controls are taken out where it is typed.
            said["job.name"] = said["crew.driller"] = formats.plain(stage.text)[:LONGEST_NAME]
        assert not said or draft.saved(stage.folder, said) == ""
        async with started(StartApp((), stage.folder), size=stage.size) as screen:
            await screen.keys("1")
            if said and at:
                await screen.shows("A plan was begun")
                await screen.keys("1")
                await screen.until(lambda: screen.app.screen._view is not None, "it was worked out")
            yield screen

    return opened


def _without_water(screen: Bench) -> None:
    """A draft that another hand wrote in: an answer that was given is gone."""
    screen.app.screen._answers.pop("hole.water_level")


# --- the table -------------------------------------------------------------------------------------------------------

LIFTS = ("■ STOP AND LOOK  Casing lifts", "COLLAPSE")
STOP = ("■ STOP AND LOOK  Returns overdue",)
NUMBER = (" 1 ",)
KEY = ("F6",)
BAR = ("2026-05-11",)

_PLACES = [
    Row("casing", "CasingScreen", _job("casing", "casing"), loud=KEY, whole=True),
    Row("casing-begun", "CasingScreen", _job("begun", "casing"), loud=KEY, whole=True),
    Row("casing-low", "CasingScreen", _job("casing-low", "casing"), loud=("Hook load below",), units="us"),
    Row("grout-before", "GroutScreen", _job("before-grout", "grout"), loud=KEY, whole=True),
    Row("grout-under-way", "GroutScreen", _job("grout", "grout"), loud=("▲ CAUTION  Grout comes up",), whole=True),
    Row("grout-overdue", "GroutScreen", _job("grout-overdue", "grout"), loud=(*STOP, "PUMP STILL"), whole=True),
    Row("grout-lifts", "GroutScreen", _job("grout-lifts", "grout"), loud=LIFTS, whole=True),
    Row("grout-ended", "GroutScreen", _job("grout-ended", "grout"), loud=("ENDED",), whole=True),
    Row("log", "LogScreen", _job("corrected", "log"), loud=KEY),
    Row("alarms", "AlarmsScreen", _job("grout-overdue", "alarms"), loud=STOP, whole=True),
    Row("help", "HelpScreen", _job("casing", "help"), loud=KEY, whole=True),
    Row("opening", "OpeningScreen", _opening, (), "reading the plan", ("F9",)),
    Row("replay", "GroutScreen", _replay("grout-overdue", "grout"), ("e",), "at the end", STOP),
    Row("replay-help", "HelpScreen", _replay("casing", "help"), (), "to the next entry", KEY),
    Row("watch", "GroutScreen", _watched("grout", "grout"), (), "2 s behind", ("▲ CAUTION",)),
    Row(
        "watch-silent",
        "GroutScreen",
        _watched("grout", "grout", 60.0),
        (),
        "SILENT since",
        ("▲ the recorder is silent",),
    ),
]

_ENTRY_LINE = [
    Row("casing-refused", "CasingScreen", _job("casing", "casing"), (*"3.2", "enter"), "Enter again", KEY),
    Row("hook-load-question", "CasingScreen", _job("casing", "casing"), ("h", "space"), "lowering (space", KEY),
    Row("void-question", "CasingScreen", _job("casing-low", "casing"), ("u",), "entered by mistake", KEY),
    Row("curve", "GroutScreen", _job("grout", "grout"), ("h",), "plan 1892", KEY),
    Row("curve", "GroutScreen", _job("grout-overdue", "grout"), ("h",), "plan 500", STOP, "us", (LARGE,)),
    Row("correct-question", "LogScreen", _job("casing-low", "log"), (*["up"] * 3, "e"), "Esc back", KEY),
]

_QUESTIONS = [
    Row("checklist", "ChecklistScreen", _job("before-grout", "grout"), (*"5", "enter"), "Before the first", NUMBER),
    Row("loss", "loss.page", _job("grout-overdue", "grout"), ("l",), "5 TOP UP", ("LOSING GROUT",)),
    Row("returns-question", "answering.pick", _job("grout", "grout"), ("r",), "Returns at surface", NUMBER),
    Row("landed-question", "answering.pick", _job("casing", "casing"), ("l",), "Casing landed", NUMBER),
    Row("crew-question", "answering.pick", _job("casing", "casing"), ("b",), "From now on the crew", NUMBER),
    Row("stop-question", "answering.pick", _job("grout", "grout"), ("p",), "Pump stopped", NUMBER),
    Row("end-question", "answering.pick", _job("grout", "grout"), ("f",), "End the stage", NUMBER),
    Row("alarm-question", "answering.alarm", _job("grout-overdue", "grout"), ("a",), "own words", (" 0 ",)),
    Row("insisting", "answering._insist", _job("casing", "casing"), ("l", "1"), "yes, record it", NUMBER),
    Row("times", "times.page", _job("casing", "casing"), ("b", "9"), "TIMES SO FAR", ("TIMES SO FAR",)),
    Row("report-question", "reporting.ask", _job("grout-ended", "alarms"), ("w",), "The day's report", NUMBER),
    Row("report", "reporting._made", _job("grout-ended", "alarms"), ("w", "1"), "up to now", ("The day's report",)),
    Row("leaving", "app._leave", _job("grout", "grout"), ("f9",), "Stop recording?", NUMBER),
    Row("replay-go", "GoScreen", _replay("grout-overdue", "grout"), ("1", "2"), "Go to", KEY),
]

_FIRST = [
    Row("start", "StartScreen", _start, (), "which job?", BAR),
    Row("start-session", "start._ask", _start, ("8",), "go on recording", NUMBER),
    Row("start-plans", "start._plan_file", _start, ("2",), "Which plan?", NUMBER),
    Row("start-plan", "start._check_plan", _start, ("2", "2"), "Start recording", NUMBER),
    Row("start-mistakes", "start._show_mistakes", _start, ("2", "1"), "1 mistake", ("1 mistake",)),
    Row("try", "TryScreen", _start, ("4",), "It is on port ▸", KEY),
    Row("hear", "HearScreen", _start, ("2", "2", "3"), "there is no port", ("the meter that counts",)),
    Row("start-help", "start.action_help", _start, ("f6",), "HELP", ("HELP",)),
]

_GUIDE = [
    Row("guide-first", "GuideScreen", _guided("crew.driller"), (), "Driller, who records", KEY),
    Row("guide-choice", "GuideScreen", _guided("mix[1].common"), (), "bentonite, 20 %", NUMBER),
    Row("guide-stage", "GuideScreen", _guided("stage[1].allowance"), (), "Allowance on", KEY),
    Row("guide-end", "GuideScreen", _guided(), (), "Save the plan as", KEY),
    Row("guide-begun", "guide.on_mount", _guided("crew.driller", at=False), (), "A plan was begun", NUMBER),
    Row("guide-help", "guide.action_help", _guided("crew.driller"), ("f6",), "One thing is asked", ("A PLAN",)),
    Row("guide-start", "guide._ask_start", _guided(), ("enter",), "Start recording now?", NUMBER),
    Row("guide-overwrite", "guide._ask_overwrite", _guided(), ("backspace", *"upper.toml", "enter"), "there already",
        NUMBER, before=lambda screen: Path("upper.toml").touch()),
    Row("guide-not-whole", "guide._save", _guided(), ("enter",), "not a whole plan", ("This is not",),
        before=_without_water),
]  # fmt: skip


def _us() -> list[Row]:
    """The figures of other units may be longer."""
    names = ("casing", "grout-before", "grout-under-way", "grout-overdue", "grout-lifts", "grout-ended")
    return [replace(row, units="us", sizes=(SMALL,)) for row in _PLACES if row.name in names]


def _least() -> list[Row]:
    names = ("casing", "grout-overdue")
    return [replace(row, name=f"{row.name}-least", sizes=(TINY,), whole=False) for row in _PLACES if row.name in names]


ROWS = (*_PLACES, *_ENTRY_LINE, *_QUESTIONS, *_FIRST, *_GUIDE, *_us(), *_least())
