"""Everything that can happen on a job. One `Entry` is one line of the session file.

An entry is an envelope (number, times, who) around one event. Nothing is ever edited: a correction voids an entry and
enters it again. `tally.job.coding` makes bytes of them and reads them back.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AwareDatetime, Field

from tally.job.hole import ZoneKind
from tally.job.model import Model, NotNegative, Positive, Real, Share, Text
from tally.job.plan import Plan

CALCULATION = 2
"""Raised whenever a formula changes what a session is worth; a report of one that was signed by another then says so.

2: while the casing runs a float lets out what stands inside above balance.
"""

Number = Annotated[int, Field(ge=1)]
Size = Annotated[float, Field(gt=0, le=1e4)]
"""A length, volume or density that was entered; the bound is far past any hole and keeps all sums of them finite."""
SizeOrZero = Annotated[float, Field(ge=0, le=1e4)]
Metered = Annotated[float, Field(ge=-1e9, le=1e9)]
"""What an instrument may send: past any totaliser's width and any pressure in Pa."""
MeteredOrZero = Annotated[float, Field(ge=0, le=1e9)]
Strength = Literal["none", "weak", "full"]
Fluid = Literal["water", "mixed", "grout"]
Motion = Literal["still", "lowering", "picking up", "unknown"]
"""Unknown to an instrument, which reads all the time."""
Channel = Annotated[str, Field(max_length=40)]
"""The meter that counts is "grout", any other instrument goes by its name in the plan."""
Doubt = Literal["", "backward", "garbage", "flood"]
"""What is wrong with an instrument that is heard: see the table of faults in DEVELOPERS.md."""
Severity = Literal["note", "caution", "stop-and-look"]
CheckName = Literal["flushed", "tremie", "balance", "stock", "casing", "protection"]
"""What is looked at before the first batch; in the order in which it is asked."""
ActivityName = Literal["standby", "repair", "weather", "travel", "rigging", "job"]
"""What a crew is at that no other entry tells of; "job" is going on with it."""
MeterCondition = Literal["CLOSED", "OPENING", "LIVE", "STALE", "FAULT"]


class Event(Model):
    """Base of all events; each kind gives its own `kind` and `version`."""

    version: Literal[1] = 1
    """Raised in an event whose meaning changes, with a function in `tally.job.upcast`."""


# --- the session -----------------------------------------------------------------------------------------------------


class SessionOpened(Event):
    kind: Literal["SessionOpened"] = "SessionOpened"
    plan: Plan
    program: Text
    calculation: int
    boot: Text
    """A new id for each run of the recorder: the monotonic clock starts again with the machine."""


class SessionResumed(Event):
    kind: Literal["SessionResumed"] = "SessionResumed"
    program: Text
    calculation: int
    boot: Text
    torn_bytes: Annotated[int, Field(ge=0)] = 0
    """Bytes of an unfinished last line that were set aside; nothing that was shown as saved was in them."""


class SessionClosed(Event):
    kind: Literal["SessionClosed"] = "SessionClosed"
    remark: Text = ""


class RecordDisturbed(Event):
    """Something befell the record itself: the disk, the file or the clock under it. What was saved is untouched."""

    kind: Literal["RecordDisturbed"] = "RecordDisturbed"
    what: Literal["clock jumped", "slow disk", "not written", "file moved", "file put back"]
    seconds: Real = 0.0
    """How long it took or lasted; of a jump how far, ahead above zero."""
    why: Text = ""


class EntriesLost(Event):
    """Stands in a mended session for entries that could not be read, from its own number up to `through`."""

    kind: Literal["EntriesLost"] = "EntriesLost"
    through: Number


class SessionMended(Event):
    """A damaged session was written anew without the lines that did not hold; ends what was kept of it."""

    kind: Literal["SessionMended"] = "SessionMended"
    program: Text
    damaged: Text
    """Name of the file that it was made from, which is left as it was."""
    digest: Text
    """Of that file."""
    lines: Text
    """Which lines of that file were set aside, in words."""
    aside: Text
    """Name of the file that they were copied to."""
    lost: Annotated[int, Field(ge=0, le=10**9)]
    """Entries that are missing by their numbers."""
    by: Text
    """Who mended it; whoever recorded before records on."""


class PlanAmended(Event):
    kind: Literal["PlanAmended"] = "PlanAmended"
    plan: Plan
    reason: Text


class CrewChanged(Event):
    kind: Literal["CrewChanged"] = "CrewChanged"
    driller: Text
    helper: Text = ""


class NoteWritten(Event):
    kind: Literal["NoteWritten"] = "NoteWritten"
    text: Text


class ActivityBegan(Event):
    """From now on, until the next of these or the next entry of work."""

    kind: Literal["ActivityBegan"] = "ActivityBegan"
    activity: ActivityName
    note: Text = ""


class WeatherNoted(Event):
    kind: Literal["WeatherNoted"] = "WeatherNoted"
    text: Text
    air_c: Annotated[float, Field(ge=-90, le=60)] | None = None
    """The temperature that the text gives, where it gives one."""


class EntryVoided(Event):
    kind: Literal["EntryVoided"] = "EntryVoided"
    entry: Number
    reason: Text


# --- casing ----------------------------------------------------------------------------------------------------------


class JointAdded(Event):
    kind: Literal["JointAdded"] = "JointAdded"
    length_m: Size
    typed: Text


class JointRemeasured(Event):
    """The length of a joint that is in, taped again: it replaces the one that its entry gave."""

    kind: Literal["JointRemeasured"] = "JointRemeasured"
    joint: Number
    """The entry by which the joint went on."""
    length_m: Size
    typed: Text


class JointRejected(Event):
    kind: Literal["JointRejected"] = "JointRejected"
    length_m: Size
    typed: Text
    reason: Text


class CentralizerFitted(Event):
    kind: Literal["CentralizerFitted"] = "CentralizerFitted"
    above_shoe_m: NotNegative
    at_top: bool = False
    """At the top of the joint that went on last: the height follows the string through every correction of it."""


class CutOffMade(Event):
    kind: Literal["CutOffMade"] = "CutOffMade"
    length_m: Size
    typed: Text


class StickUpRead(Event):
    kind: Literal["StickUpRead"] = "StickUpRead"
    stick_up_m: SizeOrZero
    typed: Text


class HookLoadRead(Event):
    kind: Literal["HookLoadRead"] = "HookLoadRead"
    load_n: NotNegative
    typed: Text
    motion: Motion = "still"


class FluidLevelRead(Event):
    kind: Literal["FluidLevelRead"] = "FluidLevelRead"
    where: Literal["hole", "inside casing"]
    depth_m: SizeOrZero
    typed: Text


class LandingChosen(Event):
    """The joints that are to go on from here, in this order."""

    kind: Literal["LandingChosen"] = "LandingChosen"
    order_m: Annotated[tuple[Size, ...], Field(max_length=1_000)]


class CasingLanded(Event):
    kind: Literal["CasingLanded"] = "CasingLanded"
    on: Literal["rock", "hung"]


# --- grout -----------------------------------------------------------------------------------------------------------


class CheckConfirmed(Event):
    """One thing that was looked at before the first batch, and found right."""

    kind: Literal["CheckConfirmed"] = "CheckConfirmed"
    check: CheckName


class CheckOverridden(Event):
    """Gone on without it, and why."""

    kind: Literal["CheckOverridden"] = "CheckOverridden"
    check: CheckName
    reason: Text


class StageStarted(Event):
    kind: Literal["StageStarted"] = "StageStarted"
    stage: Annotated[int, Field(ge=0)]
    """Place in the plan, from 0; a stage that was left to set is begun again under the same number."""
    bottom_m: Positive
    top_m: NotNegative
    against: Text = ""
    """Why it was begun although its high volume takes longer than the mix works; empty where it does not."""


class BatchMixed(Event):
    kind: Literal["BatchMixed"] = "BatchMixed"
    bags: Number
    water_m3: SizeOrZero
    density_kg_m3: Size | None = None
    typed: Text


class BatchWeighed(Event):
    """A mud balance reading of the batch mixed last."""

    kind: Literal["BatchWeighed"] = "BatchWeighed"
    density_kg_m3: Size
    typed: Text


class VolumeAdded(Event):
    """Grout pumped that no meter counted: the whole count on a job without a meter."""

    kind: Literal["VolumeAdded"] = "VolumeAdded"
    volume_m3: Size
    typed: Text
    strokes: Number | None = None
    """Of the pump, where these were counted; the volume is theirs by the two that follow."""
    stroke_m3: Size | None = None
    """What one sweeps."""
    efficiency_share: Share | None = None
    """What it truly delivers of that."""


class TankDipped(Event):
    """A dip of the tank that grout is drawn from, and what that says is in it."""

    kind: Literal["TankDipped"] = "TankDipped"
    dip_m: SizeOrZero
    volume_m3: SizeOrZero
    typed: Text


class ToppedUp(Event):
    """Grout poured in from the top after the stage ended and its top had settled; it never went through the line."""

    kind: Literal["ToppedUp"] = "ToppedUp"
    volume_m3: Size
    typed: Text


class PumpStopped(Event):
    kind: Literal["PumpStopped"] = "PumpStopped"
    reason: Text = ""


class PumpStarted(Event):
    kind: Literal["PumpStarted"] = "PumpStarted"


class ReturnsSeen(Event):
    kind: Literal["ReturnsSeen"] = "ReturnsSeen"
    strength: Strength
    fluid: Fluid = "water"
    density_kg_m3: Size | None = None


class GroundDrinks(Event):
    kind: Literal["GroundDrinks"] = "GroundDrinks"
    drinks: bool


class TopTagged(Event):
    kind: Literal["TopTagged"] = "TopTagged"
    depth_m: SizeOrZero
    typed: Text
    lost: bool = False
    """Grout went into a fracture or void below: the volume says nothing of the hole's size above."""


class ZoneNoted(Event):
    """A stretch that takes grout, or may, found while the job runs; one upside down is kept and changes nothing."""

    kind: Literal["ZoneNoted"] = "ZoneNoted"
    top_m: SizeOrZero
    bottom_m: Size
    of: ZoneKind
    typed: Text
    note: Text = ""


class TremieSet(Event):
    kind: Literal["TremieSet"] = "TremieSet"
    tip_m: SizeOrZero
    typed: Text


class TremiePulled(Event):
    kind: Literal["TremiePulled"] = "TremiePulled"
    sections: Number


class StageEnded(Event):
    kind: Literal["StageEnded"] = "StageEnded"
    outcome: Literal["good grout at surface", "left to set", "as planned", "given up"]
    remark: Text = ""


class StockDelivered(Event):
    kind: Literal["StockDelivered"] = "StockDelivered"
    bags: Annotated[int, Field(ge=0)] = 0
    water_m3: SizeOrZero = 0.0


# --- meters ----------------------------------------------------------------------------------------------------------


class Samples(Model):
    """Readings of one second: `before_s` is how long before the heartbeat each value arrived."""

    channel: Channel
    quantity: Literal["total_m3", "rate_m3_s", "density_kg_m3", "force_n", "pressure_pa"]
    before_s: tuple[Metered, ...]
    values: tuple[Metered, ...]


class Heartbeat(Event):
    """One a second while recording, with or without samples: the only clock that fold and alarms see."""

    kind: Literal["Heartbeat"] = "Heartbeat"
    samples: tuple[Samples, ...] = ()


class MeterChanged(Event):
    kind: Literal["MeterChanged"] = "MeterChanged"
    channel: Channel
    condition: MeterCondition
    why: Text = ""
    doubt: Doubt = ""
    amount: MeteredOrZero = 0.0
    """How far the count went back [m3], the share of garbage, or the readings that were left out."""


class MeterRebased(Event):
    """The totaliser went back or leapt: its new reading is a new start, and the step is not simply counted."""

    kind: Literal["MeterRebased"] = "MeterRebased"
    channel: Channel
    from_m3: Metered
    to_m3: Metered
    cause: Literal["reset", "rollover", "jump", "backward"]
    counted_m3: MeteredOrZero = 0.0
    """Known for a roll-over of a known width, else nothing."""
    offered_m3: MeteredOrZero = 0.0
    """The size of a forward leap, which waits for the operator's word."""


class GapAnswered(Event):
    """The meter moved while nobody listened; the operator says how much of that counts."""

    kind: Literal["GapAnswered"] = "GapAnswered"
    channel: Literal["grout"]
    offered_m3: Annotated[float, Field(ge=0)]
    """All that was offered together, so that it has no bound of its own."""
    counted_m3: MeteredOrZero


# --- alarms ----------------------------------------------------------------------------------------------------------


class AlarmRaised(Event):
    kind: Literal["AlarmRaised"] = "AlarmRaised"
    alarm: Text
    severity: Severity
    words: Text
    value: float
    limit: float
    measure: Text
    """Kind of quantity of value and limit, as `tally.job.view.quantity.Kind`."""
    entry: Number | None = None
    """The operator's entry that it rests on, if any."""
    other: float | None = None
    """A second value of the same kind, where one stands against another."""


class AlarmCleared(Event):
    """The cause is gone; the alarm stays on screen until it is acknowledged."""

    kind: Literal["AlarmCleared"] = "AlarmCleared"
    alarm: Text


class AlarmAcknowledged(Event):
    kind: Literal["AlarmAcknowledged"] = "AlarmAcknowledged"
    alarm: Text
    done: Text
    """What was done about it."""


OperatorEvent = (
    JointAdded | JointRemeasured | JointRejected | CentralizerFitted | CutOffMade | StickUpRead | HookLoadRead
    | FluidLevelRead | LandingChosen | CasingLanded | StageStarted | BatchMixed | BatchWeighed | VolumeAdded | ToppedUp
    | TankDipped
    | PumpStopped | PumpStarted | ReturnsSeen | GroundDrinks | TopTagged | TremieSet | TremiePulled | StageEnded
    | StockDelivered | ZoneNoted | NoteWritten | CheckConfirmed | CheckOverridden
    | ActivityBegan | WeatherNoted | CrewChanged
)  # fmt: skip
"""What an operator enters of the job: what can be voided, corrected or entered late."""


class EntryCorrected(Event):
    """Voids an entry and enters it again in its place; one line, so that no crash leaves the half of it."""

    kind: Literal["EntryCorrected"] = "EntryCorrected"
    entry: Number
    event: Annotated[OperatorEvent, Field(discriminator="kind")]
    reason: Text


class EntryInserted(Event):
    """Something that was not written down when it happened, right after another entry."""

    kind: Literal["EntryInserted"] = "EntryInserted"
    after: Number
    event: Annotated[OperatorEvent, Field(discriminator="kind")]
    reason: Text


AnyEvent = (
    SessionOpened | SessionResumed | SessionClosed | RecordDisturbed | EntriesLost | SessionMended | PlanAmended
    | CrewChanged | NoteWritten | EntryVoided
    | JointAdded | JointRemeasured | JointRejected | CentralizerFitted | CutOffMade | StickUpRead | HookLoadRead
    | FluidLevelRead | LandingChosen | CasingLanded | StageStarted | BatchMixed | BatchWeighed | VolumeAdded | ToppedUp
    | TankDipped
    | PumpStopped | PumpStarted | ReturnsSeen | GroundDrinks | TopTagged | TremieSet | TremiePulled | StageEnded
    | StockDelivered | ZoneNoted | Heartbeat | MeterChanged | MeterRebased | GapAnswered | AlarmRaised
    | AlarmCleared | AlarmAcknowledged | EntryCorrected | EntryInserted | CheckConfirmed | CheckOverridden
    | ActivityBegan | WeatherNoted
)  # fmt: skip


class Entry(Model):
    """One line of the session file."""

    number: Number
    at: AwareDatetime
    mono_s: Real
    who: Text
    event: Annotated[AnyEvent, Field(discriminator="kind")]
