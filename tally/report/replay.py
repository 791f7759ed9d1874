"""A session retold as lines, with its alarms worked out anew and compared with those recorded."""

from __future__ import annotations

from collections.abc import Sequence

from tally import formats
from tally.formats import Units
from tally.job import fold
from tally.job.alarms.replay import disagreements
from tally.job.events import Entry
from tally.job.state import State
from tally.job.supposition import Supposition, against_recorded, supposed
from tally.job.view.log import log
from tally.report.supposed import MARK, against_words, supposition_words


def retold(entries: Sequence[Entry], problems: Sequence[str], units: Units) -> tuple[str, bool]:
    """The text, and whether recorded and recomputed alarms agree."""
    state = fold.folded(entries)
    lines = [*_told(state, len(entries), entries[-1].number, units), *(f"DAMAGE: {problem}" for problem in problems)]
    differing = disagreements(entries)
    lines += [f"ALARM DIFFERS: {words}" for words in differing]
    raised = sum(row.kind == "AlarmRaised" for row in log(state))
    verdict = "differ from" if differing else "agree with"
    lines.append(f"{raised} alarm{'s' * (raised != 1)} recorded; they {verdict} those worked out anew from the entries")
    return "\n".join(lines), not differing


def supposed_retold(entries: Sequence[Entry], problems: Sequence[str], what: Supposition, units: Units) -> str:
    """The text of the day under a supposition; every line says so."""
    altered = tuple(supposed(entries, what))
    state = fold.folded(altered)
    zone = state.plan.job.time_zone
    lines = [
        f"{supposition_words(what, units)}: as the day would read; the file is as it was",
        *_told(state, len(altered), entries[-1].number, units),
        *(f"DAMAGE: {problem}" for problem in problems),
        *against_words(against_recorded(entries, altered), zone, units),
    ]
    return "\n".join(f"{MARK} {line}" for line in lines)


def _told(state: State, count: int, last: int, units: Units) -> list[str]:
    """Job, day and each entry; what is numbered past `last`, the file's last entry, is of no file and has no number."""
    zone = state.plan.job.time_zone
    opened_at = state.entries[0].entry.at
    lines = [f"{formats.plain(state.plan.job.name)}, {formats.day(opened_at, zone)}, {count} entries"]
    for row in log(state):
        told = formats.plain(row.sentence.written(lambda quantity: formats.text(quantity, units)))
        void = "VOID " if row.voided else ""
        number = str(row.number) if row.number <= last else formats.UNKNOWN
        lines.append(f"{formats.clock_s(row.at, zone)} {number:>6}  {void}{told}")
    return lines
