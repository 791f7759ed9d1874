"""Go or no-go: whether a stage's high volume is in before its mix stiffens."""

from __future__ import annotations

from dataclasses import dataclass

from tally.engineering import placement
from tally.engineering.factor import Factor
from tally.job import geometry, grouting, line, zones
from tally.job.state import State


@dataclass(frozen=True, slots=True)
class Start:
    """A stage that is to be begun."""

    index: int
    """Place of the stage in the plan, from 0."""
    planned_m3: float
    high_m3: float
    """The likely and the high volume, with what the line holds [m3]."""
    water_m3: float
    """Of both: water that pushes the grout down the casing [m3]."""
    left_s: float
    """What is left of the working time: of a batch that is mixed already, else the mix's own [s]."""
    rate_m3_s: float | None
    """The pace of the stage before, stops and all, else the plan's rate [m3/s]; None without either."""

    @property
    def takes_s(self) -> float | None:
        """Time that the high volume takes [s]."""
        return None if self.rate_m3_s is None else self.high_m3 / self.rate_m3_s

    @property
    def go(self) -> bool | None:
        """None where no rate is known."""
        return None if self.takes_s is None else self.takes_s <= self.left_s


def start(state: State, index: int, bottom_m: float, top_m: float) -> Start:
    """Of the plan's stage `index`, from `bottom_m` up to `top_m` [m]; only what was mixed already is of the day."""
    planned = state.plan.stages[index]
    bare, factor = geometry.bare_annulus(state), Factor(1.0 + planned.allowance_share, planned.spread_share)
    whole = placement.volume_range(
        profile=bare,
        bottom_m=min(bottom_m, bare.bottom_m),
        top_m=min(top_m, bottom_m, bare.bottom_m),
        factor=factor,
        meter_tolerance=line.meter_tolerance(state.plan),
        zones=zones.widening(zones.known(state)),
    )
    mixed_s = [batch.elapsed_s for batch in state.grout.batches if batch.stage == len(state.grout.stages)]
    working_s = grouting.stage_mix(state.plan, index).working_time_s
    line_m3 = line.volume_m3(state.plan, planned)
    theory_m3 = bare.volume_m3(min(top_m, bottom_m, bare.bottom_m), min(bottom_m, bare.bottom_m))
    return Start(
        index=index,
        planned_m3=factor.median * theory_m3 + line_m3,
        high_m3=whole.high_m3 + line_m3,
        water_m3=line.displacing_m3(state.plan, planned),
        left_s=working_s - (state.elapsed_s - min(mixed_s)) if mixed_s else working_s,
        rate_m3_s=_likely_rate_m3_s(state),
    )


def _likely_rate_m3_s(state: State) -> float | None:
    for stage in reversed(state.grout.stages):
        lasted_s = (stage.ended_s or state.elapsed_s) - stage.started_s
        done_m3 = grouting.pumped_m3(stage, state.flow)
        if lasted_s >= grouting.PACE_AFTER_S and done_m3 > 0.0:
            return done_m3 / lasted_s
    return None if state.plan.pump is None else state.plan.pump.rate_m3_s
