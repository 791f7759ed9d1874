"""What every screen shows on top: which job, who records, how much is saved, how the meter is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from tally.job.state import State
from tally.job.view import activity
from tally.job.view.quantity import Kind, Quantity


@dataclass(frozen=True, slots=True)
class HeaderView:
    job: str
    place: str
    driller: str
    helper: str
    at: datetime
    time_zone: str
    entries: int
    metered: bool
    meter_condition: str
    meter_why: str
    rate: Quantity
    invented: bool
    closed: bool
    activity: str
    """What the crew is doing: "casing", "grout", "between stages", "done", or what the crew said."""


def header(state: State) -> HeaderView:
    plan, flow = state.plan, state.flow
    return HeaderView(
        job=plan.job.name,
        place=plan.job.place,
        driller=state.who,
        helper=state.helper,
        at=state.at,
        time_zone=plan.job.time_zone,
        entries=state.number,
        metered=plan.meter is not None,
        meter_condition=flow.condition,
        meter_why=flow.why,
        rate=Quantity(flow.rate_m3_s, Kind.RATE),
        invented=plan.job.invented,
        closed=state.closed,
        activity=_activity(state),
    )


def _activity(state: State) -> str:
    if state.closed:
        return "done"
    said = activity.now(state)
    if said is not None:
        return said.activity.text
    if state.grout.stage is not None:
        return "grout"
    if state.grout.stages:
        return "between stages"
    return "casing" if state.string.landed_on is None else "landed"
