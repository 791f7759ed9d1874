"""The way of an answer, from a question over picks and texts to the record, and what is said of its outcome."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from typing import TYPE_CHECKING

from tally import formats
from tally.job import intents as want
from tally.job.decide.checklist import FIELD as CHECKLIST
from tally.job.decide.decide import decide
from tally.job.decide.grout import AGAINST
from tally.job.decide.refusal import Refusal
from tally.job.intents import Insistable, Intent
from tally.job.view.alarms import standing
from tally.live.session import NotSaved, Saved
from tally.screens import asks, times, words
from tally.screens.checklist import ChecklistScreen
from tally.screens.entry import EntryLine
from tally.screens.pick import PickScreen
from tally.screens.question import Ask, Pick, Show, Unreadable, Work, answered

if TYPE_CHECKING:
    from tally.screens.work import WorkScreen


class Answering:
    """Questions and answers of one screen."""

    def __init__(self, screen: WorkScreen) -> None:
        self._screen = screen
        self._saving = 0
        """Answers from the entry line that are on their way."""

    def act(self, action: str) -> None:
        """Asks what `action` asks for, or has it recorded where nothing is to be asked."""
        tally = self._screen.tally
        question = asks.question(action, tally.snapshot.state, tally.units)
        if isinstance(question, str):
            self._screen.say(question)
        elif isinstance(question, Intent):
            self._ask_for(question)
        elif isinstance(question, Ask):
            self._screen.put(question)
        elif isinstance(question, Work):
            self._screen.run_worker(self._worked(question), group="work", exclusive=True, exit_on_error=False)
        else:
            self.pick(question)

    async def _worked(self, question: Work) -> None:
        """Out of the screen's way: it goes on being drawn, and a second press begins anew."""
        self._screen.say(f"… {question.label}")
        try:
            outcome = await asyncio.to_thread(question.work)
        except Exception as bug:
            self._screen.say(f"✗ {question.label}, an error in the program: {bug}", "bold reverse")
            return
        if isinstance(outcome, str):
            self._screen.say(f"✗ {outcome}", "bold")
        else:
            self._ask_for(outcome)

    def sign_off(self) -> None:
        self._ask_for(want.CloseSession())

    def pick(self, pick: Pick) -> None:
        tally = self._screen.tally

        def chosen(place: int | str | None) -> None:
            if not isinstance(place, int):
                return
            following = pick.options[place][1]
            if isinstance(following, Ask):
                self._screen.put(following)
            elif isinstance(following, Show):
                self._screen.app.push_screen(times.page(tally.snapshot.state, tally.units))
            else:
                self._ask_for(following)

        self._screen.app.push_screen(PickScreen(pick.title, [label for label, _ in pick.options]), chosen)

    def checks(self, intent: Intent | None = None, given: EntryLine.Given | None = None) -> None:
        """The list before the first batch; then `intent`, which met it."""

        def closed(complete: bool | None) -> None:
            if complete and intent is not None:
                self._ask_for(intent, given)
                return
            self._screen.say("every item has its word" if complete else "the list waits: k goes on with it")
            self._give_back(given, insist=False)

        self._screen.app.push_screen(ChecklistScreen(), closed)

    def alarm(self) -> None:
        """Asks what was done about the loudest alarm that waits for an answer."""
        rows = [row for row in standing(self._screen.tally.snapshot.state) if not row.acknowledged]
        if not rows:
            self._screen.say("no alarm waits for an answer")
            return
        row = rows[0]

        def done(answer: int | str | None) -> None:
            if answer is not None:
                text = row.helps[answer] if isinstance(answer, int) else answer
                self._ask_for(want.AcknowledgeAlarm(row.alarm, text))

        remark = words.said(row.sentence, self._screen.tally.units)
        title = f"{words.alarm_head(row)}  {row.title}: what was done?"
        self._screen.app.push_screen(PickScreen(title, row.helps, remark=remark, typed=True), done)

    def given(self, message: EntryLine.Given) -> None:
        """Enter was pressed in the entry line."""
        if self._saving and not message.text.strip():
            return  # Enter pressed twice: nothing is wrong with the first
        try:
            intent = answered(message.ask, message.text, message.toggle, self._screen.tally.units)
        except Unreadable as wrong:
            self._screen.say(f"✗ {wrong}", "bold")
            self._give_back(message, insist=False)
            return
        if message.again and isinstance(intent, Insistable):
            intent = replace(intent, sure=True)
        self._ask_for(intent, message)

    def further(self, given: EntryLine.Given) -> None:
        """An answer that leads to another question: that is asked at once, where what comes of both may be recorded."""
        tally, entry = self._screen.tally, self._screen.entry
        assert entry is not None and given.ask.then is not None
        try:
            following = given.ask.then(answered(given.ask, given.text, given.toggle, tally.units))
        except Unreadable as wrong:
            self._screen.say(f"✗ {wrong}", "bold")
            return
        if given.again:
            following = _insisting(following)
        outcome = decide(tally.snapshot.state, following.make(0.0, following.given, ""))
        if isinstance(outcome, Refusal):
            self._screen.say(self._why(outcome), "bold")
            entry.insist(given.text if outcome.ask else "")
        else:
            self._screen.say("")
            entry.put(following)

    def _ask_for(self, intent: Intent, given: EntryLine.Given | None = None) -> None:
        self._saving += given is not None
        self._screen.run_worker(self._outcome(intent, given), group="entries", exit_on_error=False)

    async def _outcome(self, intent: Intent, given: EntryLine.Given | None) -> None:
        tally = self._screen.tally
        self._screen.say("… being saved")
        try:
            outcome = await asyncio.wrap_future(tally.feed.submit(intent))
        except Exception as bug:
            self._screen.say(f"✗ not recorded, an error in the program: {bug}", "bold reverse")
            self._give_back(given, insist=False)
            return
        finally:
            self._saving -= given is not None
        tally.redraw()
        if isinstance(outcome, Saved):
            self._saved(outcome)
        elif isinstance(outcome, NotSaved):
            self._screen.say(f"✗ NOT SAVED: {outcome.why}", "bold reverse")
            self._give_back(given, insist=False)
        else:
            self._refused(intent, outcome, given)

    def _give_back(self, given: EntryLine.Given | None, *, insist: bool) -> None:
        if given is not None and self._screen.entry is not None:
            self._screen.entry.give_back(given, insist=insist)

    def _saved(self, outcome: Saved) -> None:
        tally = self._screen.tally
        kept = [kept for kept in tally.snapshot.state.entries if kept.entry.number in outcome.numbers]
        told = "; ".join(tally.told(each) for each in kept)
        if tally.snapshot.state.closed:
            told += f"; {tally.face('alarms')} {tally.face('report')} writes the report, {tally.face('leave')} leaves"
        self._screen.say(f"✓ saved {outcome.numbers[-1] if outcome.numbers else ''}: {told}")

    def _refused(self, intent: Intent, refusal: Refusal, given: EntryLine.Given | None) -> None:
        if refusal.field == CHECKLIST:
            self._screen.say("the batch waits for the list")
            self.checks(intent, given)
            return
        if refusal.field == AGAINST and isinstance(intent, want.StartStage):
            self._screen.say(f"■ {self._words(refusal)}. {refusal.ask}", "bold reverse")
            self._screen.put(asks.against(intent))
            return
        if given is None and refusal.ask and isinstance(intent, Insistable):
            self._screen.say("")
            self._insist(intent, self._words(refusal), refusal.ask)
            return
        self._screen.say(self._why(refusal), "bold")
        self._give_back(given, insist=isinstance(intent, Insistable) and bool(refusal.ask))

    def _why(self, refusal: Refusal) -> str:
        return f"✗ not recorded: {self._words(refusal)}{'. ' if refusal.ask else ''}{refusal.ask}"

    def _words(self, refusal: Refusal) -> str:
        return refusal.words(lambda quantity: formats.text(quantity, self._screen.tally.units))

    def _insist(self, intent: Insistable, why: str, ask: str) -> None:
        """An intent without a text in the entry line is insisted on over the screen."""

        def chosen(place: int | str | None) -> None:
            if place == 0:
                self._ask_for(replace(intent, sure=True))
            else:
                self._screen.say("not recorded")

        question = ask.partition("?")[0] + "?"
        self._screen.app.push_screen(PickScreen(question, ["yes, record it", "no"], remark=why), chosen)


def _insisting(ask: Ask) -> Ask:
    """The same question, its answer insisted on."""

    def make(value: float, text: str, toggle: str) -> Intent:
        intent = ask.make(value, text, toggle)
        return replace(intent, sure=True) if isinstance(intent, Insistable) else intent

    return replace(ask, make=make)
