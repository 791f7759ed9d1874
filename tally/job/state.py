"""What is true now: the outcome of all events so far. Immutable; `tally.job.fold` makes the next one.

Two kinds of truth stand apart. What the operator entered (`string`, `grout`) is worked out from `entries`, so that a
voided entry leaves no trace in it. What the instruments sent (`flow`) and what was raised (`alarms`) is never undone.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from tally.job.events import CheckName, Doubt, Entry, Fluid, MeterCondition, Motion, Severity, Strength
from tally.job.hole import ZoneKind
from tally.job.plan import Plan


@dataclass(frozen=True, slots=True)
class Joint:
    number: int
    """The entry's number in the session; the joint's own place is its index."""
    length_m: float
    elapsed_s: float
    at: datetime
    first_m: float | None = None
    """As it was written down when it went on, where it was measured again since."""


@dataclass(frozen=True, slots=True)
class HookReading:
    number: int
    """The entry that it was typed by; 0 for one that an instrument gave."""
    load_n: float
    motion: Motion
    expected_n: float | None
    """What was expected at that moment; None where it could not be worked out."""
    shoe_m: float
    at: datetime


@dataclass(frozen=True, slots=True)
class ChosenLanding:
    """Joints that were to go on, in their order, and how many were in before them."""

    order_m: tuple[float, ...]
    joints_before: int


@dataclass(frozen=True, slots=True)
class String:
    """The casing in the hole, as entered."""

    joints: tuple[Joint, ...] = ()
    rejected_m: tuple[float, ...] = ()
    cut_off_m: float = 0.0
    centralizers_above_shoe_m: tuple[float, ...] = ()
    stick_up_m: float | None = None
    """As read last; None until then."""
    joints_at_stick_up: int = 0
    hook_readings: tuple[HookReading, ...] = ()
    hole_fluid_m: float | None = None
    inside_fluid_m: float | None = None
    landing: ChosenLanding | None = None
    landed_on: str | None = None
    landed_at_s: float | None = None


@dataclass(frozen=True, slots=True)
class Batch:
    number: int
    stage: int
    """Place among the stages that were begun, from 0."""
    bags: int
    water_m3: float
    volume_m3: float
    density_kg_m3: float | None
    elapsed_s: float
    at: datetime


@dataclass(frozen=True, slots=True)
class Returns:
    number: int
    strength: Strength
    fluid: Fluid
    density_kg_m3: float | None
    pumped_m3: float
    """Pumped in this stage when it was seen."""
    metered_m3: float
    elapsed_s: float
    at: datetime


@dataclass(frozen=True, slots=True)
class Tag:
    number: int
    depth_m: float
    pumped_m3: float
    lost: bool
    elapsed_s: float
    at: datetime


@dataclass(frozen=True, slots=True)
class Stage:
    """A stage that was begun. `index` is its place in the plan, from 0."""

    index: int
    bottom_m: float
    top_m: float
    started_number: int
    started_at: datetime
    started_s: float
    metered_at_start_m3: float
    typed_m3: float = 0.0
    topped_up_m3: float = 0.0
    """Poured in from the top after the end; no part of what was pumped."""
    returns: tuple[Returns, ...] = ()
    tags: tuple[Tag, ...] = ()
    ended_at: datetime | None = None
    ended_s: float | None = None
    metered_at_end_m3: float | None = None
    outcome: str = ""
    remark: str = ""
    tip_m: float | None = None
    """Where the tremie's end hung before the first of the stage was pumped."""

    @property
    def open(self) -> bool:
        return self.ended_at is None


@dataclass(frozen=True, slots=True)
class FoundZone:
    """A zone that was noted on the day, by key or with a tag that found grout lost below it."""

    number: int
    top_m: float
    bottom_m: float
    kind: ZoneKind
    note: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Checked:
    """One thing of the list before the first batch: found right, or gone on without for a reason."""

    number: int
    check: CheckName
    confirmed: bool
    reason: str
    """Why it went on without."""
    at: datetime


@dataclass(frozen=True, slots=True)
class Dip:
    """What was in the tank, and had been pumped in the stage under way, when it was dipped."""

    number: int
    volume_m3: float
    stage: int
    pumped_m3: float


@dataclass(frozen=True, slots=True)
class Stop:
    """A stop of the pump that was entered by key."""

    from_s: float
    reason: str


@dataclass(frozen=True, slots=True)
class Grout:
    """The grouting, as entered."""

    stages: tuple[Stage, ...] = ()
    batches: tuple[Batch, ...] = ()
    tremie_tip_m: float | None = None
    tremie_out: bool = False
    drinks_water: bool | None = None
    pump_stop: Stop | None = None
    pump_moved_s: float | None = None
    """When the operator last showed that grout moves: a start key or a typed volume."""
    bags_delivered: int = 0
    water_delivered_m3: float = 0.0
    zones: tuple[FoundZone, ...] = ()
    checks: tuple[Checked, ...] = ()
    """The last word on each."""
    dips: tuple[Dip, ...] = ()

    @property
    def stage(self) -> Stage | None:
        """The stage under way."""
        return self.stages[-1] if self.stages and self.stages[-1].open else None


@dataclass(frozen=True, slots=True)
class Interruption:
    """A time when the meter showed no flow while a stage was under way."""

    stage: int
    from_s: float
    until_s: float
    silent: bool = False
    """True where the meter sent nothing either: whether the pump stood is not known."""


@dataclass(frozen=True, slots=True)
class Flow:
    """What the grout meter has counted. Only ever grows."""

    metered_m3: float = 0.0
    last_total_m3: float | None = None
    condition: MeterCondition = "CLOSED"
    why: str = ""
    changed_s: float = 0.0
    last_data_s: float | None = None
    rate_m3_s: float | None = None
    moved_s: float | None = None
    """When the count last grew."""
    silent: bool = False
    """True where the meter fell silent, for longer than a pump's strokes are apart, since the count last grew."""
    resuming: bool = False
    """True after a restart or a lost line until the next total: that step is offered, not counted."""
    offered_m3: float = 0.0
    rebased: int = 0
    rebased_cause: str = ""
    rebased_step_m3: float = 0.0
    rebased_s: float | None = None
    answered_m3: float = 0.0
    """Counted on the operator's word, for times when nobody listened."""
    interruptions: tuple[Interruption, ...] = ()
    trend: tuple[tuple[float, float], ...] = ()
    """(elapsed_s, metered_m3), thinned so that it never grows past a few hundred points."""
    trend_step_s: float = 1.0
    doubt: Doubt = ""
    doubt_amount: float = 0.0
    away_s: float | None = None
    """Since when it has not been heard."""
    gap_s: tuple[float, float] | None = None
    """The last time in which it was not heard, from and until."""


@dataclass(frozen=True, slots=True)
class Watched:
    """An instrument beside the meter that counts. Comparing begins anew whenever either was not heard."""

    name: str
    flow: Flow = Flow()
    from_m3: float = 0.0
    """Its count when comparing began."""
    from_pumped_m3: float = 0.0
    """What had been pumped in the stage then."""
    first_m3: float | None = None
    """Its count when it had begun to move since."""
    first_pumped_m3: float | None = None
    stage_m3: float = 0.0
    """Its count when the stage began."""


@dataclass(frozen=True, slots=True)
class Gauges:
    """What instruments said last of load, pressure and density, each with when."""

    load_n: float | None = None
    load_s: float | None = None
    pressure_pa: float | None = None
    pressure_s: float | None = None
    density_kg_m3: float | None = None
    density_s: float | None = None
    loads: tuple[HookReading, ...] = ()
    """Hook loads that were kept, thinned."""
    kept_s: float | None = None


@dataclass(frozen=True, slots=True)
class Alarm:
    alarm: str
    number: int
    severity: Severity
    words: str
    value: float
    limit: float
    measure: str
    raised_s: float
    raised_at: datetime
    entry: int | None = None
    """The operator's entry that it rests on, so that it can be marked if that entry is voided."""
    active: bool = True
    cleared_at: datetime | None = None
    acknowledged_at: datetime | None = None
    done: str = ""
    who: str = ""
    other: float | None = None

    @property
    def standing(self) -> bool:
        """Still on the alarm bar: its cause is there, or nobody has answered it."""
        return self.active or self.acknowledged_at is None


@dataclass(frozen=True, slots=True)
class Disturbance:
    """What befell the record itself, as it was told last."""

    what: str
    seconds: float
    times: int
    """How often it was told in this session; of a mended one, how many entries are lost."""
    elapsed_s: float


@dataclass(frozen=True, slots=True)
class Kept:
    """An entry other than a heartbeat, with what the meter had counted by then."""

    entry: Entry
    elapsed_s: float
    metered_m3: float


@dataclass(frozen=True, slots=True)
class State:
    plan: Plan
    number: int
    at: datetime
    mono_s: float
    who: str
    elapsed_s: float
    """Seconds since the session was opened; runs on over restarts, never back."""
    boot: str
    runs: int = 1
    helper: str = ""
    closed: bool = False
    string: String = field(default_factory=String)
    grout: Grout = field(default_factory=Grout)
    flow: Flow = field(default_factory=Flow)
    watched: tuple[Watched, ...] = ()
    gauges: Gauges = Gauges()
    alarms: tuple[Alarm, ...] = ()
    entries: tuple[Kept, ...] = ()
    voided: frozenset[int] = frozenset()
    away: tuple[tuple[float, float], ...] = ()
    """(from, until) [session s] while nobody recorded."""

    disturbances: tuple[Disturbance, ...] = ()
    """The latest of each kind."""
