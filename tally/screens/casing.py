"""The casing run."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widgets import Digits, Static

from tally import formats
from tally.formats import Units
from tally.job.state import State
from tally.job.view.casing import CasingView, LoadView, casing
from tally.job.view.hole import hole
from tally.job.view.instruments import instruments
from tally.job.view.landing import LandingView
from tally.job.view.quantity import Quantity
from tally.screens import asks, keys, parts, words
from tally.screens.parts import HoleDrawing
from tally.screens.words import line
from tally.screens.work import WorkScreen

WIDE = 60
"""Columns of the figures from which on the whole order is listed."""


class CasingScreen(WorkScreen):
    OWN_KEYS = keys.CASING
    OWN_ASK = asks.JOINT

    def body(self) -> ComposeResult:
        yield HoleDrawing(id="hole")
        with Vertical(id="facts"):
            with Horizontal(id="big"):
                with Vertical():
                    yield Static(id="shoe-label")
                    yield Digits(id="shoe")
                with Vertical():
                    yield Static(id="go-label")
                    yield Digits(id="go")
                with Vertical(classes="wide-only"):
                    yield Static(id="hook-label")
                    yield Digits(id="hook")
            yield Static(id="text")

    def draw(self, state: State, units: Units) -> None:
        view, zone = casing(state), state.plan.job.time_zone
        self.query_one(HoleDrawing).show(hole(state), units)
        past = view.to_go.si is not None and view.to_go.si < 0
        self._big("shoe", "SHOE DEPTH", view.shoe, units)
        self._big("go", "PAST PLANNED DEPTH" if past else "TO GO", view.to_go, units)
        self._big("hook", "EXPECTED ON HOOK", view.load.expected, units)
        text = self.query_one("#text", Static)
        rows = _facts(view, units, text.size.width, self.tally.face("grout"))
        rows += [parts.instrument(row, units) for row in instruments(state) if row.measures == "hook load"]
        rows += _joints(view, units, zone, max(text.size.height - len(rows), 0))
        text.update(words.lines(rows), layout=False)

    def _big(self, name: str, label: str, value: Quantity, units: Units) -> None:
        shown = line((f"{label} ", "bold"), formats.unit(value.kind, units))
        self.query_one(f"#{name}-label", Static).update(shown, layout=False)
        self.query_one(f"#{name}", Digits).update(
            words.big(Quantity(None if value.si is None else abs(value.si), value.kind), units)
        )


def _facts(view: CasingView, units: Units, width: int, goes_on: str) -> list[Content]:
    """At most 51 columns each, so that 80 hold them beside the hole; worked out for depths to 9,999 ft."""

    def show(quantity: Quantity) -> str:
        return formats.text(quantity, units)

    load = view.load
    end = "TOO SHORT" if view.final_is_short else f"stick-up {show(view.final_stick_up)}"
    rows = [
        line(
            "joints in ", (str(view.joints_in), "bold"), "  left ", (str(view.joints_left), "bold"),
            f"  rejected {view.rejected}  centralizers {view.centralizers}",
        ),
        line(
            "stick-up ", (show(view.stick_up), "bold"), " read" if view.stick_up_read else " planned",
            "  string ", (show(view.length), "bold"),
        ),
    ]  # fmt: skip
    if view.landing is not None:
        rows += _landing(view.landing, units, width)
    elif not view.landed_on:
        rows.append(line(f"all joints on, shoe {show(view.target)}: ", (end, "bold")))
    rows += _load(load, view, units)
    if view.landed_on:
        rows.append(line((view.landed_on.upper(), "bold reverse"), f"  {goes_on} goes on to the grout"))
    elif view.joints_per_hour.si is not None:
        pace = f"{view.joints_per_hour.si:.1f} joints an hour"
        lands = view.joints_left and view.time_to_land.si is not None
        rows.append(line(f"{pace}, lands in {show(view.time_to_land)}" if lands else pace))
    return rows


def _landing(view: LandingView, units: Units, width: int) -> list[Content]:
    """What is to go on next, and what comes of it; the whole order where there is room."""

    def show(quantity: Quantity) -> str:
        return formats.text(quantity, units)

    rows: list[Content] = []
    if view.to_come:
        then = ", ".join(show(joint) for joint in view.to_come[1:])
        rows.append(line("next joint ", (show(view.next_joint), "bold"), f"  then {then}" if width < WIDE else ""))
        if then and width >= WIDE:
            rows += [line(part) for part in words.folded(f"then {then}", width, "  ")]
    if view.stick_up.si is not None:
        rows.append(line("lands with stick-up ", (show(view.stick_up), "bold"), f", {show(view.cut_off)} cut off"))
    if view.remark is not None:
        said = words.said(view.remark, units)
        head = "LANDING " if view.to_come or view.stick_up.si is not None else "PLAN AGAIN (p): "
        rows += [line((part, "bold")) for part in words.folded(head + said, width)]
    return rows


def _load(load: LoadView, view: CasingView, units: Units) -> list[Content]:
    def show(quantity: Quantity) -> str:
        return formats.text(quantity, units)

    rows = [line("HOOK LOAD expected ", (show(load.expected), "bold"), "  read ", (show(load.read), "bold"))]
    if load.verdict:
        motion = f" ({load.read_motion})" if load.read_motion else ""
        rows.append(line(f"  the reading{motion} is ", (_verdict(view), "bold")))
    limit = f"{load.limit_name} limit {show(load.limit)}"
    if view.landed_on:
        rows.append(line(limit))
        return rows
    rows.append(line(f"{limit}  {words.bar(load.share.si, 10)} {show(load.share)}"))
    if load.next_joint.si is not None:
        rows.append(line("with the next joint ", (show(load.next_joint), "bold")))
    if load.float_failed.si is not None:
        rows.append(line(f"{view.shoe_end} failing: up to {show(load.float_failed)} on the hook"))
    return rows


def _verdict(view: CasingView) -> str:
    load = view.load
    if load.verdict == "low":
        return "LOW: hung up, afloat?"
    if load.verdict == "high":
        return "HIGH: drag, low water?"
    return load.verdict


def _joints(view: CasingView, units: Units, zone: str, room: int) -> list[Content]:
    if room < 2 or not view.joints:
        return []
    rows = [line((f"{'joint':>5} {'length':>10} {'shoe at':>11}  time", "bold underline"))]
    for row in list(reversed(view.joints))[: room - 1]:
        length, shoe = formats.text(row.length, units), formats.text(row.shoe, units)
        rows.append(line(f"{row.place:>5} {length:>10} {shoe:>11}  {formats.clock(row.at, zone)}"))
    return rows
