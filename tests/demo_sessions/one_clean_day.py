"""The invented job of `demo_sessions/one-clean-day`: four joints and one stage, and nothing goes wrong."""

from datetime import UTC, datetime
from pathlib import Path

from tally.job import intents as want
from tally.job.plan import Plan
from tests.demo_sessions.stage_hand import StageHand, stage

SEED = 11
STARTS = datetime(2026, 6, 9, 6, 30, tzinfo=UTC)
PUMP_L_MIN = 45.0


def play(plan: Plan, folder: Path) -> Path:
    """Records the job in `folder`; the session's path."""
    with stage(plan, folder, STARTS, seed=SEED, total_l=1_204.0) as hand:
        _casing(hand, plan)
        _grout(hand)
        _afterwards(hand)
        return hand.session.path


def _casing(hand: StageHand, plan: Plan) -> None:
    hand.wait(120)
    for place, length_m in enumerate(plan.casing.rack_m, start=1):
        hand.wait(150)
        hand.enter(want.AddJoint(length_m, f"{length_m:.2f} m"))
        if place < 4:
            hand.wait(12)
            hand.enter(want.FitCentralizer())
    hand.wait(40)
    hand.enter(want.ReadHookLoad(2_750.0, "0.28 t", "still"))
    hand.wait(60)
    hand.enter(want.ReadStickUp(0.50, "0.50 m"))
    hand.wait(15)
    hand.enter(want.LandCasing("hung"))
    hand.wait(120)
    hand.enter(want.ReadFluidLevel("inside casing", 0.0, "0 m"))
    hand.enter(want.ReadFluidLevel("hole", 6.2, "6.2 m"))


def _grout(hand: StageHand) -> None:
    hand.wait(200)
    hand.enter(want.SetTremie(22.5, "22.5 m"))
    hand.wait(60)
    hand.batch(6, 1.88)
    hand.enter(want.StartStage())
    hand.pump(PUMP_L_MIN)
    hand.pump_to(110)
    hand.batch(6, 1.88)
    hand.pump_to(149)
    hand.enter(want.SeeReturns("full", "water"))
    hand.pump_to(300)
    hand.batch(6, 1.87)
    hand.pump_to(380)
    hand.enter(want.PullTremie(3))
    hand.pump_to(480)
    hand.batch(2, 1.88)
    hand.pump_to(545)
    hand.enter(want.SeeReturns("full", "mixed"))
    hand.pump_to(575)
    hand.enter(want.SeeReturns("full", "grout", 1_880.0))
    hand.wait(6)
    hand.pump(0)
    hand.enter(want.EndStage("good grout at surface"))


def _afterwards(hand: StageHand) -> None:
    hand.wait(60)
    hand.enter(want.SetTremie(0.0, "0 m"))
    hand.wait(240)
    hand.enter(want.TagTop(0.1, "0.1 m"))
    hand.enter(want.CloseSession("set until tomorrow; nobody drills before"))
