"""What grout beside the casing does to it: lift and collapse, as a screen shows them."""

from __future__ import annotations

from dataclasses import dataclass

from tally.job.alarms.grouted import LEAST_N
from tally.job.fill import Fill
from tally.job.grouted import grouted
from tally.job.state import Stage, State
from tally.job.strength import allowed_in_grout_pa
from tally.job.view.quantity import Kind, Quantity


@dataclass(frozen=True, slots=True)
class GroutedView:
    """With the grout at the highest top that is believed in."""

    lifts: Quantity
    """Hold-down needed; unknown where the casing stays down, or any clamp would do."""
    cure: Quantity
    """Depth to inside water at which it would stay; unknown where none does."""
    pressed: Quantity
    """The most that presses from outside over inside."""
    allowed: Quantity
    """What the wall may bear with its factor kept."""
    short: bool
    """More presses than it may bear."""
    ratio: float | None
    """What the wall bears over what presses; None where nothing does."""
    dry: bool
    """Nobody read a level inside: taken as empty."""


def grouted_view(state: State, stage: Stage, fill: Fill) -> GroutedView | None:
    found = grouted(state, stage, fill)
    if found is None:
        return None
    hold_n, pressed_pa, allowed_pa = found.hold_down_n, found.pressed_pa, allowed_in_grout_pa(state.plan)
    return GroutedView(
        lifts=Quantity(hold_n if hold_n > LEAST_N else None, Kind.LOAD),
        cure=Quantity(found.cure_m, Kind.DEPTH),
        pressed=Quantity(pressed_pa, Kind.PRESSURE),
        allowed=Quantity(allowed_pa, Kind.PRESSURE),
        short=pressed_pa > allowed_pa,
        ratio=allowed_pa * state.plan.limits.collapse_factor / pressed_pa if pressed_pa > 0.0 else None,
        dry=not found.inside,
    )
