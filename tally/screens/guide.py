"""A plan made question by question. What is typed is checked as it is typed; figures move beside it."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, cast

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Input
from textual.widgets.input import Selection

from tally import formats
from tally.formats import Units
from tally.job.plan import Plan
from tally.job.view.planned import PlanView, planned
from tally.live.clock import zone_name
from tally.live.recent import plan_file_name
from tally.planfile.guided import asking, beside, displayed, draft, heard, question, sequence, wiring, written
from tally.planfile.guided.inscribed import part
from tally.planfile.guided.question import Answers, Question, Unfit
from tally.screens import keys
from tally.screens.guide_live import Live
from tally.screens.guide_page import Page, Told, look_at_first
from tally.screens.pick import PickScreen
from tally.screens.reading import ReadScreen

if TYPE_CHECKING:
    from tally.screens.start import StartApp

FILE = Question(
    id="file", step="save", words="Save the plan as", remark="a name that ends in .toml; Enter takes what stands there"
)
HELP = (
    "One thing is asked at a time. What is typed is read at once: the line below says what it comes to, or what is"
    " wrong and what is accepted.",
    "A value in grey brackets is offered, not taken: Enter takes it. A number without a unit takes the unit beside the"
    " field; any other unit may be typed behind it.",
    "Up goes back to earlier answers, to look or to change; Enter then goes to the first thing that is not answered.",
    "Every answer is kept at once. Leave with Esc and come back to it later.",
    "While an instrument is asked about, its port is listened to: each line stands below beside what it is read as with"
    " the answers so far. A port that cannot be opened or is silent says so and holds up nothing: answer as far as is"
    ' known, or take "not known yet", and come back with Up.',
)
TICK_S = 0.25


class GuideScreen(Screen[None]):
    TITLE_SAID = "A NEW PLAN"
    DRAFT = draft.NAME
    FILE = FILE
    AUTO_FOCUS = "#answer"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("up", "go(-1)", show=False, priority=True),
        Binding("down", "go(1)", show=False, priority=True),
        Binding("escape", "back", show=False, priority=True),
        Binding("f6", "help", id="help", show=False, priority=True),
    ]

    def __init__(self, folder: Path) -> None:
        super().__init__()
        self._folder = folder
        self._zone = zone_name()
        self._answers: dict[str, str] = {}
        self._at = ""
        """Id of the question that is asked."""
        self._view: PlanView | None = None
        self._steps: frozenset[str] = frozenset()
        self._trouble = ""
        self._live = Live()
        self._page = Page(self.enter)

    @property
    def start(self) -> StartApp:
        return cast("StartApp", self.app)

    def compose(self) -> ComposeResult:
        yield self._page

    def on_mount(self) -> None:
        self.set_interval(TICK_S, self._tick)
        kept = draft.read(self._folder, self.DRAFT)
        self._ask(self._asked[0])
        if kept:
            title, name = self._resumed(kept)

            def chosen(place: int | str | None) -> None:
                if place == 0:
                    self._answers = kept
                    self._go_on()
                elif place == 1:
                    draft.put_aside(self._folder, self.DRAFT)
                else:
                    self.dismiss()

            remark = f"{formats.plain(name)}: {len(kept)} answers are kept"
            options = ["go on with it", "begin anew; the other is put aside"]
            self.app.push_screen(PickScreen(title, options, remark=remark), chosen)

    def _resumed(self, kept: dict[str, str]) -> tuple[str, str]:
        return "A plan was begun", kept.get("job.name") or "without a name"

    def on_unmount(self) -> None:
        self._live.stop()

    # --- which question ----------------------------------------------------------------------------------------------

    @property
    def _asked(self) -> list[Question]:
        return [*self._sequence(self._answers), self.FILE]

    def _sequence(self, answers: Answers) -> list[Question]:
        return sequence.questions(answers, self._zone)

    @property
    def _units(self) -> Units:
        return asking.units_of(self._answers)

    def _question(self) -> Question:
        """With what its port sent, as it is drawn."""
        found = next((each for each in self._asked if each.id == self._at), self.FILE)
        return heard.informed(found, self._answers, self._live.heard)

    def _ask(self, asked: Question) -> None:
        self._at = asked.id
        field = self.query_one(Input)
        said = self._answers.get(asked.id, "")
        text = "" if asked.choices or asked.form == "pick" else said
        if asked is self.FILE:
            text = self._file_name()
        field.value = text
        field.selection = Selection(0, len(text))
        field.focus()
        self._work_out()
        self._attend()
        self._read()
        self._draw()

    def _file_name(self) -> str:
        return plan_file_name(self._answers.get("job.name", ""))

    def _go_on(self, changed: str = "") -> None:
        """To the first question that is open; from one that was `changed`, to what does not go with it any more."""
        asked = self._sequence(self._answers)
        following = written.next_open(self._answers, self._zone, asked) or self.FILE
        if following.id == changed:
            following = written.misfit(self._answers, changed, asked) or following
        self._ask(following)

    def action_go(self, step: int) -> None:
        """To the question before or after, as far as they were answered; what is half typed is let go."""
        asked = self._asked
        place = next((place for place, each in enumerate(asked) if each.id == self._at), len(asked) - 1) + step
        if place < 0 or place >= len(asked):
            return
        if step > 0 and self._at not in self._answers:
            self._say("answer this one first", "bold")
        elif asked[place] is self.FILE:
            self._go_on()
        else:
            self._ask(asked[place])

    def action_back(self) -> None:
        field = self.query_one(Input)
        if field.value and field.value != self._answers.get(self._at, "") and self._at != self.FILE.id:
            field.value = ""
        else:
            self.dismiss()

    def action_help(self) -> None:
        told: list[Content | str] = [*keys.told(keys.mapped(keys.GUIDE, self.start.keymap)), ""]
        told += [part for text in HELP for part in (text, "")]
        self.app.push_screen(ReadScreen("A PLAN, QUESTION BY QUESTION", told))

    # --- an answer ---------------------------------------------------------------------------------------------------

    def on_input_changed(self, event: Input.Changed) -> None:
        event.stop()
        self._attend()
        self._read()
        self._work_out()

    def enter(self) -> None:
        asked, text = self._question(), self.query_one(Input).value
        if asked is self.FILE:
            self._save(text)
            return
        try:
            self._answers = self._fitting(asked, text)
        except Unfit as wrong:
            self._say(f"✗ {wrong}", "bold")
            return
        self._trouble = draft.saved(self._folder, self._answers, self.DRAFT)
        self._go_on(asked.id)

    def _fitting(self, asked: Question, text: str) -> dict[str, str]:
        """The answers with the one that `text` is, if it fits with those before it; raises `Unfit`."""
        asked = replace(asked, offered=self._offered(asked))
        said = question.answer(asked, text, self._units, asking.gallon_of(self._answers))
        found = heard.taken(asked, said, self._answers, self._live.heard)
        if asked.key and (wrong := written.mistakes(found, asked.id, self._sequence(found))):
            mistake = wrong[0]
            where = "" if mistake.key.startswith(asked.key) else f"this does not go with {mistake.key}: "
            raise Unfit(f"{where}given {mistake.given}; accepted: {mistake.accepted}")
        return found

    def _offered(self, asked: Question) -> str:
        """What Enter alone takes: the answer as it stands, else what is offered."""
        if asked.form in ("choice", "flag", "pick") and asked.id in self._answers:
            said = self._answers[asked.id]
            return dict(asked.choices).get(said, said if asked.form == "pick" else "")
        return asked.offered

    def _read(self) -> None:
        """What the typed text comes to, said while it is typed."""
        asked, text = self._question(), self.query_one(Input).value
        if asked is self.FILE or not text.strip():
            self._say(asked.remark or ("" if asked.choices else question.accepted(asked)))
            return
        try:
            found = self._fitting(asked, text)
        except Unfit as wrong:
            self._say(f"… {wrong}")
        else:
            said = found[asked.id]
            told = question.echo(asked, said, self._units, asking.gallon_of(found))
            more = (
                wiring.comes_to(asked, said, found, self._units)
                or displayed.told(asked, found, self._live.heard.registers)
                or beside.beside(asked, found, self._units)
            )
            self._say(f"= {told}{f': {more}' if more else ''}   Enter takes it")

    # --- the port of an instrument -----------------------------------------------------------------------------------

    def _attend(self) -> None:
        """Listens as the answers say, with what is typed if it picks one: a port that is being typed is let alone."""
        asked, text = self._question(), self.query_one(Input).value.strip()
        answers = dict(self._answers)
        proposed = asked.id.endswith(".pattern") and bool(self._offered(asked))
        if (text or proposed) and part(asked.id):
            asked = replace(asked, offered=self._offered(asked))
            try:
                said = question.answer(asked, text, self._units, asking.gallon_of(answers))
            except Unfit:
                said = ""
            if said and (not asked.id.endswith(".port") or said in dict(asked.choices)):
                answers[asked.id] = said
        self._live.attend(answers, asked, self._listens(asked))

    def _listens(self, asked: Question) -> str:
        """The instrument whose port is listened to meanwhile."""
        return part(asked.id) if asked.id.rpartition(".")[2] not in ("is", "channel", "name") else ""

    def _tick(self) -> None:
        asked = self._question()
        if not self._live.news(asked):
            return
        if asked != self._question():
            self._attend()
            self._read()
        self._draw()

    # --- the end -----------------------------------------------------------------------------------------------------

    def _save(self, name: str, *, overwrite: bool = False) -> None:
        name = formats.plain(name).strip()
        found = written.whole(self._answers)
        if not isinstance(found, Plan):
            self.app.push_screen(ReadScreen("This is not a whole plan yet", [str(mistake) for mistake in found]))
            return
        if not name:
            self._say("✗ nothing was given; a name that ends in .toml is accepted", "bold")
            return
        path = Path(name if name.lower().endswith(".toml") else f"{name}.toml").expanduser()
        if path.exists() and not overwrite:
            self._ask_overwrite(path, name)
            return
        text = written.plan_text(written.lodged(self._answers, path.parent))
        if wrong := written.saved(path, text, overwrite=overwrite):
            self._say(f"✗ {wrong}", "bold")
            return
        draft.done_with(self._folder, self.DRAFT)
        self._ask_start(path)

    def _ask_overwrite(self, path: Path, name: str) -> None:
        def chosen(place: int | str | None) -> None:
            if place == 1:
                self._save(name, overwrite=True)

        options = ["no: another name", "yes: what stands in it is lost"]
        self.app.push_screen(PickScreen(f"{path} is there already. Write over it?", options), chosen)

    def _ask_start(self, path: Path) -> None:
        def chosen(place: int | str | None) -> None:
            if place == 0:
                self.start.choose("record", path)
            else:
                self.start.said = f"The plan was saved as {path}"
                self.dismiss()

        options = ["yes, start", "no, later"]
        self.app.push_screen(
            PickScreen("Start recording now?", options, remark=f"The plan is saved as {path}."), chosen
        )

    # --- what is drawn -----------------------------------------------------------------------------------------------

    def _work_out(self) -> None:
        # The function, not its coroutine: of many letters in one burst only the last is worked out.
        self.run_worker(self._worked_out, group="facts", exclusive=True, exit_on_error=False)  # type: ignore[arg-type]

    async def _worked_out(self) -> None:
        answers, asked = dict(self._answers), self._question()
        text = self.query_one(Input).value
        if asked.key and text.strip():
            try:
                answers[asked.id] = question.answer(asked, text, self._units, asking.gallon_of(answers))
            except Unfit:
                return  # the figures stay until it can be read
        self._view, self._steps = await asyncio.to_thread(_worked, answers)
        self._page.show_figures(self._told())

    def _say(self, text: str, style: str = "") -> None:
        self._page.say(text, style)

    def _draw(self) -> None:
        self._page.show(self._told())

    def _told(self) -> Told:
        asked = self._question()
        all_asked = self._asked
        place = next((place for place, each in enumerate(all_asked) if each.id == asked.id), len(all_asked))
        return Told(
            title=self.TITLE_SAID,
            step=self._step(asked),
            kept=self._trouble or "every answer is kept at once",
            asked=asked,
            offered=self._offered(asked),
            before=all_asked[:place],
            answers=self._answers,
            units=self._units,
            keys=keys.mapped(keys.GUIDE, self.start.keymap),
            view=self._view,
            steps=self._steps,
            port=(self._live.picture, self._live.table(asked)) if self._listens(asked) else None,
            end=self._at_the_end if asked is self.FILE else None,
        )

    def _step(self, asked: Question) -> str:
        if asked is self.FILE:
            return "save"
        return f"{asked.step}, part {sequence.STEPS.index(asked.step) + 1} of {len(sequence.STEPS)}"

    def _at_the_end(self, width: int) -> list[Content]:
        return look_at_first(self._view, self._units, width)


def _worked(answers: dict[str, str]) -> tuple[PlanView | None, frozenset[str]]:
    """In another thread."""
    plan, steps = written.filled(answers)
    return (planned(plan) if plan is not None else None), steps
