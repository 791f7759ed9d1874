"""A folder of sessions as a list: one session after the other, for people at 80 columns and for programs."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass

from tally import formats
from tally.formats import Units
from tally.job import lengths
from tally.job.coding import utc_text
from tally.job.state import State
from tally.job.view.ledger import head, lost_m3, pumped_m3, state_word
from tally.job.view.quantity import Kind, Quantity

INDENT = " " * 21
WIDTH = 80


@dataclass(frozen=True, slots=True)
class Listed:
    """One session file: what it comes to, or why it cannot be read."""

    file: str
    state: State | None
    problems: Sequence[str] = ()


def listed_lines(listed: Listed, units: Units | None) -> list[str]:
    """Dates, state, casing depth and grout pumped; below them job, place and file, and what is wrong with it."""
    state = listed.state
    if state is None:
        return [_fitted(f"{'CANNOT BE READ':<19}  {listed.file}"), *_wrong(listed.problems)]
    shown, zone = units or state.plan.job.units, state.plan.job.time_zone
    begun, ended = (formats.day(at, zone) for at in (state.entries[0].entry.at, state.at))
    dates = begun if begun == ended else f"{begun} to {ended[5:]}"
    depth = formats.text(Quantity(_depth_m(state), Kind.DEPTH), shown)
    volume = formats.text(Quantity(pumped_m3(state) if state.grout.stages else None, Kind.VOLUME), shown)
    damage = "  DAMAGED" if listed.problems else ""
    return [
        f"{dates:<19}  {state_word(state):<10}  casing {depth:>9}  grout {volume:>12}{damage}",
        _fitted(f"{INDENT}{', '.join(filter(None, (state.plan.job.name, state.plan.job.place)))}"),
        _fitted(f"{INDENT}{listed.file}"),
        *_wrong(listed.problems),
    ]


def listed_json(listed: Listed) -> str:
    """The same in SI as one JSON object on one line."""
    state = listed.state
    found: dict[str, object] = {"file": listed.file, "problems": list(listed.problems)}
    if state is not None:
        opening, plan = state.entries[0].entry, state.plan
        found |= {
            "session": head(opening).session,
            "job": plan.job.name,
            "place": plan.job.place,
            "rig": plan.crew.rig,
            "opened_at": utc_text(opening.at),
            "last_at": utc_text(state.at),
            "state": state_word(state),
            "entries": state.number,
            "joints": len(state.string.joints),
            "shoe_m": _depth_m(state),
            "pumped_m3": pumped_m3(state),
            "lost_m3": lost_m3(state),
            "alarms": len(state.alarms),
        }
    return json.dumps(found, ensure_ascii=False)


@dataclass
class Counts:
    """How many there were, counted as they go by."""

    sessions: int = 0
    unfinished: int = 0
    damaged: int = 0

    def count(self, listed: Listed) -> None:
        self.sessions += 1
        self.unfinished += listed.state is not None and not listed.state.closed
        self.damaged += bool(listed.problems)

    def __str__(self) -> str:
        noun = "session" if self.sessions == 1 else "sessions"
        return f"{self.sessions} {noun}, {self.unfinished} not signed off, {self.damaged} damaged or unreadable"


def _depth_m(state: State) -> float | None:
    return lengths.shoe_depth_m(state.plan, state.string) if state.string.joints else None


def _wrong(problems: Sequence[str]) -> list[str]:
    more = [f"{INDENT}and {len(problems) - 1} more"] if len(problems) > 1 else []
    return [*(_fitted(f"{INDENT}{problem}") for problem in problems[:1]), *more]


def _fitted(text: str) -> str:
    """In one line of a terminal; what was cut off is in the JSON."""
    line = formats.plain(text[: 4 * WIDTH])
    while formats.cells(line) > WIDTH:
        line = f"{line.removesuffix('…')[:-1]}…"
    return line
