"""What the operator can ask for, in SI. `typed` is the text as it was entered, kept beside the value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from tally.job.events import ActivityName, CheckName, Fluid, Motion, Strength
from tally.job.hole import ZoneKind
from tally.job.plan import Plan


@dataclass(frozen=True, slots=True)
class Intent:
    """Base of all intents."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Insistable(Intent):
    """An intent that may be refused once with a question; `sure` says that the question was answered with yes."""

    sure: bool = False


@dataclass(frozen=True, slots=True)
class AddJoint(Insistable):
    length_m: float
    typed: str


@dataclass(frozen=True, slots=True)
class RemeasureJoint(Insistable):
    place: int
    """Of the joint in the string, from the shoe, from 1."""
    length_m: float
    typed: str


@dataclass(frozen=True, slots=True)
class RejectJoint(Intent):
    length_m: float
    typed: str
    reason: str = ""


@dataclass(frozen=True, slots=True)
class FitCentralizer(Intent):
    above_shoe_m: float | None = None
    """None: at the top of the joint that went on last."""


@dataclass(frozen=True, slots=True)
class CutOff(Intent):
    length_m: float
    typed: str


@dataclass(frozen=True, slots=True)
class ReadStickUp(Intent):
    stick_up_m: float
    typed: str


@dataclass(frozen=True, slots=True)
class ReadHookLoad(Intent):
    load_n: float
    typed: str
    motion: Motion = "still"


@dataclass(frozen=True, slots=True)
class ReadFluidLevel(Intent):
    where: Literal["hole", "inside casing"]
    depth_m: float
    typed: str


@dataclass(frozen=True, slots=True)
class ChooseLanding(Insistable):
    """These joints from now on, in this order."""

    order_m: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class LandCasing(Insistable):
    on: Literal["rock", "hung"]


@dataclass(frozen=True, slots=True)
class ConfirmCheck(Intent):
    check: CheckName


@dataclass(frozen=True, slots=True)
class OverrideCheck(Intent):
    check: CheckName
    reason: str


@dataclass(frozen=True, slots=True)
class StartStage(Insistable):
    """The next stage of the plan, or what is left of one that was left to set."""

    against: str = ""
    """Why it is begun although the high volume takes longer than the mix works."""


@dataclass(frozen=True, slots=True)
class MixBatch(Insistable):
    bags: int
    typed: str
    water_m3: float | None = None
    """None: by the recipe."""


@dataclass(frozen=True, slots=True)
class WeighBatch(Intent):
    density_kg_m3: float
    typed: str


@dataclass(frozen=True, slots=True)
class DipTank(Intent):
    """A dip of the tank; two of them in a row give what was drawn in between."""

    dip_m: float
    typed: str


@dataclass(frozen=True, slots=True)
class AddVolume(Insistable):
    volume_m3: float
    typed: str


@dataclass(frozen=True, slots=True)
class AddStrokes(Insistable):
    """Strokes of the pump that somebody counted; what one delivers, the plan says."""

    strokes: int
    typed: str


@dataclass(frozen=True, slots=True)
class TopUp(Intent):
    volume_m3: float
    typed: str


@dataclass(frozen=True, slots=True)
class StopPump(Intent):
    reason: str = ""


@dataclass(frozen=True, slots=True)
class StartPump(Intent):
    """After a stop that was entered."""


@dataclass(frozen=True, slots=True)
class SeeReturns(Intent):
    strength: Strength
    fluid: Fluid = "water"
    density_kg_m3: float | None = None


@dataclass(frozen=True, slots=True)
class SetGroundDrinks(Intent):
    drinks: bool


@dataclass(frozen=True, slots=True)
class TagTop(Intent):
    depth_m: float
    typed: str
    lost: bool = False


@dataclass(frozen=True, slots=True)
class NoteZone(Intent):
    kind: ZoneKind
    top_m: float
    bottom_m: float
    typed: str


@dataclass(frozen=True, slots=True)
class SetTremie(Intent):
    tip_m: float
    typed: str


@dataclass(frozen=True, slots=True)
class PullTremie(Insistable):
    sections: int


@dataclass(frozen=True, slots=True)
class EndStage(Insistable):
    outcome: Literal["good grout at surface", "left to set", "as planned", "given up"]
    remark: str = ""


@dataclass(frozen=True, slots=True)
class TakeDelivery(Intent):
    bags: int = 0
    water_m3: float = 0.0


@dataclass(frozen=True, slots=True)
class AnswerGap(Intent):
    counted_m3: float


@dataclass(frozen=True, slots=True)
class WriteNote(Intent):
    text: str


@dataclass(frozen=True, slots=True)
class ChangeCrew(Intent):
    driller: str
    helper: str = ""


@dataclass(frozen=True, slots=True)
class BeginActivity(Intent):
    activity: ActivityName
    note: str = ""


@dataclass(frozen=True, slots=True)
class NoteWeather(Intent):
    text: str
    """A temperature with its unit in it, such as 12 C or 54 F, is kept as a number beside the text."""


@dataclass(frozen=True, slots=True)
class Void(Intent):
    entry: int
    reason: str


@dataclass(frozen=True, slots=True)
class CorrectEntry(Insistable):
    """Void an entry and enter it again as `by` says: both or neither."""

    entry: int
    by: Intent
    reason: str


@dataclass(frozen=True, slots=True)
class InsertEntry(Insistable):
    """Enter what was forgotten, right after another entry."""

    after: int
    by: Intent
    reason: str


@dataclass(frozen=True, slots=True)
class AmendPlan(Intent):
    plan: Plan
    reason: str


@dataclass(frozen=True, slots=True)
class AcknowledgeAlarm(Intent):
    alarm: str
    done: str


@dataclass(frozen=True, slots=True)
class CloseSession(Insistable):
    remark: str = ""
