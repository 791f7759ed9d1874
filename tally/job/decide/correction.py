"""Entering again, or late: decided as if it were entered at the moment that it tells of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import cast

from tally.job import events as ev
from tally.job import fold, lengths
from tally.job import intents as want
from tally.job.decide.refusal import Decision, Refusal, of
from tally.job.standing import OPERATORS, found
from tally.job.state import Kept, State
from tally.job.view.quantity import Kind

Decide = Callable[[State, want.Intent], Decision]
REASON_NEEDED = "a correction needs its reason; it stands in the report"


def corrected(state: State, intent: want.CorrectEntry, decide: Decide) -> Decision:
    """One event that voids `intent.entry` and enters it again, or why neither is done."""
    kept = found(state, intent.entry)
    if kept is None or not isinstance(kept.entry.event, OPERATORS):
        voided = intent.entry in state.voided
        known = "is voided already" if voided else "was not made by the crew: correct what led to it"
        return Refusal("entry", f"entry {intent.entry} {known}")
    event = _entered(_moment(state, kept, before=intent.entry), intent.by, intent, decide)
    if isinstance(event, Refusal):
        return event
    if type(event) is not type(kept.entry.event):
        return Refusal("entry", f"entry {intent.entry} tells of something else; void it and enter the other anew")
    if event == kept.entry.event:
        return Refusal("entry", f"entry {intent.entry} says that already")
    return _checked(state, ev.EntryCorrected(entry=intent.entry, event=event, reason=intent.reason), intent)


def inserted(state: State, intent: want.InsertEntry, decide: Decide) -> Decision:
    """One event that enters `intent.by` right after the entry `intent.after`, or why it is not done."""
    kept = found(state, intent.after)
    if kept is None:
        return Refusal("entry", f"entry {intent.after} does not stand; name one that does")
    event = _entered(_moment(state, kept, through=intent.after), intent.by, intent, decide)
    if isinstance(event, Refusal):
        return event
    return _checked(state, ev.EntryInserted(after=intent.after, event=event, reason=intent.reason), intent)


def _moment(state: State, kept: Kept, *, before: int | None = None, through: int | None = None) -> State:
    """The job as it was where `kept` stands; the clock and what the instruments do are those of now."""
    past = fold.refolded(state, before=before, through=through)
    return replace(past, flow=replace(state.flow, metered_m3=kept.metered_m3))


def _entered(
    past: State, by: want.Intent, intent: want.CorrectEntry | want.InsertEntry, decide: Decide
) -> ev.OperatorEvent | Refusal:
    if not intent.reason.strip():
        return Refusal("reason", REASON_NEEDED)
    if isinstance(by, want.CorrectEntry | want.InsertEntry):
        return Refusal("entry", "one correction at a time")
    if intent.sure and isinstance(by, want.Insistable):
        by = replace(by, sure=True)
    decision = decide(past, by)
    if isinstance(decision, Refusal):
        return decision
    if len(decision) > 1 or not isinstance(decision[0], OPERATORS):
        return Refusal("entry", "that is no entry of the job; only those are corrected or entered late")
    return cast(ev.OperatorEvent, decision[0])


def _checked(
    state: State, event: ev.EntryCorrected | ev.EntryInserted, intent: want.CorrectEntry | want.InsertEntry
) -> Decision:
    """Asks where the whole string, with all that came after, would end below the hole."""
    kept = Kept(state.entries[-1].entry.model_copy(update={"number": state.number + 1, "event": event}), 0.0, 0.0)
    voided = state.voided | {event.entry} if isinstance(event, ev.EntryCorrected) else state.voided
    after = fold.refolded(replace(state, entries=(*state.entries, kept), voided=voided))
    shoe_m, bottom_m = lengths.shoe_depth_m(after.plan, after.string), after.plan.hole.bottom_m
    was_m = lengths.shoe_depth_m(state.plan, state.string)
    if not intent.sure and shoe_m > max(was_m, bottom_m + after.plan.casing.stick_up_tolerance_m):
        return Refusal(
            "length",
            "the shoe would be at {0}, below the hole's bottom at {1}",
            "so all the same? Enter again records it",
            of(Kind.DEPTH, shoe_m, bottom_m),
        )
    return [event]
