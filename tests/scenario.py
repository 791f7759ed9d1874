"""An invented job to test with: a plan in round numbers, and a day on it that is written down entry by entry.

The hole is 250 mm wide and 60 m deep, its water stands at 20 m. The casing is NPS 6 x 0.280 in steel (168.275 mm
outside, 154.051 mm bore, 28.26 kg/m): twelve joints of 5.05 m make 60.6 m, of which 0.6 m stands above ground.
One litre of line is one litre pumped: the line is full of water and holds 40 L.
"""

import copy
import json
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any

from tally.job import checklist
from tally.job import events as ev
from tally.job import intents as want
from tally.job.alarms.due import due
from tally.job.decide.decide import decide
from tally.job.decide.refusal import Refusal
from tally.job.events import Entry
from tally.job.fold import apply, opened
from tally.job.plan import Plan
from tally.job.state import Alarm, State

START = datetime(2026, 5, 11, 12, 0, tzinfo=UTC)
JOINTS = 12
JOINT_M = 5.05
BASE: dict[str, Any] = {
    "job": {"name": "Test hole 1", "client": "", "place": "Nowhere", "time_zone": "UTC", "invented": True},
    "crew": {"driller": "Driller A", "helper": "Helper B", "rig": "Rig 1"},
    "hole": {
        "sections": [{"top_m": 0.0, "bottom_m": 60.0, "diameter_m": 0.250}],
        "water_level_m": 20.0,
        "rock_m": 12.0,
        "drinks_water": False,
    },
    "casing": {
        "material": "steel",
        "outer_diameter_m": 0.168275,
        "bore_m": 0.154051,
        "mass_kg_m": 28.26,
        "connection": "welded",
        "shoe": "open",
        "target_shoe_depth_m": 60.0,
        "stick_up_m": 0.6,
        "stick_up_tolerance_m": 0.1,
        "joint_min_m": 4.0,
        "joint_max_m": 7.0,
        "rack_m": [JOINT_M] * JOINTS,
    },
    "limits": {"hoist_n": 60_000.0, "reading_band_n": 500.0},
    "line": {"volume_m3": 0.040, "starts": "water"},
    "tremie": {"outer_diameter_m": 0.0334, "bore_m": 0.0266, "section_m": 3.0, "sections": 20},
    "mixes": [
        {
            "name": "neat",
            "bag_kg": 42.6,
            "water_per_bag_m3": 0.0197,
            "yield_per_bag_m3": 0.0334,
            "density_kg_m3": 1870.0,
            "density_band_kg_m3": 40.0,
            "working_time_s": 5_400.0,
            "waiting_time_s": 86_400.0,
        }
    ],
    "stages": [{"name": "all", "bottom_m": 60.0, "top_m": 0.0, "mix": "neat", "method": "tremie"}],
    "aboard": {"bags": 80, "water_m3": 3.0},
    "meter": {
        "port": "none",
        "pattern": r"T=(?P<total>[\d.]+)",
        "factors": {"total": 0.001},
    },
}


def plan(**changes: Any) -> Plan:
    """The plan of the invented job; `casing={"shoe": "float"}` changes one key, a list or None replaces a part."""
    return Plan.model_validate_json(json.dumps(_changed(copy.deepcopy(BASE), changes)))


def _changed(base: dict[str, Any], changes: dict[str, Any]) -> dict[str, Any]:
    for key, value in changes.items():
        both = isinstance(value, dict) and isinstance(base.get(key), dict)
        base[key] = _changed(base[key], value) if both else value
    return base


class Day:
    """A day written down: every method records entries and moves the clock; `state` is what they come to.

    With `alarms=True` each entry is followed by what `due` asks for, as the live recorder does.
    """

    def __init__(self, plan_: Plan | None = None, *, alarms: bool = False, at: datetime = START) -> None:
        self.alarms = alarms
        self.at, self.mono_s, self.boot = at, 1_000.0, "boot-1"
        self.who = "Driller A"
        self.total_m3 = 0.0
        """What the meter shows."""
        opening = ev.SessionOpened(plan=plan_ or plan(), program="test", calculation=ev.CALCULATION, boot=self.boot)
        first = Entry(number=1, at=self.at, mono_s=self.mono_s, who=self.who, event=opening)
        self.entries = [first]
        self.state: State = opened(first)
        self._alarms()

    # --- writing down -----------------------------------------------------------------------------------------------

    def entry(self, event: ev.AnyEvent) -> Entry:
        """The entry that would come next, not recorded."""
        return Entry(number=len(self.entries) + 1, at=self.at, mono_s=self.mono_s, who=self.who, event=event)

    def record(self, event: ev.AnyEvent) -> Entry:
        """Write `event` down now."""
        entry = self._applied(event)
        self._alarms()
        return entry

    def _applied(self, event: ev.AnyEvent) -> Entry:
        entry = self.entry(event)
        self.entries.append(entry)
        self.state = apply(self.state, entry)
        return entry

    def _alarms(self) -> None:
        if self.alarms:
            for change in due(self.state):
                self._applied(change)

    def ask(self, intent: want.Intent) -> list[ev.AnyEvent] | Refusal:
        """What `decide` says to `intent`; nothing is recorded."""
        return decide(self.state, intent)

    def do(self, intent: want.Intent) -> list[Entry]:
        """Have `intent` decided and its events written down; it must not be refused."""
        decision = self.ask(intent)
        assert not isinstance(decision, Refusal), decision
        return [self.record(event) for event in decision]

    # --- time and the meter -----------------------------------------------------------------------------------------

    def tick(self, seconds: float) -> None:
        """Move the clock and write nothing."""
        self.at += timedelta(seconds=seconds)
        self.mono_s += seconds

    def beat(self, total_m3: float | None = None, *, rate_m3_s: float | None = None, after_s: float = 1.0) -> Entry:
        """One heartbeat, with the totaliser's reading if one came."""
        self.tick(after_s)
        samples = []
        if total_m3 is not None:
            self.total_m3 = total_m3
            samples.append(("total_m3", total_m3))
        if rate_m3_s is not None:
            samples.append(("rate_m3_s", rate_m3_s))
        return self.record(
            ev.Heartbeat(
                samples=tuple(
                    ev.Samples.model_validate(
                        {"channel": "grout", "quantity": name, "before_s": (0.1,), "values": (value,)}
                    )
                    for name, value in samples
                )
            )
        )

    def beats(self, count: int, rate_m3_s: float | None = None) -> None:
        """`count` seconds of heartbeats; without a rate the meter is silent, with one its total grows by it."""
        for _ in range(count):
            if rate_m3_s is None:
                self.beat()
            else:
                self.beat(self.total_m3 + rate_m3_s, rate_m3_s=rate_m3_s)

    def quiet(self, seconds: float) -> None:
        """One heartbeat after a long while (the rules see only the clock, so that a test need not beat it through)."""
        self.beat(after_s=seconds)

    def pump(self, volume_m3: float, *, seconds: int = 10) -> None:
        """The meter counts `volume_m3` more in `seconds`."""
        target_m3 = self.total_m3 + volume_m3
        for done in range(1, seconds + 1):
            self.beat(target_m3 - volume_m3 * (seconds - done) / seconds, rate_m3_s=volume_m3 / seconds)

    def meter(self, condition: ev.MeterCondition, why: str = "") -> Entry:
        return self.record(ev.MeterChanged(channel="grout", condition=condition, why=why))

    def metered(self) -> None:
        """The meter comes alive and shows its total for the first time."""
        self.meter("LIVE")
        self.beat(self.total_m3)

    def restart(self, away_s: float) -> Entry:
        """The recorder ends and starts again later, on a machine whose monotonic clock began anew."""
        self.at += timedelta(seconds=away_s)
        self.mono_s, self.boot = 5.0, f"{self.boot}+"
        return self.record(ev.SessionResumed(program="test", calculation=ev.CALCULATION, boot=self.boot))

    # --- casing -----------------------------------------------------------------------------------------------------

    def joint(self, length_m: float = JOINT_M) -> Entry:
        self.tick(60.0)
        return self.record(ev.JointAdded(length_m=length_m, typed=f"{length_m} m"))

    def joints(self, lengths_m: Iterable[float] = (JOINT_M,) * JOINTS) -> None:
        for length_m in lengths_m:
            self.joint(length_m)

    def hook(self, load_n: float, motion: ev.Motion = "still") -> Entry:
        return self.record(ev.HookLoadRead(load_n=load_n, typed=f"{load_n} N", motion=motion))

    def landed(self, on: str = "rock") -> Entry:
        return self.record(ev.CasingLanded.model_validate({"on": on}))

    def checked(self) -> None:
        """The list before the first batch, all of it confirmed."""
        for check in checklist.to_check(self.state):
            self.record(ev.CheckConfirmed(check=check))

    # --- grout ------------------------------------------------------------------------------------------------------

    def stage(self, index: int = 0, *, bottom_m: float = 60.0, top_m: float = 0.0) -> Entry:
        return self.record(ev.StageStarted(stage=index, bottom_m=bottom_m, top_m=top_m))

    def batch(self, bags: int = 10, *, density_kg_m3: float | None = None) -> Entry:
        """A batch by the recipe (19.7 L of water a bag)."""
        return self.record(
            ev.BatchMixed(bags=bags, water_m3=bags * 0.0197, density_kg_m3=density_kg_m3, typed=f"{bags} bags")
        )

    def volume(self, volume_m3: float) -> Entry:
        """Pumped by hand count."""
        return self.record(ev.VolumeAdded(volume_m3=volume_m3, typed=f"{volume_m3} m3"))

    def returns(self, strength: ev.Strength, fluid: ev.Fluid = "water", density_kg_m3: float | None = None) -> Entry:
        return self.record(ev.ReturnsSeen(strength=strength, fluid=fluid, density_kg_m3=density_kg_m3))

    def tag(self, depth_m: float, *, lost: bool = False) -> Entry:
        return self.record(ev.TopTagged(depth_m=depth_m, typed=f"{depth_m} m", lost=lost))

    def tremie(self, tip_m: float) -> Entry:
        return self.record(ev.TremieSet(tip_m=tip_m, typed=f"{tip_m} m"))

    def end(self, outcome: str = "as planned") -> Entry:
        return self.record(ev.StageEnded.model_validate({"outcome": outcome}))

    def void(self, entry: Entry | int, reason: str = "typed twice") -> Entry:
        number = entry if isinstance(entry, int) else entry.number
        return self.record(ev.EntryVoided(entry=number, reason=reason))

    # --- looking ----------------------------------------------------------------------------------------------------

    def standing(self) -> dict[str, Alarm]:
        """Alarms whose cause is there now, by name."""
        return {alarm.alarm: alarm for alarm in self.state.alarms if alarm.active}


def grouting_day(plan_: Plan | None = None, *, alarms: bool = False) -> Day:
    """A day on which the casing is landed, the meter is live and the first stage is begun."""
    day = Day(plan_, alarms=alarms)
    day.joints()
    day.landed()
    if day.state.plan.meter is not None:
        day.metered()
    stage = day.state.plan.stages[0]
    day.stage(0, bottom_m=stage.bottom_m, top_m=stage.top_m)
    return day
