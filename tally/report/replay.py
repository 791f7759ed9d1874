"""A session retold as lines, with its alarms worked out anew and compared with those recorded."""

from __future__ import annotations

from collections.abc import Sequence

from tally import formats
from tally.formats import Units
from tally.job import fold
from tally.job.alarms.replay import disagreements
from tally.job.events import Entry
from tally.job.view.log import log


def retold(entries: Sequence[Entry], problems: Sequence[str], units: Units) -> tuple[str, bool]:
    """The text, and whether recorded and recomputed alarms agree."""
    state = fold.folded(entries)
    zone = state.plan.job.time_zone
    lines = [f"{formats.plain(state.plan.job.name)}, {formats.day(entries[0].at, zone)}, {len(entries)} entries"]
    for row in log(state):
        told = formats.plain(row.sentence.written(lambda quantity: formats.text(quantity, units)))
        void = "VOID " if row.voided else ""
        lines.append(f"{formats.clock_s(row.at, zone)} {row.number:>6}  {void}{told}")
    lines += [f"DAMAGE: {problem}" for problem in problems]
    differing = disagreements(entries)
    lines += [f"ALARM DIFFERS: {words}" for words in differing]
    raised = sum(row.kind == "AlarmRaised" for row in log(state))
    verdict = "differ from" if differing else "agree with"
    lines.append(f"{raised} alarms recorded; they {verdict} those worked out anew from the entries")
    return "\n".join(lines), not differing
