"""Entries about the session itself: notes, crew, corrections, answers to alarms."""

from __future__ import annotations

import re

from tally.job import events as ev
from tally.job import intents as want
from tally.job.decide.refusal import Deciders, Decision, Refusal, of
from tally.job.standing import VOIDABLE
from tally.job.state import State
from tally.job.view.quantity import Kind

MOST_COUNTED_M3 = 50.0
ANSWER_ROOM, ANSWER_ROOM_M3 = 1.005, 0.001
"""The volume offered may be typed back as the screen rounds it."""


def _answer_gap(state: State, intent: want.AnswerGap) -> Decision:
    offered_m3 = state.flow.offered_m3
    if offered_m3 <= 0:
        return Refusal("gap", "the meter offers no unseen volume")
    most_m3 = min(offered_m3, MOST_COUNTED_M3)
    if not 0 <= intent.counted_m3 <= most_m3 * ANSWER_ROOM + ANSWER_ROOM_M3:
        return Refusal(
            "gap",
            "given {0}; from {1} to what the meter moved, {2}, is accepted; more is typed as a volume",
            values=of(Kind.VOLUME, intent.counted_m3, 0.0, most_m3),
        )
    return [ev.GapAnswered(channel="grout", offered_m3=offered_m3, counted_m3=intent.counted_m3)]


def _write_note(state: State, intent: want.WriteNote) -> Decision:
    return [ev.NoteWritten(text=intent.text)] if intent.text.strip() else Refusal("note", "the note is empty")


def _change_crew(state: State, intent: want.ChangeCrew) -> Decision:
    if not intent.driller.strip():
        return Refusal("driller", "a name is needed: whoever records from now on")
    return [ev.CrewChanged(driller=intent.driller, helper=intent.helper)]


def _begin_activity(state: State, intent: want.BeginActivity) -> Decision:
    return [ev.ActivityBegan(activity=intent.activity, note=intent.note)]


_TEMPERATURE = re.compile(r"(?<![\d.,])([-−]?\d{1,3}(?:[.,]\d)?)\s*(?:°\s*|deg\s*)?([CF])\b")
COLDEST_C, HOTTEST_C = -90.0, 60.0


def _note_weather(state: State, intent: want.NoteWeather) -> Decision:
    if not intent.text.strip():
        return Refusal("weather", "given nothing; say it in words, such as: rain, wind, 12 C")
    found = _TEMPERATURE.search(intent.text)
    if found is None:
        return [ev.WeatherNoted(text=intent.text)]
    degrees = float(found[1].replace("−", "-").replace(",", "."))
    air_c = degrees if found[2] == "C" else (degrees - 32.0) / 1.8
    if not COLDEST_C <= air_c <= HOTTEST_C:
        return Refusal("weather", f"given {found[0].strip()}; from {COLDEST_C:g} to {HOTTEST_C:g} °C is accepted")
    return [ev.WeatherNoted(text=intent.text, air_c=round(air_c, 2))]


def _void(state: State, intent: want.Void) -> Decision:
    kept = next((kept for kept in state.entries if kept.entry.number == intent.entry), None)
    if kept is None or not isinstance(kept.entry.event, VOIDABLE):
        return Refusal("entry", f"entry {intent.entry} is none that can be voided")
    if intent.entry in state.voided:
        return Refusal("entry", f"entry {intent.entry} is voided already")
    if not intent.reason.strip():
        return Refusal("reason", "a correction needs its reason; it stands in the report")
    return [ev.EntryVoided(entry=intent.entry, reason=intent.reason)]


def _amend_plan(state: State, intent: want.AmendPlan) -> Decision:
    if not intent.reason.strip():
        return Refusal("reason", "an amended plan needs its reason; it stands in the report")
    return [ev.PlanAmended(plan=intent.plan, reason=intent.reason)]


def _acknowledge(state: State, intent: want.AcknowledgeAlarm) -> Decision:
    if not any(alarm.alarm == intent.alarm and alarm.acknowledged_at is None for alarm in state.alarms):
        return Refusal("alarm", "no alarm of that name waits for an answer")
    if not intent.done.strip():
        return Refusal("done", "say what was done; the answer stands in the report")
    return [ev.AlarmAcknowledged(alarm=intent.alarm, done=intent.done)]


def _close(state: State, intent: want.CloseSession) -> Decision:
    if (still := _still_open(state)) and not intent.sure:
        return Refusal("session", "; ".join(still), "sign off all the same? Enter again does it")
    return [ev.SessionClosed(remark=intent.remark)]


def _still_open(state: State) -> list[str]:
    """What a crew would not leave behind unsaid."""
    unanswered = sum(alarm.acknowledged_at is None for alarm in state.alarms)
    said = {
        "a stage is under way": state.grout.stage is not None,
        f"{unanswered} alarm{'s are' if unanswered > 1 else ' is'} not answered": unanswered > 0,
        "the tremie is still in the hole": state.grout.tremie_tip_m is not None,
    }
    return [words for words, holds in said.items() if holds]


DECIDERS: Deciders = {
    want.AnswerGap: _answer_gap,
    want.WriteNote: _write_note,
    want.ChangeCrew: _change_crew,
    want.BeginActivity: _begin_activity,
    want.NoteWeather: _note_weather,
    want.Void: _void,
    want.AmendPlan: _amend_plan,
    want.AcknowledgeAlarm: _acknowledge,
    want.CloseSession: _close,
}
