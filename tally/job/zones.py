"""Zones of the hole that are known: from the plan, and as found on the day."""

from __future__ import annotations

from dataclasses import dataclass

from tally.engineering import placement
from tally.job.hole import ZONE_SPREADS, Zone
from tally.job.plan import Plan
from tally.job.state import FoundZone, State


@dataclass(frozen=True, slots=True)
class KnownZone:
    top_m: float
    bottom_m: float
    kind: str
    spread: float
    note: str
    found: FoundZone | None
    """None: from the plan."""


def planned(plan: Plan) -> tuple[KnownZone, ...]:
    """The plan's zones, from the top down."""
    return tuple(sorted((_of_plan(zone) for zone in plan.hole.zones), key=_depth))


def known(state: State) -> tuple[KnownZone, ...]:
    """Every zone that is known by now, from the top down; what lies below the hole is left out."""
    found = (_as_found(zone) for zone in state.grout.zones if zone.top_m < state.plan.hole.bottom_m)
    return tuple(sorted((*planned(state.plan), *found), key=_depth))


def widening(zones: tuple[KnownZone, ...]) -> tuple[placement.Zone, ...]:
    """The zones as the handbook takes them."""
    return tuple(placement.Zone(zone.top_m, zone.bottom_m, zone.spread) for zone in zones)


def ahead(state: State, top_m: float) -> KnownZone | None:
    """The first zone that grout whose top stands at `top_m` [m] comes to; None where none lies above."""
    return max((zone for zone in known(state) if zone.bottom_m < top_m), key=lambda zone: zone.bottom_m, default=None)


def _of_plan(zone: Zone) -> KnownZone:
    spread = ZONE_SPREADS[zone.kind] if zone.spread_share is None else zone.spread_share
    return KnownZone(zone.top_m, zone.bottom_m, zone.kind, spread, zone.note, None)


def _as_found(zone: FoundZone) -> KnownZone:
    return KnownZone(zone.top_m, zone.bottom_m, zone.kind, ZONE_SPREADS[zone.kind], zone.note, zone)


def _depth(zone: KnownZone) -> tuple[float, float]:
    return zone.top_m, zone.bottom_m
