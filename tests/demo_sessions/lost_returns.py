"""The invented job of `demo_sessions/lost-returns`: a fracture takes the grout, a second stage next day saves it."""

from datetime import UTC, datetime
from pathlib import Path

from tally.job import intents as want
from tally.job.plan import Plan
from tests.demo_sessions.stage_hand import StageHand, stage

SEED = 7
STARTS = datetime(2026, 5, 19, 7, 5, tzinfo=UTC)
PUMP_L_MIN = 50.0


def play(plan: Plan, folder: Path) -> Path:
    """Records the job in `folder`; the session's path."""
    with stage(plan, folder, STARTS, seed=SEED, total_l=48_210.0) as hand:
        _casing(hand, plan)
        _first_stage(hand)
        hand.away(21.5)
        _second_stage(hand)
        _topping_up(hand)
        hand.enter(want.CloseSession("set until tomorrow noon; nobody drills before"))
        return hand.session.path


def _casing(hand: StageHand, plan: Plan) -> None:
    hand.wait(60)
    hand.enter(want.WriteNote("talk before work: hung loads, wet cement, silica; hoist and slings looked over"))
    for place, length_m in enumerate(plan.casing.rack_m[:9], start=1):
        hand.wait(170 + 7 * (place % 3))
        if place == 5:
            # A slip of the pencil: the joint before, written again, and taken back.
            again = hand.enter(want.AddJoint(6.01, "6.01 m"))
            hand.wait(25)
            hand.enter(want.Void(again, "wrote the last joint twice"))
            hand.wait(10)
            hand.enter(want.AcknowledgeAlarm("rack-mismatch", "the joint was written twice; voided"))
        hand.enter(want.AddJoint(length_m, f"{length_m:.2f} m"))
        if place in (1, 3, 6, 8):
            hand.wait(15)
            hand.enter(want.FitCentralizer())
        if place in (3, 6, 9):
            hand.wait(35)
            load_n = {3: 4_950.0, 6: 6_010.0, 9: 7_080.0}[place]
            hand.enter(want.ReadHookLoad(load_n, f"{load_n / 9806.65:.2f} t", "lowering"))
    hand.wait(90)
    hand.enter(want.ReadStickUp(0.43, "0.43 m"))
    hand.wait(20)
    hand.enter(want.LandCasing("rock"))
    hand.wait(240)
    hand.enter(want.ReadFluidLevel("inside casing", 0.0, "0 m"))
    hand.enter(want.WriteNote("casing filled with water to the top"))
    hand.enter(want.ReadFluidLevel("hole", 10.9, "10.9 m"))


def _first_stage(hand: StageHand) -> None:
    hand.wait(180)
    hand.enter(want.SetTremie(52.0, "52 m"))
    hand.wait(60)
    hand.batch(5, 1.88)
    hand.enter(want.StartStage())
    hand.pump(PUMP_L_MIN)
    hand.pump_to(90)
    hand.batch(5, 1.87)
    hand.pump_to(180)
    hand.enter(want.SeeReturns("none"))
    hand.until(lambda state: any(alarm.alarm == "returns-overdue" for alarm in state.alarms))
    hand.wait(6)
    hand.pump(0)
    hand.enter(want.StopPump("loss of returns"))
    hand.wait(100)
    hand.enter(want.TagTop(43.2, "43.2 m"))
    hand.wait(30)
    hand.enter(
        want.AcknowledgeAlarm("returns-overdue", "stopped and tagged: the grout rises, the water goes into the rock")
    )
    hand.enter(want.SetGroundDrinks(True))
    hand.batch(5, 1.89)
    hand.enter(want.StartPump())
    hand.pump(PUMP_L_MIN)
    hand.pump_to(400)
    hand.batch(5, 1.88)
    hand.pump_to(480)
    hand.pump(0)
    hand.enter(want.StopPump("tagging"))
    hand.wait(90)
    hand.enter(want.TagTop(31.6, "31.6 m"))
    hand.batch(4, 1.88)
    hand.enter(want.StartPump())
    hand.pump(PUMP_L_MIN)
    hand.pump_to(640)
    hand.pump(0)
    hand.enter(want.StopPump("tagging"))
    hand.wait(90)
    hand.enter(want.TagTop(31.5, "31.5 m", lost=True))
    hand.wait(40)
    hand.enter(want.AcknowledgeAlarm("no-rise", "stopped: a fracture at about 31 m takes it; left to set"))
    hand.enter(want.SetTremie(27.0, "27 m"))
    hand.wait(120)
    hand.enter(want.WriteNote("tremie lifted clear of the grout and flushed with 60 L of water"))
    hand.enter(want.EndStage("left to set", "fracture at about 31 m"))
    hand.wait(120)


def _second_stage(hand: StageHand) -> None:
    hand.wait(240)
    hand.enter(want.TagTop(31.9, "31.9 m"))
    hand.enter(want.WriteNote("hard under the tagging weight; water in the hole stands at 10.9 m again"))
    hand.enter(want.SetGroundDrinks(False))
    hand.wait(120)
    hand.enter(want.SetTremie(30.0, "30 m"))
    hand.batch(5, 1.88)
    hand.enter(want.StartStage())
    hand.pump(PUMP_L_MIN)
    hand.pump_to(80)
    hand.batch(5, 1.87)
    hand.pump_to(205)
    hand.enter(want.SeeReturns("weak", "water"))
    hand.wait(45)
    hand.enter(want.SeeReturns("full", "water"))
    hand.batch(6, 1.88)
    hand.pump_to(400)
    hand.enter(want.PullTremie(4))
    hand.batch(5, 1.86)
    hand.pump_to(560)
    hand.enter(want.SeeReturns("full", "mixed"))
    hand.pump_to(612)
    hand.enter(want.SeeReturns("full", "grout", 1_800.0))
    hand.wait(40)
    hand.enter(want.AcknowledgeAlarm("thin-returns", "pumped on until it was full strength"))
    hand.pump_to(648)
    hand.enter(want.SeeReturns("full", "grout", 1_870.0))
    hand.wait(5)
    hand.pump(0)
    hand.enter(want.EndStage("good grout at surface"))
    hand.wait(90)
    hand.enter(want.SetTremie(0.0, "0 m"))
    hand.enter(want.WriteNote("hose bled, tremie out and washed"))


def _topping_up(hand: StageHand) -> None:
    hand.wait(600)
    hand.enter(want.TagTop(0.7, "0.7 m"))
    hand.batch(1, 1.88, weigh_after_s=30)
    hand.enter(want.TopUp(0.014, "14 L"))
    hand.enter(want.WriteNote("topped up by bucket; grout stands at ground level"))
    hand.wait(60)
