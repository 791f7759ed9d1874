"""The line of a stage: what stands between the pump and where the grout comes out, and what of it is left there.

By tremie, or by a pipe that stabs into the shoe, the line's volume is as planned and all of it stays behind at the end.
Down the bare casing (the stage says what plug is to stay) the bore is part of the line, and most is pushed out with
water: short of the shoe by the plug and by the meter's error, so that no water goes round the shoe.
"""

from __future__ import annotations

from tally.engineering import pipe
from tally.job.plan import Plan, Stage

NO_METER_TOLERANCE = 0.05
"""Spread of a typed volume: common practice for batches measured by the mixer's marks."""


def meter_tolerance(plan: Plan) -> float:
    """Half-width of the central 80 % range of the pumped volume [1]."""
    return NO_METER_TOLERANCE if plan.meter is None else plan.meter.tolerance_share


def bare_casing(stage: Stage) -> bool:
    """Whether the grout goes down the casing's own bore, with water after it."""
    return stage.method == "through casing" and stage.plug_m is not None


def volume_m3(plan: Plan, stage: Stage) -> float:
    """From the pump to where the grout comes out [m3].

    Down the bare casing a line that was given by its length, which counts down to the outlet, is a hose as far as the
    casing's head; one that was given by its volume holds that, bore and all.
    """
    line, shoe_m = plan.line, plan.casing.target_shoe_depth_m
    if not bare_casing(stage) or line.length_m is None or line.bore_m is None:
        return line.volume_m3
    hose_m3 = pipe.circle_area_m2(line.bore_m) * max(line.length_m - shoe_m, 0.0)
    return hose_m3 + pipe.circle_area_m2(plan.casing.bore_m) * (shoe_m + plan.casing.stick_up_m)


def displacing_m3(plan: Plan, stage: Stage) -> float:
    """Water to pump after the grout, and then to stop [m3]; none but down the bare casing."""
    if stage.plug_m is None or not bare_casing(stage):
        return 0.0
    plug_m3 = pipe.circle_area_m2(plan.casing.bore_m) * stage.plug_m
    return max(volume_m3(plan, stage) * (1.0 - meter_tolerance(plan)) - plug_m3, 0.0)


def left_m3(plan: Plan, stage: Stage) -> float:
    """Grout that stays behind in the line or the casing [m3]."""
    return volume_m3(plan, stage) - displacing_m3(plan, stage)
