"""The entries in the order in which they count: without the voided, what was corrected or entered late in its place."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from typing import get_args

from tally.job import events as ev
from tally.job.state import Kept, State

OPERATORS = get_args(ev.OperatorEvent)
CORRECTIONS = (ev.EntryCorrected, ev.EntryInserted)
VOIDABLE = (*OPERATORS, *CORRECTIONS)


def standing(state: State) -> Iterator[Kept]:
    """Every entry but the voided, oldest first by what it tells of.

    A corrected entry stands where the one stood that it corrects, at its time and at its count of the meter, under
    the correction's own number; one entered late stands right after its neighbour. A correction that was voided leaves
    the first entry standing. A joint measured again is the one that stands now, corrected or not.
    """
    corrected, late = _by_place(state.entries)
    now = _followed(state)
    for first in state.entries:
        if isinstance(first.entry.event, CORRECTIONS):
            continue
        waiting = [first]
        while waiting:
            kept = waiting.pop()
            number = kept.entry.number
            if number not in state.voided or not isinstance(kept.entry.event, OPERATORS):
                yield _following(kept, now)
            # The last of the list comes first: the correction, then what was entered late, the latest nearest.
            waiting += [_in_place(follower, kept) for follower in late.pop(number, ())]
            if isinstance(kept.entry.event, OPERATORS):
                waiting += [_in_place(follower, kept) for follower in corrected.pop(number, ())]


def found(state: State, number: int) -> Kept | None:
    """The entry of that number as it stands; None where there is none that does."""
    return next((kept for kept in standing(state) if kept.entry.number == number), None)


def _by_place(entries: tuple[Kept, ...]) -> tuple[dict[int, list[Kept]], dict[int, list[Kept]]]:
    """(corrections, late entries) by the number of the entry whose place they take or which they follow."""
    corrected: dict[int, list[Kept]] = defaultdict(list)
    late: dict[int, list[Kept]] = defaultdict(list)
    for kept in entries:
        event = kept.entry.event
        # None refers to what comes after it: such a line was made by hand, and stands nowhere.
        if isinstance(event, ev.EntryCorrected) and event.entry < kept.entry.number:
            corrected[event.entry].append(kept)
        elif isinstance(event, ev.EntryInserted) and event.after < kept.entry.number:
            late[event.after].append(kept)
    return corrected, late


def _followed(state: State) -> dict[int, int]:
    """The number under which a corrected entry stands now, by each number that it had."""
    now: dict[int, int] = {}
    for kept in reversed(state.entries):
        event, number = kept.entry.event, kept.entry.number
        if isinstance(event, ev.EntryCorrected) and event.entry < number:
            standing_now = now.get(number, None if number in state.voided else number)
            if standing_now is not None:
                now[event.entry] = standing_now
    return now


def _following(kept: Kept, now: dict[int, int]) -> Kept:
    event = kept.entry.event
    if not isinstance(event, ev.JointRemeasured) or event.joint not in now:
        return kept
    moved = event.model_copy(update={"joint": now[event.joint]})
    return replace(kept, entry=kept.entry.model_copy(update={"event": moved}))


def _in_place(correction: Kept, place: Kept) -> Kept:
    event = correction.entry.event
    assert isinstance(event, CORRECTIONS)
    entry = correction.entry.model_copy(
        update={"event": event.event, "at": place.entry.at, "mono_s": place.entry.mono_s}
    )
    return Kept(entry, place.elapsed_s, place.metered_m3)
