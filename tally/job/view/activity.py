"""What the time went into, by the entries, and where the crew said so, as they said. It adds up to the session.

Where several hold at once the first of these counts: what the crew said it was at; nobody recording; the pump standing
still in a stage; the part of the job.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from tally.job import events as ev
from tally.job.standing import standing
from tally.job.state import State
from tally.job.view.log import ACTIVITIES
from tally.job.view.quantity import Kind, Quantity, Sentence
from tally.job.view.reported_grout import stops_s

WORK = (
    ev.JointAdded, ev.JointRejected, ev.CentralizerFitted, ev.CutOffMade, ev.CasingLanded, ev.StageStarted,
    ev.BatchMixed, ev.VolumeAdded, ev.PumpStarted, ev.TremieSet, ev.TremiePulled, ev.ToppedUp, ev.StageEnded,
)  # fmt: skip
"""Whoever enters one of these is at work again, even where nobody said so."""


@dataclass(frozen=True, slots=True)
class Span:
    activity: Sentence
    from_s: float
    until_s: float
    """Session seconds."""
    said: bool
    """The crew said so; else it follows from the entries."""


@dataclass(frozen=True, slots=True)
class Total:
    activity: Sentence
    lasted: Quantity
    share: Quantity


def totals(state: State, since_s: float = 0.0) -> tuple[Total, ...]:
    """Time by activity since then, each once, in the order in which they first came."""
    lasted_s: dict[str, float] = {}
    for span in spans(state):
        if span.until_s > since_s:
            name = span.activity.text
            lasted_s[name] = lasted_s.get(name, 0.0) + span.until_s - max(span.from_s, since_s)
    whole_s = max(state.elapsed_s - since_s, 1e-9)
    return tuple(
        Total(Sentence(name), Quantity(each_s, Kind.DURATION), Quantity(each_s / whole_s, Kind.SHARE))
        for name, each_s in lasted_s.items()
    )


def spans(state: State) -> tuple[Span, ...]:
    """The session from its opening to now, without a gap."""
    layers = [list(_said(state)), list(_away(state)), list(_still(state)), list(_parts(state))]
    edges = sorted(
        {0.0, state.elapsed_s}
        | {edge for layer in layers for span in layer for edge in (span.from_s, span.until_s) if edge < state.elapsed_s}
    )
    found: list[Span] = []
    for from_s, until_s in pairwise(edges):
        top = next(span for layer in layers for span in layer if span.from_s <= from_s and until_s <= span.until_s)
        if found and (found[-1].activity, found[-1].said) == (top.activity, top.said):
            from_s = found.pop().from_s
        found.append(Span(top.activity, from_s, until_s, top.said))
    return tuple(found)


def now(state: State) -> Span | None:
    """What the crew is at by its own word; None where it is at work."""
    begun = _begun(state)[-1:]
    return Span(begun[0][0], begun[0][1], state.elapsed_s, said=True) if begun and begun[0][2] is None else None


def _begun(state: State) -> list[tuple[Sentence, float, float | None]]:
    """(activity, from, until) of all that the crew said it was at; None where it still is."""
    found: list[tuple[Sentence, float, float | None]] = []
    for kept in standing(state):
        event = kept.entry.event
        if not isinstance(event, (*WORK, ev.ActivityBegan)):
            continue
        if found and found[-1][2] is None:
            found[-1] = (found[-1][0], found[-1][1], kept.elapsed_s)
        if isinstance(event, ev.ActivityBegan) and event.activity != "job":
            found.append((Sentence(ACTIVITIES[event.activity]), kept.elapsed_s, None))
    return found


def _said(state: State) -> Iterator[Span]:
    for activity, from_s, until_s in _begun(state):
        yield Span(activity, from_s, state.elapsed_s if until_s is None else until_s, said=True)


def _away(state: State) -> Iterator[Span]:
    for from_s, until_s in state.away:
        yield Span(Sentence("nobody recorded"), from_s, until_s, said=False)


def _still(state: State) -> Iterator[Span]:
    for place, stage in enumerate(state.grout.stages):
        end_s = state.elapsed_s if stage.ended_s is None else stage.ended_s
        for from_s, until_s in stops_s(state, place, stage):
            yield Span(Sentence(f"pump stopped in stage {place + 1}"), from_s, min(until_s, end_s), said=False)


def _parts(state: State) -> Iterator[Span]:
    begins = sorted([(0.0, "before the first joint"), *_later_parts(state)], key=lambda begin: begin[0])
    ends_s = [*(at_s for at_s, _ in begins[1:]), state.elapsed_s]
    for (from_s, name), until_s in zip(begins, ends_s, strict=True):
        if until_s > from_s:
            yield Span(Sentence(name), from_s, until_s, said=False)


def _later_parts(state: State) -> Iterator[tuple[float, str]]:
    string, stages = state.string, state.grout.stages
    if string.joints:
        welds = ", welds included" if state.plan.casing.connection == "welded" else ""
        yield string.joints[0].elapsed_s, f"running casing{welds}"
    if string.landed_at_s is not None and (not stages or string.landed_at_s <= stages[0].started_s):
        yield string.landed_at_s, "landed, before grouting"
    for place, stage in enumerate(stages, start=1):
        yield stage.started_s, f"grouting, stage {place}"
        if stage.ended_s is not None:
            last = place == len(stages)
            yield stage.ended_s, "after the last stage" if last else f"waiting between stages {place} and {place + 1}"
