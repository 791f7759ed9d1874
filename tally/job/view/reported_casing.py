"""The casing as the report tells it: hole and string as planned and as run, every joint, every reading."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from tally.job import events as ev
from tally.job import lengths, loads, watching, zones
from tally.job.state import State
from tally.job.view import casing as casing_view
from tally.job.view.casing import JointRow
from tally.job.view.entered import entered, order
from tally.job.view.quantity import Kind, Quantity
from tally.job.zones import KnownZone


@dataclass(frozen=True, slots=True)
class SectionRow:
    top: Quantity
    bottom: Quantity
    diameter: Quantity
    cased: bool


@dataclass(frozen=True, slots=True)
class ZoneRow:
    top: Quantity
    bottom: Quantity
    kind: str
    note: str
    number: int | None
    """The entry that noted it; None: from the plan."""
    at: datetime | None


@dataclass(frozen=True, slots=True)
class HoleReport:
    sections: tuple[SectionRow, ...]
    zones: tuple[ZoneRow, ...]
    bottom: Quantity
    rock: Quantity
    water_planned: Quantity
    water_read: Quantity
    """Depth to the water in the hole as read last; unknown when it never was."""
    water_read_at: datetime | None


@dataclass(frozen=True, slots=True)
class RejectedRow:
    number: int
    length: Quantity
    reason: str
    at: datetime


@dataclass(frozen=True, slots=True)
class CutOffRow:
    number: int
    length: Quantity
    at: datetime


@dataclass(frozen=True, slots=True)
class CentralizerRow:
    number: int
    depth: Quantity
    above_shoe: Quantity
    at: datetime


@dataclass(frozen=True, slots=True)
class LoadRow:
    number: int
    shoe: Quantity
    motion: str
    read: Quantity
    expected: Quantity
    band: Quantity
    verdict: str
    """"as expected", "low", "high" or "not compared"."""
    at: datetime


@dataclass(frozen=True, slots=True)
class CasingReport:
    material: str
    standard: str
    outer_diameter: Quantity
    bore: Quantity
    wall: Quantity
    line_mass: Quantity
    connection: str
    shoe_end: str
    target: Quantity
    stick_up_planned: Quantity
    stick_up_tolerance: Quantity
    centralizers_planned: tuple[Quantity, ...]
    joints: tuple[JointRow, ...]
    joints_in: int
    """All that are in the hole, those of earlier days too."""
    voided_joints: int
    rejected: tuple[RejectedRow, ...]
    cut_offs: tuple[CutOffRow, ...]
    centralizers: tuple[CentralizerRow, ...]
    joints_length: Quantity
    """Sum of the measured joints in the hole."""
    shoe_length: Quantity
    connections: Quantity
    """What the connections give (root gaps) or take (make-up), all together."""
    cut_off: Quantity
    length: Quantity
    stick_up: Quantity
    stick_up_read: bool
    stick_up_is_late: bool
    """It was read after the last joint went on and after the last cut."""
    shoe: Quantity
    landed_on: str
    landed_at: datetime | None
    loads: tuple[LoadRow, ...]
    load_at_end: Quantity
    """Expected of the whole string, hanging in water before any grout."""
    limit_name: str
    limit: Quantity
    load_share: Quantity


def hole_report(state: State) -> HoleReport:
    hole = state.plan.hole
    read = [level for level in entered(state, ev.FluidLevelRead) if level.event.where == "hole"]
    return HoleReport(
        sections=tuple(
            SectionRow(
                Quantity(part.top_m, Kind.DEPTH),
                Quantity(part.bottom_m, Kind.DEPTH),
                Quantity(part.diameter_m, Kind.DIAMETER),
                part.cased,
            )
            for part in hole.sections
        ),
        zones=tuple(_zone(zone) for zone in zones.known(state)),
        bottom=Quantity(hole.bottom_m, Kind.DEPTH),
        rock=Quantity(hole.rock_m, Kind.DEPTH),
        water_planned=Quantity(hole.water_level_m, Kind.DEPTH),
        water_read=Quantity(read[-1].event.depth_m if read else None, Kind.DEPTH),
        water_read_at=read[-1].at if read else None,
    )


def _zone(zone: KnownZone) -> ZoneRow:
    found = zone.found
    return ZoneRow(
        top=Quantity(zone.top_m, Kind.DEPTH),
        bottom=Quantity(zone.bottom_m, Kind.DEPTH),
        kind=zone.kind,
        note=zone.note,
        number=None if found is None else found.number,
        at=None if found is None else found.at,
    )


def casing_report(state: State) -> CasingReport:
    plan, string, run = state.plan, state.string, casing_view.casing(state)
    planned = plan.casing
    joints_m = sum(joint.length_m for joint in string.joints)
    gross_m = lengths.length_of_m(plan, [joint.length_m for joint in string.joints])
    landed = list(entered(state, ev.CasingLanded))
    expected_n = loads.expected_n(plan, string)
    limit_name, limit_n = plan.limits.lowest
    return CasingReport(
        material=planned.material,
        standard=planned.standard,
        outer_diameter=Quantity(planned.outer_diameter_m, Kind.DIAMETER),
        bore=Quantity(planned.bore_m, Kind.DIAMETER),
        wall=Quantity((planned.outer_diameter_m - planned.bore_m) / 2, Kind.DIAMETER),
        line_mass=Quantity(planned.mass_kg_m, Kind.LINE_MASS),
        connection=run.connection,
        shoe_end=run.shoe_end,
        target=run.target,
        stick_up_planned=Quantity(planned.stick_up_m, Kind.LENGTH),
        stick_up_tolerance=Quantity(planned.stick_up_tolerance_m, Kind.LENGTH),
        centralizers_planned=tuple(Quantity(depth_m, Kind.DEPTH) for depth_m in planned.centralizer_depths_m),
        joints=run.joints,
        joints_in=run.joints_in,
        voided_joints=_voided_joints(state),
        rejected=tuple(
            RejectedRow(joint.number, Quantity(joint.event.length_m, Kind.LENGTH), joint.event.reason, joint.at)
            for joint in entered(state, ev.JointRejected)
        ),
        cut_offs=tuple(
            CutOffRow(cut.number, Quantity(cut.event.length_m, Kind.LENGTH), cut.at)
            for cut in entered(state, ev.CutOffMade)
        ),
        centralizers=_centralizers(state),
        joints_length=Quantity(joints_m, Kind.LENGTH),
        shoe_length=Quantity(planned.shoe_length_m, Kind.LENGTH),
        connections=Quantity(gross_m - planned.shoe_length_m - joints_m, Kind.LENGTH),
        cut_off=Quantity(string.cut_off_m, Kind.LENGTH),
        length=run.length,
        stick_up=run.stick_up,
        stick_up_read=run.stick_up_read,
        stick_up_is_late=_stick_up_is_late(state),
        shoe=run.shoe,
        landed_on=run.landed_on,
        landed_at=landed[-1].at if landed else None,
        loads=_loads(state),
        load_at_end=Quantity(expected_n, Kind.LOAD),
        limit_name=limit_name,
        limit=Quantity(limit_n, Kind.LOAD),
        load_share=Quantity(None if expected_n is None else expected_n / limit_n, Kind.SHARE),
    )


def _stick_up_is_late(state: State) -> bool:
    turn = order(state)
    read = max((turn[read.number] for read in entered(state, ev.StickUpRead)), default=0)
    added = max((turn[joint.number] for joint in state.string.joints), default=0)
    cut = max((turn[cut.number] for cut in entered(state, ev.CutOffMade)), default=0)
    return read > max(added, cut)


def _voided_joints(state: State) -> int:
    return sum(
        isinstance(kept.entry.event, ev.JointAdded) and kept.entry.number in state.voided for kept in state.entries
    )


def _centralizers(state: State) -> tuple[CentralizerRow, ...]:
    shoe_m = lengths.shoe_depth_m(state.plan, state.string)
    fitted = zip(entered(state, ev.CentralizerFitted), state.string.centralizers_above_shoe_m, strict=True)
    return tuple(
        CentralizerRow(
            number=centralizer.number,
            depth=Quantity(shoe_m - above_shoe_m, Kind.DEPTH),
            above_shoe=Quantity(above_shoe_m, Kind.LENGTH),
            at=centralizer.at,
        )
        for centralizer, above_shoe_m in fitted
    )


def _loads(state: State) -> tuple[LoadRow, ...]:
    rows: list[LoadRow] = []
    for reading in watching.hook_readings(state):
        expected_n = reading.expected_n
        # Of what an instrument read all day long, what was off.
        if not reading.number and casing_view.verdict(state.plan, reading) in ("not compared", "as expected"):
            continue
        rows.append(
            LoadRow(
                number=reading.number,
                shoe=Quantity(reading.shoe_m, Kind.DEPTH),
                motion=reading.motion,
                read=Quantity(reading.load_n, Kind.LOAD),
                expected=Quantity(expected_n, Kind.LOAD),
                band=Quantity(None if expected_n is None else loads.band_n(state.plan, expected_n), Kind.LOAD),
                verdict=casing_view.verdict(state.plan, reading),
                at=reading.at,
            )
        )
    return tuple(rows)
