"""An invented day on which a little of everything happens, in round numbers to add up by hand.

Two stages are planned in the test hole: "foot" from 60 m up to 20 m, "rest" from 20 m up to ground. The rack holds
twelve joints of 5.05 m and one of 4.80 m, which is rejected.
"""

from tally.job import events as ev
from tally.job import intents as want
from tally.job.plan import Plan
from tests.scenario import BASE, JOINT_M, JOINTS, Day, plan

CHANGES = {
    "job": {"client": "Client C", "permit": "P-1", "time_zone": "Europe/Oslo"},
    "crew": {"licence": "L-9"},
    "casing": {"rack_m": [JOINT_M] * JOINTS + [4.80], "centralizer_depths_m": [10.0, 50.0]},
    "stages": [
        {"name": "foot", "bottom_m": 60.0, "top_m": 20.0, "mix": "neat", "method": "tremie"},
        {"name": "rest", "bottom_m": 20.0, "top_m": 0.0, "mix": "neat", "method": "tremie"},
    ],
}


def eventful_plan(deeper_m: float = 0.0) -> Plan:
    bottom_m = BASE["hole"]["sections"][0]["bottom_m"] + deeper_m
    hole = {"sections": [{"top_m": 0.0, "bottom_m": bottom_m, "diameter_m": 0.250}]}
    return plan(**CHANGES, hole=hole)


def eventful_day() -> Day:
    """12:00 UTC is 14:00 in Oslo in May."""
    day = Day(eventful_plan())
    _casing(day)
    _first_stage(day)
    _second_stage(day)
    day.record(ev.NoteWritten(text="wind from the west"))
    day.void(day.record(ev.NoteWritten(text="wind from the moon")), "not so")
    day.record(ev.SessionClosed(remark="all hands safe"))
    return day


def _casing(day: Day) -> None:
    day.joints([JOINT_M] * 4)
    day.void(day.joint(5.50), "typed twice")
    day.record(ev.JointRejected(length_m=4.80, typed="4.80 m", reason="bent pin"))
    day.hook(5_000.0, "lowering")
    day.record(ev.CentralizerFitted(above_shoe_m=8.0))
    day.joints([JOINT_M] * 8)
    day.record(ev.CutOffMade(length_m=0.10, typed="10 cm"))
    day.record(ev.StickUpRead(stick_up_m=0.50, typed="50 cm"))
    day.record(ev.FluidLevelRead(where="hole", depth_m=21.0, typed="21 m"))
    day.landed()


def _first_stage(day: Day) -> None:
    day.metered()
    day.tremie(57.0)
    day.stage(0, bottom_m=60.0, top_m=20.0)
    day.batch(30, density_kg_m3=1_880.0)
    day.pump(0.400)
    day.record(ev.PumpStopped(reason="hose burst"))
    day.quiet(100)
    day.record(ev.PumpStarted())
    day.pump(0.200)
    _alarm(day)
    day.record(ev.TremiePulled(sections=2))
    day.tag(40.0, lost=True)
    day.tick(30)
    day.end("left to set")
    day.record(ev.PlanAmended(plan=eventful_plan(deeper_m=6.0), reason="hole was deeper"))
    day.record(ev.CrewChanged(driller="Driller D", helper="Helper E"))
    day.who = "Driller D"
    day.record(ev.StockDelivered(bags=20, water_m3=0.5))


def _alarm(day: Day) -> None:
    raised = ev.AlarmRaised(
        alarm="returns-overdue",
        severity="stop-and-look",
        words="Returns overdue",
        value=0.600,
        limit=0.550,
        measure="volume",
    )
    day.record(raised)
    day.tick(120)
    day.record(ev.AlarmAcknowledged(alarm="returns-overdue", done="tagged the top and left it to set"))
    day.record(ev.AlarmCleared(alarm="returns-overdue"))


def _second_stage(day: Day) -> None:
    day.pump(0.050)
    day.record(ev.MeterRebased(channel="grout", from_m3=0.650, to_m3=0.0, cause="reset", offered_m3=0.030))
    day.total_m3 = 0.0
    day.stage(1, bottom_m=40.0, top_m=0.0)
    day.record(ev.GapAnswered(channel="grout", offered_m3=0.030, counted_m3=0.020))
    day.batch(35)
    day.record(ev.BatchWeighed(density_kg_m3=1_950.0, typed="1.95 kg/L"))
    day.returns("weak")
    day.pump(0.900)
    day.volume(0.070)
    day.restart(600)
    day.record(ev.GroundDrinks(drinks=False))
    day.meter("LIVE")
    day.beat(day.total_m3)
    day.returns("full", "grout", 1_860.0)
    day.end("good grout at surface")
    day.tick(3 * 3600)
    day.tag(0.30)
    day.do(want.WriteNote(text="topped up by hand"))
