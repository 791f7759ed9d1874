"""What the working screens share: frame, tick, and the way of an answer from the entry line to the record."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar, cast

from textual.app import ComposeResult
from textual.containers import Container
from textual.screen import Screen

from tally import formats
from tally.formats import Units
from tally.job import intents as want
from tally.job.decide.refusal import Refusal
from tally.job.intents import Insistable, Intent
from tally.job.state import State
from tally.job.view.alarms import standing
from tally.job.view.header import header
from tally.live.player import Player
from tally.live.session import NotSaved, Saved, Snapshot
from tally.screens import asks, keys, words
from tally.screens.asks import Ask, Pick, Unreadable
from tally.screens.entry import EntryInput, EntryLine
from tally.screens.keys import Key
from tally.screens.parts import AlarmBar, Header, KeyLine
from tally.screens.pick import PickScreen
from tally.screens.timebar import TimeBar

if TYPE_CHECKING:
    from tally.screens.app import TallyApp


class WorkScreen(Screen[None]):
    """Header, alarm bar, a body of its own, entry line (or time bar in a replay), keys."""

    OWN_KEYS: ClassVar[tuple[Key, ...]] = ()
    OWN_ASK: ClassVar[Ask | None] = None

    def compose(self) -> ComposeResult:
        yield Header(id="header")
        yield AlarmBar(id="alarm-bar")
        with Container(id="body"):
            yield from self.body()
        if self.tally.player is not None:
            yield TimeBar(self.tally.player)
        elif self.OWN_ASK is not None:
            yield EntryLine(self.OWN_ASK)
        yield KeyLine(id="keys")

    def body(self) -> ComposeResult:
        raise NotImplementedError

    def draw(self, state: State, units: Units) -> None:
        """Puts the body's widgets right for `state`."""
        raise NotImplementedError

    @property
    def tally(self) -> TallyApp:
        return cast("TallyApp", self.app)

    @property
    def entry(self) -> EntryLine | None:
        found = self.query(EntryLine)
        return found.first() if found else None

    @property
    def own_keys(self) -> tuple[Key, ...]:
        return keys.REPLAY if self.tally.player is not None else self.OWN_KEYS

    def on_screen_resume(self) -> None:
        if self.entry is not None:
            self.entry.focus_field()
        self.tally.redraw()

    def on_resize(self) -> None:
        self.tally.redraw()

    def show(self, snapshot: Snapshot, units: Units) -> None:
        state = snapshot.state
        replay = self.tally.player is not None
        self.query_one(KeyLine).show(keys.PLACES, self.own_keys)
        self.query_one(Header).show(header(state), units, snapshot.trouble, replay)
        self.query_one(AlarmBar).show(
            standing(state), units, state.plan.job.time_zone, snapshot.trouble, snapshot.raw_trouble
        )
        if self.entry is not None:
            self.entry.show_units(units)
        if replay:
            self.query_one(TimeBar).show(cast(Player, self.tally.player), state)
        self.draw(state, units)

    # --- from a key to the record ------------------------------------------------------------------------------------

    def on_entry_input_command(self, message: EntryInput.Command) -> None:
        self.press(message.key)

    def press(self, letter: str) -> None:
        """A letter key: asks its question, or says that there is none."""
        key = next((key for key in self.OWN_KEYS if key.key == letter), None)
        if key is None:
            self.say(f"nothing is tied to {letter} here; F6 shows the keys", "")
        elif key.action == "answer":
            self.answer_alarm()
        else:
            self.act(key.action)

    def act(self, action: str) -> None:
        question = asks.question(action, self.tally.snapshot.state, self.tally.units)
        if isinstance(question, str):
            self.say(question, "")
        elif isinstance(question, Intent):
            self.ask_for(question)
        elif isinstance(question, Ask):
            self.put(question)
        else:
            self._pick(question)

    def put(self, ask: Ask) -> None:
        if self.entry is not None:
            self.entry.put(ask)
            self.entry.focus_field()

    def _pick(self, pick: Pick) -> None:
        def chosen(place: int | str | None) -> None:
            if not isinstance(place, int):
                return
            following = pick.options[place][1]
            if isinstance(following, Ask):
                self.put(following)
            else:
                self.ask_for(following)

        self.app.push_screen(PickScreen(pick.title, [label for label, _ in pick.options]), chosen)

    def answer_alarm(self) -> None:
        """Asks what was done about the loudest alarm that waits for an answer."""
        rows = [row for row in standing(self.tally.snapshot.state) if not row.acknowledged]
        if not rows:
            self.say("no alarm waits for an answer", "")
            return
        row = rows[0]

        def done(answer: int | str | None) -> None:
            if answer is not None:
                text = row.helps[answer] if isinstance(answer, int) else answer
                self.ask_for(want.AcknowledgeAlarm(row.alarm, text))

        remark = words.said(row.sentence, self.tally.units)
        title = f"{words.alarm_head(row)}  {row.title}: what was done?"
        self.app.push_screen(PickScreen(title, row.helps, remark=remark, typed="or in your own words:"), done)

    def on_entry_line_given(self, message: EntryLine.Given) -> None:
        try:
            intent = asks.answered(message.ask, message.text, message.toggle, self.tally.units)
        except Unreadable as wrong:
            self.say(f"✗ {wrong}", "bold")
            return
        if message.again and isinstance(intent, Insistable):
            intent = replace(intent, sure=True)
        if self.entry is not None:
            # Free for the next answer at once: what is typed while this one is being saved belongs to the next.
            self.entry.put()
        self.ask_for(intent, message)

    def ask_for(self, intent: Intent, given: EntryLine.Given | None = None) -> None:
        self.run_worker(self._ask_for(intent, given), group="entries", exit_on_error=False)

    async def _ask_for(self, intent: Intent, given: EntryLine.Given | None) -> None:
        try:
            outcome = await asyncio.wrap_future(self.tally.feed.submit(intent))
        except Exception as bug:
            self.say(f"✗ not recorded, an error in the program: {bug}", "bold reverse")
            self._give_back(given, insist=False)
            return
        self.tally.redraw()
        if isinstance(outcome, Saved):
            self._saved(outcome)
        elif isinstance(outcome, NotSaved):
            self.say(f"✗ NOT SAVED: {outcome.why}", "bold reverse")
            self._give_back(given, insist=False)
        else:
            self._refused(intent, outcome, given)

    def _give_back(self, given: EntryLine.Given | None, *, insist: bool) -> None:
        if given is not None and self.entry is not None:
            self.entry.give_back(given, insist=insist)

    def _saved(self, outcome: Saved) -> None:
        kept = [kept for kept in self.tally.snapshot.state.entries if kept.entry.number in outcome.numbers]
        told = "; ".join(self.tally.told(each) for each in kept)
        self.say(f"✓ saved {outcome.numbers[-1] if outcome.numbers else ''}: {told}", "")

    def _refused(self, intent: Intent, refusal: Refusal, given: EntryLine.Given | None) -> None:
        why = refusal.words(lambda quantity: formats.text(quantity, self.tally.units))
        self.say(f"✗ not recorded: {why}{'. ' if refusal.ask else ''}{refusal.ask}", "bold")
        insistable = bool(refusal.ask) and isinstance(intent, Insistable)
        self._give_back(given, insist=insistable)
        if insistable and given is None and isinstance(intent, Insistable):
            self._insist(intent, why, refusal.ask)

    def _insist(self, intent: Insistable, why: str, ask: str) -> None:
        """An intent without a text in the entry line is insisted on over the screen."""

        def chosen(place: int | str | None) -> None:
            if place == 0:
                self.ask_for(replace(intent, sure=True))

        question = ask.partition("?")[0] + "?"
        self.app.push_screen(PickScreen(question, ["yes, record it", "no"], remark=why), chosen)

    def say(self, text: str, style: str) -> None:
        if self.entry is not None:
            self.entry.say(text, style)
        else:
            self.app.bell()
