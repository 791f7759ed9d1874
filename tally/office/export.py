"""One session into the tables: its samples as they come, the rest when its end has been read."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from tally.job import fold
from tally.job.events import Entry
from tally.job.state import State
from tally.job.view.ledger import alarm_rows, head, job_row, joint_rows, sample_rows, stage_rows
from tally.office.table import Sink


def export(entries: Iterable[Entry], sink: Sink, *, file: str, verdict: Callable[[], tuple[str, int]]) -> State:
    """Puts a session's rows into `sink`; raises `NotAnOpening`.

    `verdict` says, once all entries were read, the file's digest and how many lines are damaged.
    """
    rest = iter(entries)
    first = next(rest, None)
    if first is None:
        raise fold.NotAnOpening("the session holds no entry")
    folding = fold.Folding(fold.opened(first))
    of = head(first)
    for entry in rest:
        folding.take(entry)
        for sample in sample_rows(of, entry):
            sink.put(sample)
    state = folding.state
    for row in (job_row(state, file, *verdict()), *joint_rows(state), *stage_rows(state), *alarm_rows(state)):
        sink.put(row)
    return state
