"""What a session on the disk comes to, in one line: for choosing among several."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

from tally.job.state import State
from tally.job.view.casing import casing
from tally.job.view.header import header
from tally.job.view.quantity import Kind, Quantity
from tally.live.loading import open_session
from tally.record.fault import RecordFault
from tally.record.folder import slug
from tally.record.lock import recorded_by

NEVER = datetime.min.replace(tzinfo=UTC)
NOWHERE = Quantity(None, Kind.DEPTH)


@dataclass(frozen=True, slots=True, kw_only=True)
class Recent:
    path: Path
    job: str = ""
    invented: bool = False
    opened_at: datetime = NEVER
    last_at: datetime = NEVER
    time_zone: str = "UTC"
    units: Literal["metric", "us"] = "metric"
    """Those that its plan asks for."""
    shoe: Quantity = NOWHERE
    standing: str = ""
    """What the crew was doing, in words."""
    closed: bool = False
    damage: str = ""
    """Why it is not recorded on; empty for a whole session."""
    readable: bool = True
    """False where not even a replay can be made of it."""
    recorded_by: str = ""
    """Another program that is recording it now."""

    @property
    def open(self) -> bool:
        """It can be gone on with."""
        return self.readable and not (self.closed or self.damage or self.recorded_by)


def recent(path: Path) -> Recent:
    """What the session in `path` comes to; whatever is wrong with it is in the answer."""
    try:
        opened = open_session(path)
    except RecordFault as fault:
        return Recent(path=path, damage=str(fault).replace(str(path), path.name), readable=False)
    state = opened.state
    return Recent(
        path=path,
        job=state.plan.job.name,
        invented=state.plan.job.invented,
        opened_at=state.entries[0].entry.at if state.entries else state.at,
        last_at=state.at,
        time_zone=state.plan.job.time_zone,
        units=state.plan.job.units,
        shoe=casing(state).shoe,
        standing=_standing(state),
        closed=state.closed,
        damage=opened.problems[0] if opened.problems else "",
        recorded_by=recorded_by(path),
    )


def _standing(state: State) -> str:
    activity, view = header(state).activity, casing(state)
    match activity:
        case "casing":
            return f"{view.joints_in} of {view.joints_in + view.joints_left} joints in"
        case "grout":
            return f"grout, stage {len(state.grout.stages)} of {len(state.plan.stages)}"
        case "between stages":
            return f"grout, {len(state.grout.stages)} of {len(state.plan.stages)} stages in"
        case "done":
            return "signed off"
    return activity


def plan_file_name(job: str) -> str:
    """A name for the plan file of that job."""
    return f"{slug(job)}.toml"
