"""The invented job of `demo_sessions/through-the-shoe`: wide casing on a float shoe, returns that stop, a power cut."""

from datetime import UTC, datetime
from pathlib import Path

from tally.job import intents as want
from tally.job.plan import Plan
from tests.demo_sessions.stage_hand import StageHand, stage

SEED = 31
STARTS = datetime(2026, 9, 8, 5, 10, tzinfo=UTC)
PUMP_L_MIN = 150.0
G = 9.80665


def play(plan: Plan, folder: Path) -> Path:
    """Records the job in `folder`; the session's path."""
    with stage(plan, folder, STARTS, seed=SEED, total_l=112_600.0) as hand:
        _casing(hand, plan)
        _grout_until_the_power_fails(hand)
        hand.pump(0)
        hand.away(0.2)
        _grout_on(hand)
        _afterwards(hand)
        return hand.session.path


def _casing(hand: StageHand, plan: Plan) -> None:
    hand.wait(90)
    hand.enter(want.WriteNote("talk before work: hung loads, hot metal, fire watch; float shoe tried: it holds"))
    for place, length_m in enumerate(plan.casing.rack_m, start=1):
        hand.wait(260 + 20 * (place % 3))
        if place == 6:
            slip = hand.enter(want.AddJoint(6.19, "6.19 m"))
            hand.wait(40)
            hand.enter(want.Void(slip, "the joint before was read off the tape again; this one is 6.09 m"))
            hand.wait(10)
            hand.answer("the joint was written from the wrong line; voided", "rack-mismatch")
        hand.enter(want.AddJoint(length_m, f"{length_m:.2f} m"))
        if place in (1, 3, 5, 7):
            hand.wait(30)
            hand.enter(want.FitCentralizer())
        if place == 4:
            # Dry inside it would float from the fifth joint on.
            _read(hand, 0.20)
            hand.enter(want.WriteNote("filling: 1,700 L of water into the casing before the next joint"))
            hand.wait(300)
            hand.enter(want.ReadFluidLevel("inside casing", 10.2, "10.2 m"))
            _read(hand, 1.90)
        if place == 6:
            hand.wait(120)
            hand.enter(want.ReadFluidLevel("inside casing", 16.0, "16 m"))
    hand.wait(240)
    # A float holds nothing in: it takes no more than stands outside.
    hand.enter(want.ReadFluidLevel("inside casing", 9.5, "9.5 m"))
    hand.wait(60)
    hand.enter(want.ReadStickUp(0.69, "0.69 m"))
    hand.wait(30)
    hand.enter(want.LandCasing("hung"))
    hand.wait(60)
    hand.enter(want.WriteNote("hung in the table clamp and chained to the rig's frame on four sides"))


def _read(hand: StageHand, tonnes: float) -> None:
    hand.wait(30)
    hand.enter(want.ReadHookLoad(tonnes * 1000 * G, f"{tonnes:.2f} t", "still"))


def _grout_until_the_power_fails(hand: StageHand) -> None:
    hand.wait(400)
    hand.enter(want.ReadFluidLevel("hole", 9.5, "9.5 m"))
    hand.checked()
    hand.batch(30, 1.88, weigh_after_s=60)
    hand.enter(want.StartStage())
    hand.pump(PUMP_L_MIN)
    hand.pump_to(700)
    hand.enter(want.WriteNote("grout shuts the float: the casing is filled to the top"))
    hand.enter(want.ReadFluidLevel("inside casing", 0.0, "0 m"))
    hand.batch(20, 1.88, weigh_after_s=30)
    hand.pump_to(1_200)
    hand.batch(20, 1.88, weigh_after_s=30)
    hand.pump_to(1_520)
    hand.enter(want.SeeReturns("weak", "water"))
    hand.wait(25)
    hand.enter(want.SeeReturns("full", "water"))
    hand.pump_to(1_950)
    hand.batch(20, 1.87, weigh_after_s=30)
    hand.pump_to(2_260)
    hand.enter(want.SeeReturns("none"))
    hand.until_alarm("returns-stopped")
    hand.pump(0)
    hand.enter(want.StopPump("loss of returns"))
    hand.wait(240)
    hand.answer("stopped four minutes; the level beside the casing stands; went on slowly", "returns-stopped")
    hand.enter(want.StartPump())
    hand.pump(PUMP_L_MIN / 2)
    hand.wait(50)
    hand.enter(want.SeeReturns("weak", "water"))
    hand.wait(60)
    hand.enter(want.SeeReturns("full", "water"))
    hand.pump(PUMP_L_MIN)
    hand.batch(20, 1.88, weigh_after_s=30)
    hand.pump_to(2_900)


def _grout_on(hand: StageHand) -> None:
    hand.wait(5)
    hand.enter(want.WriteNote("generator stopped for twelve minutes, and the pump with it"))
    hand.answer("the power was off, for the meter too", "no-meter-data")
    hand.pump(PUMP_L_MIN)
    hand.pump_to(3_450)
    hand.batch(10, 1.88, weigh_after_s=30)
    hand.pump_to(4_150)
    hand.enter(want.SeeReturns("full", "mixed"))
    hand.pump_to(4_420)
    hand.enter(want.SeeReturns("full", "grout", 1_870.0))
    hand.wait(4)
    hand.pump(0)
    hand.enter(want.EndStage("good grout at surface"))


def _afterwards(hand: StageHand) -> None:
    hand.wait(60)
    hand.enter(want.WriteNote("float holds: nothing flowed back; drill pipe pulled and washed"))
    hand.wait(900)
    hand.enter(want.TagTop(0.4, "0.4 m"))
    hand.enter(want.TopUp(0.061, "61 L"))
    hand.enter(want.CloseSession("set until tomorrow afternoon; nobody drills before"))
