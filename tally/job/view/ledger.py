"""A session as flat rows for an office: its job, joints, stages, alarms and samples.

SI, the unit in every name. What is not known is None, never a zero. Names and meanings stay as they are: questions that
an office keeps rest on them. A new column goes to the end of its row.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from tally.job import events as ev
from tally.job import fill as filling
from tally.job import grouting, lengths
from tally.job.events import Entry
from tally.job.standing import CORRECTIONS
from tally.job.state import Stage, State
from tally.job.view import casing as casing_view
from tally.job.view.lost import account


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """What every row begins with."""

    session: str
    """Opening time and run of the recorder: the same wherever the file is copied to."""
    rig: str
    opened_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class JobRow(Row):
    file: str
    job: str
    client: str
    place: str
    permit: str
    driller: str
    """As the plan names it; whoever recorded what stands in the session."""
    helper: str
    invented: bool
    time_zone: str
    last_at: datetime
    entries: int
    state: str
    """open, landed, or signed off."""
    hole_bottom_m: float
    water_level_m: float
    rock_m: float | None
    casing_material: str
    casing_outer_diameter_m: float
    casing_bore_m: float
    joints: int
    string_m: float
    shoe_m: float | None
    landed_on: str | None
    stages: int
    theory_m3: float
    planned_m3: float
    pumped_m3: float
    lost_m3: float | None
    bags: int
    alarms: int
    corrections: int
    damaged_lines: int
    digest: str
    program: str
    calculation: int


@dataclass(frozen=True, slots=True, kw_only=True)
class JointRow(Row):
    place: int
    """From the shoe, from 1."""
    entry: int
    added_at: datetime
    length_m: float
    first_length_m: float | None
    """As it was written down first, where it was measured again."""
    shoe_m: float
    """Depth of the shoe once it was in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StageRow(Row):
    stage: int
    """Among those that were begun, from 1."""
    planned_stage: int
    name: str
    method: str
    mix: str
    bottom_m: float
    top_m: float
    started_at: datetime
    ended_at: datetime | None
    outcome: str
    allowance_share: float
    theory_m3: float
    planned_m3: float
    pumped_m3: float
    metered_m3: float
    typed_m3: float
    out_m3: float
    found_top_m: float | None
    found_out_m3: float | None
    held_m3: float | None
    lost_m3: float | None
    topped_up_m3: float
    bags: int
    mixed_m3: float
    first_returns_m3: float | None
    """Pumped when something first came."""
    good_grout_m3: float | None
    """Pumped when grout first came in full flow."""
    tags: int
    interrupted_s: float
    """As the meter saw it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AlarmRow(Row):
    entry: int
    alarm: str
    severity: str
    words: str
    reached: float
    allowed: float
    """The value, and the limit that it passed, in the SI unit of `measure`."""
    measure: str
    raised_at: datetime
    cleared_at: datetime | None
    answered_at: datetime | None
    answer: str
    who: str
    voided: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SampleRow(Row):
    """One reading of the meter: what it said at one moment."""

    read_at: datetime
    entry: int
    channel: str
    total_m3: float | None = None
    rate_m3_s: float | None = None
    density_kg_m3: float | None = None
    force_n: float | None = None
    pressure_pa: float | None = None


@dataclass(frozen=True, slots=True)
class Head:
    """Which session the rows are of."""

    session: str
    rig: str
    opened_at: datetime

    @property
    def common(self) -> dict[str, Any]:
        return {"session": self.session, "rig": self.rig, "opened_at": self.opened_at}


def head(opening: Entry) -> Head:
    event = opening.event
    assert isinstance(event, ev.SessionOpened)
    return Head(f"{opening.at.astimezone(UTC):%Y%m%dT%H%M%SZ}-{event.boot}", event.plan.crew.rig, opening.at)


def state_word(state: State) -> str:
    """How far the job is: "open", "landed" or "signed off"."""
    if state.closed:
        return "signed off"
    return "open" if state.string.landed_on is None else "landed"


def pumped_m3(state: State) -> float:
    """Pumped in all stages."""
    return sum(grouting.pumped_m3(stage, state.flow) for stage in state.grout.stages)


def lost_m3(state: State) -> float | None:
    """Lost in all stages whose top was found; None where none was."""
    accounts = [account(state, stage) for stage in state.grout.stages]
    known = [found.lost_m3 for found in accounts if found is not None]
    return sum(known) if known else None


def job_row(state: State, file: str, digest: str, damaged_lines: int) -> JobRow:
    plan, string = state.plan, state.string
    opening = state.entries[0].entry
    assert isinstance(opening.event, ev.SessionOpened)
    fills = [filling.fill(state, stage) for stage in state.grout.stages]
    return JobRow(
        **head(opening).common,
        file=file,
        job=plan.job.name,
        client=plan.job.client,
        place=plan.job.place,
        permit=plan.job.permit,
        driller=plan.crew.driller,
        helper=plan.crew.helper,
        invented=plan.job.invented,
        time_zone=plan.job.time_zone,
        last_at=state.at,
        entries=state.number,
        state=state_word(state),
        hole_bottom_m=plan.hole.bottom_m,
        water_level_m=plan.hole.water_level_m,
        rock_m=plan.hole.rock_m,
        casing_material=plan.casing.material,
        casing_outer_diameter_m=plan.casing.outer_diameter_m,
        casing_bore_m=plan.casing.bore_m,
        joints=len(string.joints),
        string_m=lengths.length_m(plan, string) if string.joints else 0.0,
        shoe_m=lengths.shoe_depth_m(plan, string) if string.joints else None,
        landed_on=string.landed_on,
        stages=len(fills),
        theory_m3=sum(fill.theory_m3 for fill in fills),
        planned_m3=sum(fill.planned_m3 for fill in fills),
        pumped_m3=pumped_m3(state),
        lost_m3=lost_m3(state),
        bags=sum(batch.bags for batch in state.grout.batches),
        alarms=len(state.alarms),
        corrections=sum(isinstance(kept.entry.event, (ev.EntryVoided, *CORRECTIONS)) for kept in state.entries),
        damaged_lines=damaged_lines,
        digest=digest,
        program=opening.event.program,
        calculation=opening.event.calculation,
    )


def joint_rows(state: State) -> Iterator[JointRow]:
    common = head(state.entries[0].entry).common
    for row, joint in zip(casing_view.joint_rows(state), state.string.joints, strict=True):
        yield JointRow(
            **common,
            place=row.place,
            entry=row.number,
            added_at=row.at,
            length_m=joint.length_m,
            first_length_m=joint.first_m,
            shoe_m=row.shoe.si or 0.0,
        )


def stage_rows(state: State) -> Iterator[StageRow]:
    return (_stage_row(state, place, stage) for place, stage in enumerate(state.grout.stages))


def _stage_row(state: State, place: int, stage: Stage) -> StageRow:
    planned, fill, found = filling.planned_stage(state.plan, stage), filling.fill(state, stage), account(state, stage)
    coming = [seen for seen in stage.returns if seen.strength != "none"]
    good = [seen for seen in coming if seen.strength == "full" and seen.fluid == "grout"]
    batches = [batch for batch in state.grout.batches if batch.stage == place]
    return StageRow(
        **head(state.entries[0].entry).common,
        stage=place + 1,
        planned_stage=stage.index + 1,
        name=planned.name,
        method=planned.method,
        mix=planned.mix,
        bottom_m=stage.bottom_m,
        top_m=stage.top_m,
        started_at=stage.started_at,
        ended_at=stage.ended_at,
        outcome=stage.outcome,
        allowance_share=planned.allowance_share,
        theory_m3=fill.theory_m3,
        planned_m3=fill.planned_m3,
        pumped_m3=fill.pumped_m3,
        metered_m3=fill.pumped_m3 - stage.typed_m3,
        typed_m3=stage.typed_m3,
        out_m3=fill.out_m3,
        found_top_m=found.top_m if found else None,
        found_out_m3=found.out_m3 if found else None,
        held_m3=found.held_m3 if found else None,
        lost_m3=found.lost_m3 if found else None,
        topped_up_m3=stage.topped_up_m3,
        bags=sum(batch.bags for batch in batches),
        mixed_m3=sum(batch.volume_m3 for batch in batches),
        first_returns_m3=coming[0].pumped_m3 if coming else None,
        good_grout_m3=good[0].pumped_m3 if good else None,
        tags=len(stage.tags),
        interrupted_s=sum(stop.until_s - stop.from_s for stop in state.flow.interruptions if stop.stage == place),
    )


def alarm_rows(state: State) -> Iterator[AlarmRow]:
    common = head(state.entries[0].entry).common
    for alarm in state.alarms:
        yield AlarmRow(
            **common,
            entry=alarm.number,
            alarm=alarm.alarm,
            severity=alarm.severity,
            words=alarm.words,
            reached=alarm.value,
            allowed=alarm.limit,
            measure=alarm.measure,
            raised_at=alarm.raised_at,
            cleared_at=alarm.cleared_at,
            answered_at=alarm.acknowledged_at,
            answer=alarm.done,
            who=alarm.who,
            voided=alarm.entry is not None and alarm.entry in state.voided,
        )


def sample_rows(of: Head, entry: Entry) -> Iterator[SampleRow]:
    """The readings of a heartbeat, what was said at the same moment in one row; none of another entry."""
    if not isinstance(entry.event, ev.Heartbeat):
        return
    found: dict[tuple[str, float], dict[str, Any]] = {}
    for samples in entry.event.samples:
        for before_s, value in zip(samples.before_s, samples.values, strict=False):
            found.setdefault((samples.channel, before_s), {})[samples.quantity] = value
    for (channel, before_s), values in found.items():
        at = entry.at - timedelta(seconds=before_s)
        yield SampleRow(**of.common, read_at=at, entry=entry.number, channel=channel, **values)
