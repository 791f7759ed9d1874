"""What a stage lost: grout that left the line and is not in the annulus, as far as the record can tell."""

from __future__ import annotations

from dataclasses import dataclass

from tally.engineering import placement
from tally.job import fill as filling
from tally.job import geometry
from tally.job.state import Stage, State


@dataclass(frozen=True, slots=True)
class Account:
    """Of one stage, at the moment when its top was found."""

    top_m: float
    """Where the grout stood."""
    out_m3: float
    """What had left the line by then."""
    held_m3: float
    """What the annulus holds below it: theory at the planned hole size, and the stage's allowance."""

    @property
    def lost_m3(self) -> float:
        """A hole wider than its allowance counts as a loss too: a tag cannot tell the two apart."""
        return max(self.out_m3 - self.held_m3, 0.0)


def account(state: State, stage: Stage) -> Account | None:
    """The stage's account; None where nobody found its top.

    The top was found when full returns of grout were first seen at surface, since what is pumped after that comes out
    there; else by the last tag of the stage; else by the first tag after its end.
    """
    found = _found(stage)
    if found is None:
        return None
    top_m, pumped_m3 = found
    line, profile = state.plan.line, geometry.bare_annulus(state)
    bottom_m = min(stage.bottom_m, profile.bottom_m)
    allowance = filling.planned_stage(state.plan, stage).allowance_share
    return Account(
        top_m=top_m,
        out_m3=placement.out_of_tremie_m3(pumped_m3=pumped_m3, line_m3=line.volume_m3, line_starts=line.starts),
        held_m3=profile.volume_m3(min(top_m, bottom_m), bottom_m) * (1.0 + allowance),
    )


def _found(stage: Stage) -> tuple[float, float] | None:
    """(depth of the top [m], pumped by then [m3])."""
    for seen in stage.returns:
        if seen.strength == "full" and seen.fluid == "grout":
            return stage.top_m, seen.pumped_m3
    within = [tag for tag in stage.tags if stage.ended_s is None or tag.elapsed_s <= stage.ended_s]
    tag = within[-1] if within else next(iter(stage.tags), None)
    return None if tag is None else (tag.depth_m, tag.pumped_m3)
