"""The page of a guided plan: the answers so far, what is asked, the figures or the port beside it, and the field."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Static

from tally.formats import Units
from tally.job.view.planned import PlanView
from tally.live.picture import Picture
from tally.planfile.guided import question
from tally.planfile.guided.question import Answers, Question
from tally.screens import words
from tally.screens.field import Field, consume
from tally.screens.guide_facts import facts
from tally.screens.keyline import KeyLine
from tally.screens.keys import Key
from tally.screens.listening import Table, drawn
from tally.screens.words import line

ASKED = 32
"""Columns of a question in the list of what was answered, where there is room."""
LEAST_LIVE = 4
"""Lines for what a port sends, however many there are to choose from."""


@dataclass(frozen=True, slots=True)
class Told:
    """What there is to draw."""

    title: str
    step: str
    kept: str
    asked: Question
    offered: str
    """What Enter alone takes."""
    before: Sequence[Question]
    """What was asked before."""
    answers: Answers
    units: Units
    keys: Sequence[Key]
    view: PlanView | None
    steps: frozenset[str]
    port: tuple[Picture, Table] | None
    """What a port sends and what its registers would read, while it is listened to: in place of the figures."""
    end: Callable[[int], list[Content]] | None
    """At the last question: what to look at before it, in so many columns."""


class AnswerField(Field):
    """Enter acts at once, so that what is typed behind it in one burst belongs to the next question."""

    def __init__(self, enter: Callable[[], None]) -> None:
        super().__init__(id="answer", compact=True, max_length=question.LONGEST, select_on_focus=False)
        self._enter = enter

    def took(self, event: events.Key) -> bool:
        if event.key != "enter":
            return super().took(event)
        consume(event)
        self._enter()
        return True


class Panel(Static):
    """As much as there is room for: drawn anew when that changes, which is after the screen has its new size."""

    def __init__(self, draw: Callable[[], None], *, id: str) -> None:
        super().__init__(id=id)
        self._draw = draw

    def on_resize(self) -> None:
        self._draw()


class Page(Vertical):
    """Draws what it was last told."""

    def __init__(self, enter: Callable[[], None]) -> None:
        super().__init__()
        self._enter = enter
        self._told: Told | None = None

    def compose(self) -> ComposeResult:
        yield Static(id="header")
        with Horizontal(id="guide-body"):
            yield Panel(self._draw, id="guide-said")
            yield Panel(self._draw, id="guide-facts")
        with Vertical(id="guide-foot"):
            with Horizontal(id="field"):
                yield Static(id="question")
                yield AnswerField(self._enter)
                yield Static(id="offered")
            yield Static(id="outcome")
            yield KeyLine(id="guide-keys")

    def on_resize(self) -> None:
        self._draw()

    def show(self, told: Told) -> None:
        self._told = told
        self._draw()

    def show_figures(self, told: Told) -> None:
        """Where nothing else has changed."""
        self._told = told
        self._draw_beside(told)
        if told.end is not None and told.port is None:
            self._draw_said(told)

    def say(self, text: str, style: str = "") -> None:
        self._put("outcome", line((f" {words.cut(text, 400)}", style)))

    def _put(self, id: str, content: Content) -> None:
        self.query_one(f"#{id}", Static).update(content)

    def _draw(self) -> None:
        told = self._told
        if told is None:
            return
        head = line((f" {told.title}", "bold"), f"   {told.step}   ", told.kept)
        self._put("header", head.truncate(max(self.app.size.width, 20), ellipsis=True))
        asked, unit = told.asked, ""
        if asked.form in ("quantity", "joints"):
            unit = f" ({bare})" if (bare := asked.bare_unit(told.units)) else ""
        self._put("question", line((f" {asked.words}{unit} ", "bold"), "▸ "))
        self._put("offered", line(_offer(told)))
        self._lay_out(told)
        self._draw_said(told)
        self.query_one(KeyLine).show((), told.keys)
        self._draw_beside(told)

    def _lay_out(self, told: Told) -> None:
        """What a port sends takes the whole width, below the choices; figures stand beside the answers."""
        body, panel = self.query_one("#guide-body"), self.query_one("#guide-facts")
        body.set_class(told.port is not None, "-live")
        if told.port is None:
            panel.styles.clear_rule("height")
            return
        room = body.size.height - body.styles.padding.height
        above = len(told.asked.choices) + 2 if told.end is None else len(told.end(body.size.width)) + 1
        panel.styles.height = max(room - max(above, 5), LEAST_LIVE)

    def _draw_said(self, told: Told) -> None:
        size = self.query_one("#guide-said").size
        self._put("guide-said", words.lines(_said(told, max(size.width, 20), max(size.height, 3))))

    def _draw_beside(self, told: Told) -> None:
        size = self.query_one("#guide-facts").size
        self._put("guide-facts", words.lines(_beside(told, size.width, size.height)))


def _offer(told: Told) -> str:
    if told.offered:
        return f" [Enter: {words.cut(told.offered, 30)}] "
    return " [Enter: leave out] " if told.asked.optional else " "


def _said(told: Told, width: int, room: int) -> list[Content]:
    """The answers before this question, as many as there is room for, and what there is to choose from."""
    asked = told.asked
    rows = [line((f" {asked.words}", "bold"))] if asked.choices else []
    for place, (_, choice) in enumerate(asked.choices, 1):
        rows.append(line((f" {place} ", "bold reverse"), f" {words.cut(choice, width - 5)}"))
    if told.end is not None:
        rows = told.end(width)[:room]
    before = max(room - len(rows), 0)
    return [*(_answered(each, told.answers, width) for each in (told.before[-before:] if before else ())), *rows]


def _answered(asked: Question, answers: Answers, width: int) -> Content:
    said = answers.get(asked.id, "")
    shown = dict(asked.choices).get(said, said) if asked.choices else said
    shown = shown or "–"
    label = words.cut(f" {asked.words}", min(ASKED, width - 14))
    # In a column where that leaves enough room for the answer.
    gap = max(min(ASKED + 2, width - words.cells(shown) - 1) - words.cells(label), 2)
    return line(label, " " * gap, (words.cut(shown, width - words.cells(label) - gap - 1), "bold"))


def _beside(told: Told, width: int, height: int) -> list[Content]:
    if told.port is not None:
        picture, table = told.port
        return drawn(picture, max(width, 20), max(height, LEAST_LIVE), told.units, table)
    if told.view is None:
        return []
    rows = facts(told.view, told.steps, told.units, max(width - 1, 20))
    return rows[-max(height, 3) :]  # what was answered last has moved last


def look_at_first(view: PlanView | None, units: Units, width: int) -> list[Content]:
    """What the plan, worked out, should make its reader stop at."""
    if view is None:
        return []
    if not view.warnings:
        return [line((" NOTHING STANDS OUT", "bold"))]
    rows = [line((" LOOK AT FIRST", "bold"))]
    for warning in view.warnings:
        symbol, word = words.SEVERITIES.get(warning.severity, ("?", warning.severity))
        said = f"{symbol} {word}: {words.said(warning.sentence, units)}"
        rows += [line(part) for part in words.folded(said, width - 1, " ")]
    return rows
