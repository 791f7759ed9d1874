"""The entries that stand: what was entered and not voided, by kind of event, and the time of day of a moment."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Generic, TypeVar

from tally.job.events import Event
from tally.job.standing import standing
from tally.job.state import State

AnyKind = TypeVar("AnyKind", bound=Event)


@dataclass(frozen=True, slots=True)
class Entered(Generic[AnyKind]):
    """An entry that stands, with its event's kind known."""

    number: int
    at: datetime
    who: str
    elapsed_s: float
    event: AnyKind


def entered(state: State, kind: type[AnyKind]) -> Iterator[Entered[AnyKind]]:
    """The entries of one kind that stand, oldest first by what they tell of: a corrected one in its old place."""
    for kept in standing(state):
        entry = kept.entry
        if isinstance(entry.event, kind):
            yield Entered(entry.number, entry.at, entry.who, kept.elapsed_s, entry.event)


def order(state: State) -> dict[int, int]:
    """The turn of each entry that stands, by its number: what was corrected stands where it stood, numbered later."""
    return {kept.entry.number: turn for turn, kept in enumerate(standing(state), start=1)}


def at_elapsed(state: State, elapsed_s: float) -> datetime:
    """The time of day at a moment of the session, counted on from the last entry before it."""
    before = state.entries[0]
    for kept in state.entries:
        if kept.elapsed_s > elapsed_s:
            break
        before = kept
    return before.entry.at + timedelta(seconds=round(elapsed_s - before.elapsed_s, 3))
