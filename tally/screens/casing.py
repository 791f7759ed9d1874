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
from tally.screens.keys import Face
from tally.screens.parts import HoleDrawing
from tally.screens.words import Row, line
from tally.screens.work import WorkScreen

WIDE = 60
"""Columns of the figures from which on the whole order is listed."""
_SHOWN_M = 0.0015
"""Half of the last figure shown, 0.01 ft: a shoe past its depth by less reads 0.00 and is where it should be."""


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
        past = view.to_go.si is not None and view.to_go.si < -_SHOWN_M
        self._big("shoe", "SHOE DEPTH", view.shoe, units)
        self._big("go", "PAST PLANNED DEPTH" if past else "TO GO", view.to_go, units)
        self._big("hook", "EXPECTED ON HOOK", view.load.expected, units)
        text = self.query_one("#text", Static)
        facts = _facts(view, units, zone, text.size.width, self.tally.face)
        facts += [(1, parts.instrument(row, units)) for row in instruments(state) if row.measures == "hook load"]
        rows = words.fitted(facts, max(text.size.height, 8))
        rows += _joints(view, units, zone, max(text.size.height - len(rows), 0))
        text.update(words.lines(rows), layout=False)

    def _big(self, name: str, label: str, value: Quantity, units: Units) -> None:
        shown = line((f"{label} ", "bold"), formats.unit(value.kind, units))
        self.query_one(f"#{name}-label", Static).update(shown, layout=False)
        self.query_one(f"#{name}", Digits).update(
            words.big(Quantity(None if value.si is None else abs(value.si), value.kind), units)
        )


def _facts(view: CasingView, units: Units, zone: str, width: int, face: Face) -> list[Row]:
    """At most 51 columns each, so that 80 hold them beside the hole; worked out for depths to 9,999 ft."""

    def show(quantity: Quantity) -> str:
        return formats.text(quantity, units)

    end = "TOO SHORT" if view.final_is_short else f"stick-up {show(view.final_stick_up)}"
    joints = line(
        "joints in ", (str(view.joints_in), "bold"), "  left ", (str(view.joints_left), "bold"),
        f"  rejected {view.rejected}  centralizers {view.centralizers}",
    )  # fmt: skip
    read = " read" if view.stick_up_read else " planned"
    stick_up = line("stick-up ", (show(view.stick_up), "bold"), f"{read}  string ", (show(view.length), "bold"))
    rows: list[Row] = [(0, joints), (1, stick_up)]
    if view.landed_on:
        rows.append((0, line((view.landed_on.upper(), "bold reverse"), f"  {face('grout')} goes on to the grout")))
    else:
        rows += _next(view, units, face("centralizer"))
        if view.joints_in and view.next_joint is None:
            told = f" {face('stick-up')} stick-up, {face('land')} how it landed"
            rows.append((0, line(("NO JOINT TO COME", "bold"), told)))
    if view.landing is not None and (view.next_joint is not None or view.landing.stick_up.si is not None):
        rows += _landing(view.landing, units, width, face("landing"))
    elif view.landing is None and not view.landed_on:
        more = f"{view.final_joints} more" if view.final_joints < view.joints_left else "all joints on"
        rows.append((0, line(f"{more}, shoe {show(view.target)}: ", (end, "bold"))))
    return [*rows, *_load(view.load, view, units, zone), *_pace(view, units)]


def _next(view: CasingView, units: Units, key: str) -> list[Row]:
    rows: list[Row] = []
    if view.next_joint is not None:
        coming = view.next_joint
        place = f" (no {coming.on_rack} of {coming.left} left)" if coming.on_rack else ""
        shoe = formats.text(coming.shoe, units)
        rows.append((0, line("NEXT ", (formats.text(coming.length, units), "bold"), f"{place}: shoe {shoe}")))
    if view.centralizer is not None:
        said = words.said(view.centralizer.sentence, units)
        now = view.centralizer.now
        said += f": {key}" if now else ""
        rows.append((0 if now else 1, line(("CENTRALIZER", "bold reverse") if now else "centralizer", f" {said}")))
    return rows


def _pace(view: CasingView, units: Units) -> list[Row]:
    """Whoever reads it is told what it rests on."""
    if view.landed_on or view.pace is None:
        return []
    pace = view.pace
    how = {"welded": "weld", "threaded": "thread"}.get(view.connection, "joint")
    rows: list[Row] = [
        (1, line(f"{formats.text(pace.a_joint, units)} a joint, {how} and all: {pace.an_hour:.1f} an hour"))
    ]
    if view.joints_left and view.time_to_land.si is not None:
        pauses = f", {pace.pauses} pause{'s' if pace.pauses > 1 else ''} left out" if pace.pauses else ""
        lands = formats.text(view.time_to_land, units)
        rows.append((1, line(f"lands in {lands} (last {pace.counted}{pauses})")))
    return rows


def _landing(view: LandingView, units: Units, width: int, key: str) -> list[Row]:
    """What comes of the order that was chosen; the whole order where there is room."""

    def show(quantity: Quantity) -> str:
        return formats.text(quantity, units)

    rows: list[Row] = []
    if len(view.to_come) > 1:
        later = [show(joint) for joint in view.to_come[1:]]
        then = f"then {', '.join(later)}"
        folded = words.folded(then, width, "  ") if width >= WIDE else [f"  {_first_of(later, width - 2)}"]
        rows += [(3, line(part)) for part in folded]
    if view.stick_up.si is not None:
        cut = f", {show(view.cut_off)} cut off" if view.cut_off.si else ""
        lands = line("lands with stick-up ", (show(view.stick_up), "bold"), cut)
        rows.append((0, lands))
    if view.remark is not None:
        said = words.said(view.remark, units)
        head = "LANDING " if view.to_come or view.stick_up.si is not None else f"PLAN AGAIN ({key}): "
        rows += [(0, line((part, "bold"))) for part in words.folded(head + said, width)]
    return rows


def _first_of(lengths: list[str], room: int) -> str:
    """As many as there is room for, none of them cut."""
    for count in range(len(lengths), 0, -1):
        left = len(lengths) - count
        told = f"then {', '.join(lengths[:count])}{f' and {left} more' if left else ''}"
        if words.cells(told) <= room:
            break
    return told


def _load(load: LoadView, view: CasingView, units: Units, zone: str) -> list[Row]:
    def show(quantity: Quantity) -> str:
        return formats.text(quantity, units)

    rows: list[Row] = [
        (0, line("HOOK LOAD expected ", (show(load.expected), "bold"), "  read ", (show(load.read), "bold")))
    ]
    if load.as_it_stood and load.read_at is not None:
        then = f"  read {formats.clock(load.read_at, zone)}, when {show(load.read_expected)} was due: "
        rows.append((2, line(then, (load.verdict, "bold"))))
    elif load.verdict:
        motion = f" ({load.read_motion})" if load.read_motion else ""
        off = load.verdict in ("low", "high")
        rows.append((0 if off else 2, line(f"  the reading{motion} is ", (_verdict(view), "bold"))))
    limit = f"{load.limit_name} limit {show(load.limit)}"
    if view.landed_on:
        return [*rows, (2, line(limit))]
    if load.share.si is not None and load.share.si < 0:
        rows.append((0, line(("IT LIFTS", "bold reverse"), ": fill it or hold it down; a hoist cannot")))
    else:
        rows.append((1, line(f"{limit}  {words.bar(load.share.si, 10)} {show(load.share)}")))
    if load.next_joint.si is not None:
        rows.append((2, line("with the next joint ", (show(load.next_joint), "bold"))))
    if load.float_failed.si is not None:
        rows.append((2, line(f"should the {view.shoe_end} fail: up to {show(load.float_failed)}")))
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
