"""The one door: every intent is decided here."""

from __future__ import annotations

import math
from typing import Any

from tally.job import intents as want
from tally.job.decide import book, casing, checklist, correction, grout, tremie
from tally.job.decide.refusal import Deciders, Decision, Refusal
from tally.job.state import State

MOST_TEXT = 2_000

_DECIDERS: Deciders = {**casing.DECIDERS, **grout.DECIDERS, **tremie.DECIDERS, **checklist.DECIDERS, **book.DECIDERS}


def decide(state: State, intent: want.Intent) -> Decision:
    """The events that `intent` comes to in `state`, or why nothing is recorded."""
    decision = _decided(state, intent)
    if isinstance(decision, Refusal) and not decision.ask:
        return decision
    return checklist.unchecked(state, intent) or decision


def _decided(state: State, intent: want.Intent) -> Decision:
    """The same for what happened already and is only written down anew: no list is gone through then."""
    if state.closed:
        return Refusal("session", "this session is signed off; open it again with `tally run` to add to it")
    texts = [value for value in _values(intent) if isinstance(value, str) and len(value) > MOST_TEXT]
    if texts:
        return Refusal("text", f"given {len(texts[0])} characters; at most {MOST_TEXT} are kept")
    if any(isinstance(value, float) and not math.isfinite(value) for value in _values(intent)):
        return Refusal("value", "given a number that is not finite; a measured value is accepted")
    if isinstance(intent, want.CorrectEntry):
        return correction.corrected(state, intent, _decided)
    if isinstance(intent, want.InsertEntry):
        return correction.inserted(state, intent, _decided)
    return _DECIDERS[type(intent)](state, intent)


def _values(intent: want.Intent) -> list[Any]:
    slots = [name for kind in type(intent).__mro__ for name in getattr(kind, "__slots__", ())]
    return [getattr(intent, name) for name in slots]
