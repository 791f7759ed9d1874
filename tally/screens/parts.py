"""Widgets that every screen has: header, alarm bar, banner, the hole, keys."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content
from textual.widgets import Static

from tally import formats
from tally.formats import Units
from tally.job.view.alarms import AlarmRow
from tally.job.view.header import HeaderView
from tally.job.view.hole import HoleView
from tally.job.view.instruments import InstrumentRow
from tally.screens import words
from tally.screens.drawing import drawing
from tally.screens.words import line

LONGEST_JOB, LONGEST_NAME = 30, 16
WIDE = 100
"""Columns from which on the alarm bar takes a line for what else waits."""


class Header(Static):
    """Job, who records, time, entries saved, meter. What is safe and what is measured gives way last."""

    def show(self, view: HeaderView, units: Units, trouble: str, replay: str, copy: str = "") -> None:
        """`replay` is the word for one, empty while recording; `copy` how a second copy stands."""
        width = self.size.width
        saved = replay or ("NOT SAVED" if trouble else f"saved {view.entries}")
        saved += f", {copy}" if copy else ""
        right = f"{formats.clock_s(view.at, view.time_zone)}  {saved}  {_meter(view, units)} "
        right = words.cut(right, width)
        job, room = self._left(view, width - words.cells(right) - 1)
        gap = " " * max(width - words.cells(job) - words.cells(room) - words.cells(right), 0)
        self.update(line((job, "bold"), room, gap, (right, "bold reverse" if trouble else "")), layout=False)

    def _left(self, view: HeaderView, room: int) -> tuple[str, str]:
        """Job, and what else there is room for."""
        job = f" {'DEMO ' if view.invented else ''}{words.cut(view.job, LONGEST_JOB)}"
        who = f"  {words.cut(view.driller, LONGEST_NAME)}"
        for rest in (f"{who}  {view.activity}", who, ""):
            if words.cells(job) + words.cells(rest) <= room:
                return job, rest
        return (words.cut(job, room) if room > 1 else ""), ""


def _meter(view: HeaderView, units: Units) -> str:
    if not view.metered:
        return "no meter"
    if view.meter_condition == "LIVE" and view.rate.si is not None:
        return f"meter {formats.text(view.rate, units)}"
    return f"meter {view.meter_condition}"


class AlarmBar(Static):
    """The loudest alarm in two lines, three at most; its colour follows its severity, and so do symbol and word."""

    def show(
        self,
        rows: Sequence[AlarmRow],
        units: Units,
        zone: str,
        trouble: str,
        raw_trouble: str,
        answers: str,
        *,
        muted: bool = False,
    ) -> None:
        """`answers` is the key that answers; empty where nothing can be answered."""
        self.set_classes(["trouble"] if trouble else ([rows[0].severity] if rows else ["quiet"]))
        if trouble:
            self._say("■ THE RECORD IS NOT BEING WRITTEN", trouble)
        elif raw_trouble and not rows:
            self._say("● the meter's raw bytes are not being kept; entries and volumes are", raw_trouble)
        elif not rows:
            self._put([line(" no alarm", "   bell muted" if muted else "")])
        else:
            self._put(self._loudest(rows, units, zone, answers, muted))

    def _say(self, head: str, what: str) -> None:
        self._put([line((head, "bold reverse")), *(line(part) for part in words.folded(what, self._width, "  "))])

    def _put(self, rows: list[Content]) -> None:
        """Says itself how high it is: of a height by its text the library loses a line now and then."""
        self.styles.height = min(max(len(rows), 2), 3)
        self.update(words.lines(rows))

    @property
    def _width(self) -> int:
        return max(self.size.width, 20)

    def _loudest(self, rows: Sequence[AlarmRow], units: Units, zone: str, answers: str, muted: bool) -> list[Content]:
        row = rows[0]
        waiting = [each for each in rows if not each.acknowledged]
        answer = f"  {f'{answers} answers' if answers else 'not answered'}, {len(waiting)} of {len(rows)} wait"
        if not row.active and not row.acknowledged:
            answer = f"  cause gone,{answer[1:]}"
        if not waiting:
            answer = "  answered, cause still there"
        said = f"{words.alarm_head(row)}  {row.title}"
        rest = [("  MUTED" if muted else "", "bold"), (answer, "bold")]
        since = f"  since {formats.clock(row.raised_at, zone)}"
        if words.cells(said + "".join(text for text, _ in rest) + since) <= self._width:
            rest.append((since, ""))  # else the list says it
        head = line((said, "bold" if row.acknowledged else "bold reverse"), *rest).truncate(self._width, ellipsis=True)
        told = words.folded(words.said(row.sentence, units), self._width, "  ")
        return [head, *(line(part) for part in self._with_others(told, [each for each in waiting if each is not row]))]

    def _with_others(self, told: list[str], others: Sequence[AlarmRow]) -> list[str]:
        """Names what else waits, as far as there is room: behind what is told, on a wide screen below it."""
        if not others:
            return told
        wide, last = self._width >= WIDE, told[-1]
        beside, count = _named(others, self._width - words.cells(last) - 2)
        if wide and count < len(others) and len(told) == 1:
            return [*told, f"  {_named(others, self._width - 2)[0]}"]
        return [*told[:-1], f"{last}  {beside}"] if count else told


def _named(rows: Sequence[AlarmRow], room: int) -> tuple[str, int]:
    """ "next: ▲ Over the planned volume, ● …": as many titles as fit, whole, and how many these are."""
    for count in range(len(rows), 0, -1):
        left = len(rows) - count
        titles = ", ".join(f"{words.alarm_head(row)[0]} {row.title}" for row in rows[:count])
        named = f"next: {titles}{f' and {left} more' if left else ''}"
        if words.cells(named) <= room:
            return named, count
    return "", 0


class Banner(Static):
    """Says that something cannot be drawn; takes no room while everything can."""

    def on_mount(self) -> None:
        self.display = False

    def show(self, fault: Exception | None) -> None:
        self.display = fault is not None
        if fault is not None:
            what = f"{type(fault).__name__}: {fault}"
            self.update(
                line((f"■ part of this screen cannot be drawn; recording goes on. {what}", "bold reverse")).truncate(
                    max(self.size.width, 80), ellipsis=True
                )
            )


class HoleDrawing(Static):
    """The hole, as large as there is room."""

    def show(self, view: HoleView, units: Units) -> None:
        if self.size.width and self.size.height:
            drawn = drawing(view, self.size.width, self.size.height, units)
            self.update(words.lines([line(row) for row in drawn]), layout=False)


NARROW = 51
"""Columns beside the hole on a terminal of 80."""


def instrument(row: InstrumentRow, units: Units) -> Content:
    """What an instrument beside the meter says, or how it is."""
    said = f"{row.name[:16]}, {row.measures}: "
    if row.trouble:
        return line(said, (row.trouble[: NARROW - len(said)], "bold"))
    return line(said, (formats.text(row.value, units), "bold"))
