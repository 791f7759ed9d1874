"""The first screen: which job. Sessions are read in a thread while it already stands there.

Loads at its start only what drawing it takes; plans, sessions and the guide come when they are wanted.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, Literal

from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.message import Message
from textual.screen import Screen
from textual.widgets import Static

from tally import __version__, formats
from tally.formats import Units
from tally.job.view.quantity import Kind, Quantity
from tally.screens import keys, themes, words
from tally.screens.base import NO_CHANGE, OurApp
from tally.screens.joblist import Jobs, detail, drawn, more
from tally.screens.keyline import KeyLine
from tally.screens.keys import Keymap
from tally.screens.pick import PickScreen
from tally.screens.reading import ReadScreen
from tally.screens.words import line

if TYPE_CHECKING:
    from tally.job.plan import Plan
    from tally.live.recent import Recent
    from tally.planfile.mistake import Mistake

What = Literal["record", "go on", "watch", "replay", "report", "demonstration"]
MOST_SESSIONS = 40
MOST_PLANS = 9


@dataclass(frozen=True, slots=True)
class Choice:
    """What is to be done now, with which file, in which light."""

    what: What
    path: Path | None = None
    theme: str = themes.DUSK.name


class StartApp(OurApp[Choice | None]):
    """Ends with what was chosen; None for leaving."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f8", "light", id="theme", show=False, priority=True),
        Binding("f9", "leave", id="leave", show=False, priority=True),
        Binding("ctrl+q,ctrl+c", "leave", show=False, priority=True),
    ]

    def __init__(
        self,
        paths: Sequence[Path],
        folder: Path,
        *,
        units: Units | None = None,
        theme: str = themes.DUSK.name,
        said: str = "",
        keymap: Keymap = NO_CHANGE,
    ) -> None:
        """`paths`: the sessions, newest first; `said`: what came of the last choice."""
        super().__init__()
        self.paths, self.folder, self.units, self.said = tuple(paths)[:MOST_SESSIONS], folder, units, said
        self._theme = theme
        self.keymap = keymap

    def on_mount(self) -> None:
        self.put_on(self._theme)
        self.push_screen(StartScreen())

    def action_light(self) -> None:
        self.next_theme()

    def action_leave(self) -> None:
        self.exit(None)

    def choose(self, what: What, path: Path | None = None) -> None:
        self.exit(Choice(what, path, self.theme))


class StartScreen(Screen[None]):
    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "bar(-1)", show=False),
        Binding("down", "bar(1)", show=False),
        Binding("pageup", "bar(-9)", show=False),
        Binding("pagedown", "bar(9)", show=False),
        Binding("enter", "take", show=False),
        Binding("escape", "app.leave", show=False),
        Binding("f6", "help", id="help", show=False),
    ]

    class Read(Message):
        """A session was read, in another thread."""

        def __init__(self, found: Recent) -> None:
            super().__init__()
            self.found = found

    def __init__(self) -> None:
        super().__init__()
        self._jobs = Jobs()
        self._gone = False
        self._waits: Callable[[Recent], None] | None = None
        """What is to be done with the session under the bar once it is read."""

    @property
    def start(self) -> StartApp:
        assert isinstance(self.app, StartApp)
        return self.app

    def compose(self) -> ComposeResult:
        yield Static(id="header")
        yield Static(id="list")
        yield Static(id="detail")
        yield KeyLine(id="start-keys")

    def on_mount(self) -> None:
        self._jobs = Jobs(self.start.paths)
        self._draw()
        reading = threading.Thread(target=self._read, args=(self.start.paths,), name="sessions", daemon=True)
        self.call_after_refresh(reading.start)

    def on_unmount(self) -> None:
        self._gone = True

    def on_resize(self) -> None:
        self._draw()

    # --- reading -----------------------------------------------------------------------------------------------------

    def _read(self, paths: Sequence[Path]) -> None:
        """In a thread of its own: a long session takes seconds, and the app may end meanwhile and be no more."""
        from tally.live import recent  # here, since what it rests on takes longer to load than the screen to draw

        for path in paths:
            if self._gone:
                return
            found = recent.recent(path)
            with suppress(RuntimeError):  # it has ended just now
                self.post_message(self.Read(found))
        if not self._gone:
            from tally import units

            units.warm()  # for the plan that may be chosen; last, since it takes longest

    def on_start_screen_read(self, message: Read) -> None:
        self._jobs.take(message.found)
        self._draw()
        if self._waits is not None and (found := self._jobs.found) is not None:
            self._waits(found)
            self._waits = None

    # --- choosing ----------------------------------------------------------------------------------------------------

    def on_key(self, event: events.Key) -> None:
        if event.character and event.character in "123456789":
            event.stop()
            place = int(event.character) - 1
            if place < len(self._jobs):
                self._jobs.move(place)
                self._draw()
                self._act(at_once=False)

    def action_bar(self, step: int) -> None:
        self._waits = None
        self._jobs.move(self._jobs.bar + step)
        self._draw()

    def action_take(self) -> None:
        self._act(at_once=True)

    def _act(self, *, at_once: bool) -> None:
        """What stands under the bar. With `at_once` an open session is gone on with; else it is asked what with it."""
        self._waits = None
        if self._jobs.new:
            self._begin(self._jobs.new)
            return
        found, act = self._jobs.found, self._take if at_once else self._ask
        if found is None:
            self._waits = act
            self._draw()
        else:
            act(found)

    def _begin(self, new: str) -> None:
        match new:
            case "guide":
                from tally.screens.guide import GuideScreen

                self.app.push_screen(GuideScreen(self.start.folder), lambda _: self._draw())
            case "try":
                from tally.screens.trying import TryScreen

                self.app.push_screen(TryScreen(self.start.folder), lambda _: self._draw())
            case "plan":
                self._plan_file()
            case _:
                self.start.choose("demonstration")

    def _take(self, found: Recent) -> None:
        if found.open:
            self.start.choose("go on", found.path)
        else:
            self._ask(found)

    def _ask(self, found: Recent) -> None:
        options: list[tuple[str, What]] = [("go on recording", "go on")] if found.open else []
        if found.recorded_by:
            options = [("watch it here, read-only", "watch")]
        if found.readable:
            options += [
                ("see it again: a replay", "replay"),
                ("write its report as a PDF, beside it", "report"),
            ]
        if not options:
            self._say(detail(found))
            return

        def chosen(place: int | str | None) -> None:
            if isinstance(place, int):
                self.start.choose(options[place][1], found.path)

        self.app.push_screen(
            PickScreen(found.job, [label for label, _ in options], remark=detail(found)),
            chosen,
        )

    def _plan_file(self) -> None:
        from tally.planfile.finding import plan_files

        files = plan_files((Path.cwd(), self.start.folder))[:MOST_PLANS]

        def chosen(answer: int | str | None) -> None:
            if answer is not None:
                self._check_plan(files[answer] if isinstance(answer, int) else Path(answer).expanduser())

        remark = "" if files else f"there is none in {Path.cwd()}; `tally plan --example` writes one to change"
        self.app.push_screen(
            PickScreen("Which plan?", [_from_here(path) for path in files], remark=remark, typed=True), chosen
        )

    def _check_plan(self, path: Path) -> None:
        from tally.planfile import read

        plan = read(path)
        if isinstance(plan, list):
            self._show_mistakes(path, plan)
            return
        remark = _planned(plan, path)

        def chosen(place: int | str | None) -> None:
            if place == 0:
                self.start.choose("record", path)
            elif place == 2:
                from tally.screens.hearing import HearScreen

                self.app.push_screen(HearScreen(plan), lambda _: self._check_plan(path))

        options = ["yes, start", "no"]
        if plan.meter is not None or plan.instruments:
            options.append("listen to its instruments first")
        self.app.push_screen(PickScreen(f"Start recording {plan.job.name}?", options, remark=remark), chosen)

    def _show_mistakes(self, path: Path, mistakes: Sequence[Mistake]) -> None:
        def again(taken: bool | None) -> None:
            if taken:
                self._check_plan(path)

        title = f"{len(mistakes)} mistake{'s' if len(mistakes) > 1 else ''}; nothing was started"
        told = [part for mistake in mistakes for part in (str(mistake), "")]
        self.app.push_screen(ReadScreen(title, told, "Enter reads the file again   ↑↓ scroll   Esc back"), again)

    def action_help(self) -> None:
        told: list[Content | str] = [
            f"tally {__version__}",
            "",
            *keys.told(keys.mapped(keys.START, self.start.keymap)),
            "",
        ]
        told += [part for text in HELP for part in (text, "")]
        self.app.push_screen(ReadScreen("HELP", told))

    # --- drawing -----------------------------------------------------------------------------------------------------

    def _say(self, text: str) -> None:
        self.start.said = text
        self._draw()

    def _draw(self) -> None:
        width, height = self.app.size
        self.query_one("#header", Static).update(line((" tally", "bold"), "  which job?"))
        listed = drawn(self._jobs, self.start.folder, self.start.units, width, max(height - 9, 3))
        self.query_one("#list", Static).update(words.lines(listed))
        self.query_one("#detail", Static).update(words.lines([line(part) for part in self._told(width)]))
        self.query_one(KeyLine).show((), keys.mapped(keys.START, self.start.keymap))

    def _told(self, width: int) -> list[str]:
        """Three lines at the foot: what came of the last choice, else more of what stands under the bar."""
        text = self.start.said or more(self._jobs, waits=self._waits is not None)
        return words.folded(text, width - 2, " ")[:3]


HELP = (
    "Nothing is recorded on this screen. A session that was left, or that a power cut ended, is gone on with as it was:"
    " everything that showed as saved is there.",
    "A session that another program records is not opened twice. One with a damaged line is replayed and reported,"
    " not recorded on.",
)


def _planned(plan: Plan, path: Path) -> str:
    def depth(depth_m: float) -> str:
        return formats.text(Quantity(depth_m, Kind.DEPTH), plan.job.units)

    stages = f"{len(plan.stages)} stage{'s' if len(plan.stages) > 1 else ''}"
    return (
        f"{path.name}: driller {plan.crew.driller}, hole to {depth(plan.hole.bottom_m)}, shoe planned at "
        f"{depth(plan.casing.target_shoe_depth_m)}, {len(plan.casing.rack_m)} joints on the rack, {stages}. "
        f"`tally plan {path.name}` works it out."
    )


def _from_here(path: Path) -> str:
    try:
        return str(path.relative_to(Path.cwd()))
    except ValueError:
        return str(path)
