"""The keys at the foot of a screen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from textual.content import Content
from textual.widgets import Static

from tally.screens import words
from tally.screens.keys import Key
from tally.screens.words import line

MORE = "more keys"
GIVE_WAY = ("theme", "units", "alarms", "log")
"""Places, the first to go first."""


class KeyLine(Static):
    """Keys of this screen, and of the places to go to; a key and its label are never parted."""

    _places: Sequence[Key] = ()
    _own: Sequence[Key] = ()

    def show(self, places: Sequence[Key], own: Sequence[Key]) -> None:
        self._places, self._own = places, own
        self._draw()

    def on_resize(self) -> None:
        """A long message takes lines of the keys."""
        self._draw()

    def _draw(self) -> None:
        width, height = self.size
        if not height:
            return
        places = [self._placed(width)] if self._places else []
        room = height - len(places)
        rows = self._fitting(width, room)
        rows += [[]] * (room - len(rows))
        self.update(words.lines([_keys(row) for row in [*rows, *places]]), layout=False)

    def _placed(self, width: int) -> list[Key]:
        """One row; where it is too narrow, those that give way are in the help, which stays, as does the way out."""
        places = list(self._places)
        for action in GIVE_WAY:
            if len(_wrapped(places, width)) > 1:
                places = [key for key in places if key.action != action]
        return _wrapped(places, width)[0]

    def _fitting(self, width: int, room: int) -> list[list[Key]]:
        """Where there is no room for all, the last key named is the one that leads to the others."""
        own = [key for key in self._own if key.listed]
        rows = _wrapped(own, width)
        more = [replace(key, label=MORE) for key in (*self._places, *self._own) if key.action == "help"][:1]
        while len(rows) > room and more and own:
            own.pop()
            rows = _wrapped([*own, *more], width)
        return rows[:room]


def _wrapped(keys: Sequence[Key], width: int) -> list[list[Key]]:
    rows: list[list[Key]] = [[]]
    used = 0
    for key in keys:
        wide = len(key.face) + len(key.label) + 3
        if used + wide > width + 2 and rows[-1]:
            rows.append([])
            used = 0
        rows[-1].append(key)
        used += wide
    return rows


def _keys(keys: Sequence[Key]) -> Content:
    pieces: list[words.Piece] = []
    for key in keys:
        pieces += ["  " if pieces else "", (key.face, "bold reverse"), f" {key.label}"]
    return line(*pieces)
