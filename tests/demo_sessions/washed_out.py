"""The invented job of `demo_sessions/washed-out`: plastic casing, a logged washout, a meter with a loose plug."""

from datetime import UTC, datetime
from pathlib import Path

from tally.job import intents as want
from tally.job.plan import Plan
from tally.meters.simulated_rig import parsed_command
from tests.demo_sessions.stage_hand import StageHand, stage

SEED = 23
STARTS = datetime(2026, 8, 18, 14, 20, tzinfo=UTC)
FT_M = 0.3048
GAL_L = 3.785411784
LBF_N = 4.4482216152605
PUMP_L_MIN = 12.0 * GAL_L


def play(plan: Plan, folder: Path) -> Path:
    """Records the job in `folder`; the session's path."""
    with stage(plan, folder, STARTS, seed=SEED, total_l=9_830.0) as hand:
        _casing(hand, plan)
        _grout(hand)
        _afterwards(hand)
        return hand.session.path


def _feet(value_ft: float) -> tuple[float, str]:
    return value_ft * FT_M, f"{value_ft:g} ft"


def _casing(hand: StageHand, plan: Plan) -> None:
    hand.wait(60)
    hand.enter(want.WriteNote("plastic: no torch near it; threads clean and dry"))
    for place, length_m in enumerate(plan.casing.rack_m[:7], start=1):
        hand.wait(110 + 9 * (place % 4))
        hand.enter(want.AddJoint(length_m, f"{length_m / FT_M:.2f} ft"))
        if place in (1, 2, 4, 6):
            hand.wait(10)
            hand.enter(want.FitCentralizer())
        if place == 3:
            # It floats from the fourth joint on: filled as it runs.
            hand.wait(45)
            hand.enter(want.ReadFluidLevel("inside casing", *_feet(31.0)))
            hand.answer("filled with water from the tank; it goes on being filled as it runs", "casing-floats")
        if place == 5:
            hand.wait(30)
            hand.enter(want.ReadHookLoad(310 * LBF_N, "310 lbf", "lowering"))
    hand.wait(60)
    hand.enter(want.ReadStickUp(*_feet(2.25)))
    hand.wait(20)
    hand.enter(want.LandCasing("hung"))
    hand.wait(120)
    hand.enter(want.ReadFluidLevel("inside casing", *_feet(0.0)))
    hand.enter(want.ReadFluidLevel("hole", *_feet(31.0)))
    hand.enter(want.WriteNote("casing full of water, chained down to the rig's beam on both sides"))


def _grout(hand: StageHand) -> None:
    hand.wait(120)
    hand.enter(want.SetTremie(*_feet(130.0)))
    hand.wait(60)
    hand.checked()
    _batch(hand, 9)
    hand.enter(want.StartStage())
    hand.pump(PUMP_L_MIN)
    hand.pump_to(70 * GAL_L)
    hand.enter(want.SeeReturns("weak", "water"))
    _batch(hand, 9)
    hand.wait(20)
    hand.enter(want.SeeReturns("full", "water"))
    hand.until_alarm("zone-near")
    hand.wait(12)
    hand.answer("rate kept; a tag as soon as it should be past", "zone-near")
    hand.pump_to(120 * GAL_L)
    _drop_out(hand)
    _batch(hand, 9)
    hand.pump_to(200 * GAL_L)
    hand.pump(0)
    hand.enter(want.StopPump("tagging"))
    hand.wait(60)
    hand.enter(want.TagTop(*_feet(76.0)))
    hand.enter(want.PullTremie(4))
    hand.enter(want.StartPump())
    hand.pump(PUMP_L_MIN)
    hand.pump_to(240 * GAL_L)
    _reset(hand)
    _batch(hand, 6)
    hand.pump_to(330 * GAL_L)
    hand.enter(want.SeeReturns("full", "mixed"))
    hand.until_alarm("over-planned-volume")
    hand.wait(5)
    hand.answer("the returns thicken: on towards the high estimate", "over-planned-volume")
    hand.pump_to(352 * GAL_L)
    hand.enter(want.SeeReturns("full", "grout", 1_725.0))
    hand.wait(5)
    hand.pump(0)
    hand.enter(want.EndStage("good grout at surface"))


def _batch(hand: StageHand, bags: int) -> None:
    hand.enter(want.MixBatch(bags, str(bags)))
    hand.wait(30)
    hand.enter(want.WeighBatch(1_725.0, "14.4 lb/gal"))


def _drop_out(hand: StageHand) -> None:
    """The cable works loose for half a minute with the pump running; what moved meanwhile is answered for."""
    hand.meter.plugged = False
    hand.until_alarm("no-meter-data")
    hand.wait(18)
    hand.meter.plugged = True
    hand.wait(5)
    hand.enter(want.AnswerGap(hand.state.flow.offered_m3))
    hand.answer("plug pushed home and taped; the pump ran on at the same rate", "no-meter-data", "meter-gap")


def _reset(hand: StageHand) -> None:
    """The meter loses its supply for a moment and begins at zero."""
    hand.rig.obey(parsed_command("reset"))
    hand.wait(8)
    hand.enter(want.AnswerGap(hand.state.flow.offered_m3))
    hand.answer("the meter restarted; counted on from its new zero", "meter-gap", "meter-rebased")


def _afterwards(hand: StageHand) -> None:
    hand.wait(90)
    hand.enter(want.SetTremie(0.0, "0 ft"))
    hand.wait(600)
    hand.enter(want.TagTop(*_feet(1.5)))
    hand.enter(want.TopUp(3.0 * GAL_L / 1000.0, "3 US gal"))
    hand.enter(want.CloseSession("set until Thursday morning; casing stays full of water and chained"))
