"""Widgets that every screen has: header, alarm bar, key line."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.widgets import Static

from tally import formats
from tally.formats import Units
from tally.job.view.alarms import AlarmRow
from tally.job.view.header import HeaderView
from tally.job.view.hole import HoleView
from tally.screens import words
from tally.screens.drawing import drawing
from tally.screens.keys import Key
from tally.screens.words import line


class Header(Static):
    """Job, who records, time, entries saved, meter."""

    def show(self, view: HeaderView, units: Units, trouble: str, replay: bool) -> None:
        time = formats.clock_s(view.at, view.time_zone)
        left = f" {'DEMO ' if view.invented else ''}{_short(view.job, 30)}"
        middle = f"  {_short(view.driller, 16)}  {view.activity}"
        saved = "REPLAY" if replay else ("NOT SAVED" if trouble else f"saved {view.entries}")
        right = f"{time}  {saved}  {_meter(view, units)} "
        gap = max(self.size.width - len(left) - len(middle) - len(right), 1)
        self.update(line((left, "bold"), middle, " " * gap, (right, "bold reverse" if trouble else "")), layout=False)


def _short(text: str, most: int) -> str:
    text = formats.plain(text)
    return text if len(text) <= most else text[: most - 1] + "…"


def _meter(view: HeaderView, units: Units) -> str:
    if not view.metered:
        return "no meter"
    if view.meter_condition == "LIVE" and view.rate.si is not None:
        return f"meter {formats.text(view.rate, units)}"
    return f"meter {view.meter_condition}"


class AlarmBar(Static):
    """The loudest alarm in two lines; its colour follows its severity, and so do symbol and word."""

    def show(self, rows: Sequence[AlarmRow], units: Units, zone: str, trouble: str, raw_trouble: str) -> None:
        self.set_classes(["trouble"] if trouble else ([rows[0].severity] if rows else ["quiet"]))
        if trouble:
            self._say("■ THE RECORD IS NOT BEING WRITTEN", trouble)
            return
        if raw_trouble and not rows:
            self._say("● the meter's raw bytes are not being kept; entries and volumes are", raw_trouble)
            return
        if not rows:
            self.update(words.lines([line(" no alarm"), line("")]), layout=False)
            return
        self.update(self._loudest(rows, units, zone), layout=False)

    def _say(self, head: str, what: str) -> None:
        self.update(words.lines([line((head, "bold reverse")), line(f"  {what}")]), layout=False)

    def _loudest(self, rows: Sequence[AlarmRow], units: Units, zone: str) -> Content:
        row = rows[0]
        waiting = sum(not each.acknowledged for each in rows)
        count = f"  {waiting} to answer: a" if waiting else "  answered, cause still there"
        head = line(
            (f"{words.alarm_head(row)}  {row.title}", "bold" if row.acknowledged else "bold reverse"),
            f"  since {formats.clock(row.raised_at, zone)}",
            (count, "bold"),
            "" if len(rows) == 1 else f"  F5 all {len(rows)}",
        )
        return words.lines([head, line(f"  {words.said(row.sentence, units)}")])


class HoleDrawing(Static):
    """The hole, as large as there is room."""

    def show(self, view: HoleView, units: Units) -> None:
        drawn = drawing(view, self.size.width, self.size.height, units)
        self.update(words.lines([line(row) for row in drawn]), layout=False)


class KeyLine(Static):
    """Keys of this screen, and of the places to go to; a key and its label are never parted."""

    HEIGHT = 3

    def show(self, places: Sequence[Key], own: Sequence[Key]) -> None:
        width = max(self.size.width, 40)
        rows = _wrapped(own, width)[: self.HEIGHT - 1]
        rows += [[]] * (self.HEIGHT - 1 - len(rows))
        self.update(words.lines([_keys(row) for row in [*rows, list(places)]]), layout=False)


def _wrapped(keys: Sequence[Key], width: int) -> list[list[Key]]:
    rows: list[list[Key]] = [[]]
    used = 0
    for key in keys:
        wide = len(key.face) + len(key.label) + 3
        if used + wide > width and rows[-1]:
            rows.append([])
            used = 0
        rows[-1].append(key)
        used += wide
    return rows


def _keys(keys: Sequence[Key]) -> Content:
    pieces: list[words.Piece] = []
    for key in keys:
        pieces += [(key.face, "bold reverse"), f" {key.label}  "]
    return line(*pieces)
