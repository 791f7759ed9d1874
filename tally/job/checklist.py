"""What is looked at before the first batch is mixed: it informs, and is overridden with a reason."""

from __future__ import annotations

from dataclasses import dataclass
from typing import get_args

from tally.job import grouting
from tally.job.events import CheckName
from tally.job.plan import Plan
from tally.job.state import Checked, State
from tally.job.view.planned_stage import stage_plans
from tally.job.view.planned_stock import StockPlan, stock_plan

CHECKS: tuple[CheckName, ...] = get_args(CheckName)


def items(plan: Plan) -> tuple[CheckName, ...]:
    """What applies to the job: a tremie is tried where one is used."""
    by_tremie = any(stage.method == "tremie" for stage in plan.stages)
    return tuple(check for check in CHECKS if check != "tremie" or by_tremie)


def checked(state: State, check: CheckName) -> Checked | None:
    """The last word on one of them."""
    return next((each for each in state.grout.checks if each.check == check), None)


def to_check(state: State) -> tuple[CheckName, ...]:
    """What nobody has said a word on; nothing once a batch was mixed."""
    if state.grout.batches:
        return ()
    return tuple(check for check in items(state.plan) if checked(state, check) is None)


@dataclass(frozen=True, slots=True)
class Stock:
    """What is aboard against the high need of every stage."""

    bags: int
    bags_high: int
    water_m3: float
    water_high_m3: float

    @property
    def covers(self) -> bool:
        return self.bags >= self.bags_high and self.water_m3 >= self.water_high_m3


def stock(state: State) -> Stock:
    needs: StockPlan = stock_plan(state.plan, stage_plans(state.plan))
    water_high_m3 = needs.water_high.si or 0.0
    return Stock(grouting.bags_left(state), needs.bags_high, grouting.water_left_m3(state), water_high_m3)
