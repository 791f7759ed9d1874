"""Days to look at on the screens: the same to the second every time."""

from collections.abc import Callable

from tally.job import events as ev
from tests.scenario import JOINT_M, Day, grouting_day, plan


def casing_run() -> Day:
    """Seven joints in; two centralizers; a reading."""
    day = Day(alarms=True)
    for place in range(7):
        day.joint()
        if place in (0, 4):
            day.record(ev.CentralizerFitted(above_shoe_m=JOINT_M * (place + 1)))
    # 28.26 kg/m * 35.35 m in air, less the lift of the 14.75 m below water: 9.44 kN by hand.
    day.hook(9_700.0, "lowering")
    return day


def casing_begun() -> Day:
    """Nothing in the hole yet."""
    return Day(alarms=True)


def casing_low() -> Day:
    """A reading far below what is expected."""
    day = casing_run()
    day.tick(30.0)
    day.hook(5_000.0, "lowering")
    return day


def before_grout() -> Day:
    day = Day(alarms=True)
    day.joints()
    day.landed()
    day.metered()
    return day


def grout_under_way() -> Day:
    """Two batches in, water coming up, the tremie buried."""
    day = grouting_day(alarms=True)
    day.tremie(59.0)
    day.batch(20, density_kg_m3=1865.0)
    day.batch(20)
    day.pump(0.95, seconds=20)
    day.returns("weak", "water")
    day.pump(0.10, seconds=5)
    return day


def grout_overdue() -> Day:
    """1,200 L pumped and nothing comes; then the meter falls silent."""
    day = grouting_day(alarms=True)
    day.tremie(59.0)
    day.batch(20, density_kg_m3=1865.0)
    day.batch(20)
    day.pump(1.2, seconds=20)
    day.quiet(30.0)
    day.meter("STALE", "nothing for 5 s")
    day.record(ev.AlarmAcknowledged(alarm="no-meter-data", done="typed the volume from batches"))
    return day


def grout_lifts() -> Day:
    """A shut end that nobody filled, of soft pipe: grout lifts it, and presses more on it than it should."""
    day = grouting_day(plan(casing={"shoe": "closed"}, limits={"collapse_pa": 900e3}), alarms=True)
    day.tremie(59.0)
    day.batch(20, density_kg_m3=1865.0)
    day.batch(20)
    day.pump(0.95, seconds=20)
    day.returns("full", "water")
    day.pump(0.10, seconds=5)
    return day


def grout_ended() -> Day:
    day = grout_under_way()
    day.pump(0.95, seconds=20)
    day.returns("full", "grout", 1860.0)
    day.end("good grout at surface")
    day.record(ev.NoteWritten(text="hose bled, tremie washed out"))
    return day


def corrected() -> Day:
    """A grouted day with a void in it."""
    day = grout_ended()
    day.void(day.record(ev.NoteWritten(text="wind from the moon")), "not so")
    return day


DAYS: dict[str, Callable[[], Day]] = {
    "begun": casing_begun,
    "casing": casing_run,
    "casing-low": casing_low,
    "before-grout": before_grout,
    "grout": grout_under_way,
    "grout-overdue": grout_overdue,
    "grout-lifts": grout_lifts,
    "grout-ended": grout_ended,
    "corrected": corrected,
}
