"""The foot of a session that is only watched: how far it is behind, and what is wrong with reading it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.widgets import Static

from tally import formats
from tally.screens import words
from tally.screens.words import line, lines

if TYPE_CHECKING:
    from tally.live.follower import Follower

MINUTE_S = 60.0


class WatchLine(Static):
    def __init__(self) -> None:
        super().__init__(id="time-bar")

    def show(self, follower: Follower) -> None:
        width = max(self.size.width - 1, 20)
        head = f" {word(follower)}  nothing is entered here"
        wrong = words.cut(f" {_wrong(follower)}", width)
        rows = [line((words.cut(head, width), "bold")), line((wrong, "bold reverse" if wrong.strip() else ""))]
        self.update(lines(rows), layout=False)


def word(follower: Follower) -> str:
    """For the header: "WATCHING, read-only, 2 s behind"."""
    return f"WATCHING, read-only, {_behind(follower)}"


def _behind(follower: Follower) -> str:
    state, since = follower.snapshot.state, follower.silent_since
    if state.closed:
        return "signed off"
    if since is not None:
        return f"SILENT since {formats.clock(since, state.plan.job.time_zone)}"
    behind_s = max(follower.behind_s, 0.0)
    return f"{behind_s:.0f} s behind" if behind_s < MINUTE_S else f"{behind_s / MINUTE_S:.0f} min behind"


def _wrong(follower: Follower) -> str:
    if follower.trouble:
        return f"■ {follower.trouble}"
    if (since := follower.silent_since) is not None:
        at = formats.clock(since, follower.snapshot.state.plan.job.time_zone)
        return f"▲ the recorder is silent since {at}: stopped, or cut off from here"
    if follower.damage:
        return f"▲ damaged, shown as far as it can be read: {follower.damage}"
    return ""
