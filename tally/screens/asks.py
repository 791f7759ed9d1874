"""What each key asks for. Knows nothing of Textual."""

from __future__ import annotations

from dataclasses import replace

from tally import formats
from tally.formats import Units
from tally.job import intents as want
from tally.job import lengths
from tally.job.events import ActivityName
from tally.job.hole import ZONE_SPREADS, ZoneKind
from tally.job.intents import Intent
from tally.job.state import State
from tally.job.view.coming import centralizer_due
from tally.job.view.landing import proposed
from tally.job.view.log import LogRow, log
from tally.job.view.quantity import Kind, Quantity
from tally.screens.question import Ask, Pick, Question, Show, Unreadable, Work, answered

LONGEST_TOLD = 30


JOINT = Ask("joint length", Kind.LENGTH, lambda value, typed, _: want.AddJoint(length_m=value, typed=typed))
LOST = "grout lost below"
BATCH = Ask(
    "bags in this batch", Kind.COUNT, lambda value, typed, _: want.MixBatch(bags=int(value), typed=typed), whole=True
)
NOTE = Ask("note", None, lambda _, typed, __: want.WriteNote(text=typed))

STOPS = (
    "mixing the next batch",
    "tagging",
    "waiting for water or bags",
    "line or pump trouble",
    "loss of returns",
)
PUMP_STOPPED = Pick(
    "Pump stopped",
    (
        *((reason, want.StopPump(reason)) for reason in STOPS),
        ("another reason: type it", Ask("why the pump stopped", None, lambda _, text, __: want.StopPump(text))),
    ),
)


def _activity(activity: ActivityName, label: str, offered: str) -> Ask:
    return Ask(label, None, lambda _, text, __: want.BeginActivity(activity, text), given=offered)


def _crew(_: float, text: str, __: str) -> Intent:
    driller, _comma, helper = text.partition(",")
    return want.ChangeCrew(driller.strip(), helper.strip())


CREW = Ask("who records now, comma, helper", None, _crew)
WEATHER = Ask("weather, such as: rain, wind, 12 C", None, lambda _, text, __: want.NoteWeather(text))

VOLUME = Ask(
    "pumped, not counted by a meter",
    Kind.VOLUME,
    lambda value, typed, _: want.AddVolume(volume_m3=value, typed=typed),
    strokes=lambda count, typed: want.AddStrokes(strokes=count, typed=typed),
)

ACTIVITIES: tuple[tuple[str, Intent | Ask], ...] = (
    ("standby: waiting for others", _activity("standby", "standby, for what", "waiting for others")),
    ("repair", _activity("repair", "repair, of what", "rig")),
    ("weather: held up by it", _activity("weather", "held up by", "rain")),
    ("travel", want.BeginActivity("travel")),
    ("rigging up or down", want.BeginActivity("rigging")),
    ("the job again", want.BeginActivity("job")),
)

_SIMPLE: dict[str, Question] = {
    "note": NOTE,
    "hook-load": Ask(
        "hook load",
        Kind.LOAD,
        lambda value, typed, motion: want.ReadHookLoad(load_n=value, typed=typed, motion=motion),  # type: ignore[arg-type]
        toggles=("still", "lowering", "picking up"),
    ),
    "stick-up": Ask("stick-up", Kind.LENGTH, lambda value, typed, _: want.ReadStickUp(stick_up_m=value, typed=typed)),
    "fluid": Ask(
        "depth to water",
        Kind.DEPTH,
        lambda value, typed, where: want.ReadFluidLevel(where=where, depth_m=value, typed=typed),  # type: ignore[arg-type]
        toggles=("hole", "inside casing"),
    ),
    "reject": Ask(
        "length of the rejected joint",
        Kind.LENGTH,
        lambda value, typed, _: want.RejectJoint(length_m=value, typed=typed),
    ),
    "cut-off": Ask("length cut off", Kind.LENGTH, lambda value, typed, _: want.CutOff(length_m=value, typed=typed)),
    "activity": Pick("The crew is at …", ACTIVITIES),
    "crew": CREW,
    "weather": WEATHER,
    "times": Pick(
        "From now on the crew is at …",
        (
            *ACTIVITIES,
            ("somebody else records: name", CREW),
            ("weather and air temperature, for the report", WEATHER),
            ("nothing new: show the times so far", Show("times")),
        ),
    ),
    "land": Pick(
        "Casing landed",
        (
            ("on rock: part of its weight stands there", want.LandCasing("rock")),
            ("hung at depth", want.LandCasing("hung")),
        ),
    ),
    "weigh": Ask(
        "density of the last batch",
        Kind.DENSITY,
        lambda value, typed, _: want.WeighBatch(density_kg_m3=value, typed=typed),
    ),
    "returns": Pick(
        "Returns at surface",
        (
            ("none", want.SeeReturns("none")),
            ("weak, water", want.SeeReturns("weak", "water")),
            ("full flow, water", want.SeeReturns("full", "water")),
            ("weak, mixed", want.SeeReturns("weak", "mixed")),
            ("full flow, mixed", want.SeeReturns("full", "mixed")),
            ("weak, grout", want.SeeReturns("weak", "grout")),
            ("full flow, grout at full strength", want.SeeReturns("full", "grout")),
        ),
    ),
    "surface-density": Ask(
        "density of the returns (grout)",
        Kind.DENSITY,
        lambda value, _, __: want.SeeReturns("full", "grout", density_kg_m3=value),
    ),
    "dip": Ask(
        "dip of the tank, as the plan says it is read",
        Kind.LENGTH,
        lambda value, typed, _: want.DipTank(dip_m=value, typed=typed),
    ),
    "top-up": Ask(
        "poured in from the top", Kind.VOLUME, lambda value, typed, _: want.TopUp(volume_m3=value, typed=typed)
    ),
    "tag": Ask(
        "top tagged at",
        Kind.DEPTH,
        lambda value, typed, lost: want.TagTop(depth_m=value, typed=typed, lost=lost == LOST),
        toggles=("rising", LOST),
    ),
    "tremie-tip": Ask("depth of the tremie's end", Kind.DEPTH, lambda value, typed, _: want.SetTremie(value, typed)),
    "pull": Ask(
        "tremie sections pulled", Kind.COUNT, lambda value, _, __: want.PullTremie(sections=int(value)), whole=True
    ),
    "drinks": Pick(
        "Where does the displaced water go?",
        (
            ("up: it comes to surface", want.SetGroundDrinks(False)),
            ("into the ground: only grout will come", want.SetGroundDrinks(True)),
        ),
    ),
    "delivery": Ask("bags delivered", Kind.COUNT, lambda value, _, __: want.TakeDelivery(bags=int(value)), whole=True),
    "finish": Pick(
        "End the stage",
        (
            ("good grout at surface", want.EndStage("good grout at surface")),
            ("at its planned top", want.EndStage("as planned")),
            ("left to set: go on later from the tagged top", want.EndStage("left to set")),
            ("given up", want.EndStage("given up")),
        ),
    ),
}


def question(action: str, state: State, shown: Units) -> Question | Intent | str:
    """What `action` asks for now, the intent itself where nothing is to be asked, or why there is nothing to do."""
    if action in _SIMPLE:
        return _from_where(_SIMPLE[action], state, shown)
    if action == "zone":
        return _zone(shown)
    match action:
        case "joint":
            return JOINT
        case "batch":
            return BATCH
        case "volume":
            return _volume(state)
        case "remeasure":
            return _remeasure(state, shown)
        case "centralizer":
            return _centralizer(state, shown)
        case "stage":
            return want.StartStage()
        case "pump":
            return _pump(state)
        case "gap":
            return _gap(state, shown)
        case "undo":
            return _undo(state, shown)
        case "landing":
            return _landing(state, shown)
    return f"nothing is tied to {action}"


def against(intent: want.StartStage) -> Ask:
    """Why a stage is begun against the working time; Enter takes what is offered."""
    return Ask(
        "begin all the same, why",
        None,
        lambda _, text, __: replace(intent, against=text),
        given="pumping faster than that",
    )


def _zone(shown: Units) -> Pick:
    return Pick("What was found?", tuple((kind, _zone_of(kind, shown)) for kind in ZONE_SPREADS))


def _zone_of(kind: ZoneKind, shown: Units) -> Ask:
    """Its two depths in one line."""
    depth = Ask(f"{kind}, each depth", Kind.DEPTH, lambda value, typed, _: want.SetTremie(value, typed))

    def make(_: float, text: str, __: str) -> Intent:
        upper, between, lower = text.partition(" to ")
        if not between:
            raise Unreadable(f"{kind}: given {formats.plain(text)[:40]!r}; two depths such as 31 to 33 are accepted")
        found = [answered(depth, part, "", shown) for part in (upper, lower)]
        top_m, bottom_m = (each.tip_m for each in found if isinstance(each, want.SetTremie))
        return want.NoteZone(kind, top_m, bottom_m, text)

    return Ask(f"{kind} from, to ({formats.unit(Kind.DEPTH, shown)})", None, make)


def _from_where(question: Question, state: State, shown: Units) -> Question:
    """A depth is measured from the plan's table or flange, where it has one, and the label says so."""
    height_m = state.plan.casing.measured_from_m
    if not height_m or not isinstance(question, Ask) or question.kind is not Kind.DEPTH:
        return question
    height = formats.text(Quantity(height_m, Kind.LENGTH), shown)
    return replace(question, label=f"{question.label}, from {height} above ground")


def _remeasure(state: State, shown: Units) -> Ask | str:
    """The joint's place and its length in one line; the last joint stands there already."""
    count = len(state.string.joints)
    if not count:
        return "no joint is in the hole yet"
    length = Ask("joint length", Kind.LENGTH, lambda value, typed, _: want.AddJoint(length_m=value, typed=typed))

    def make(_: float, text: str, __: str) -> Intent:
        place, _gap, taped = text.partition(" ")
        if not place.isdecimal() or len(place) > 4:
            raise Unreadable(
                f"measured again: given {formats.plain(text)[:40]!r}; a joint, counted from the shoe, and its length"
                f" are accepted, such as {count} 6.05 m"
            )
        found = answered(length, taped, "", shown)
        assert isinstance(found, want.AddJoint)
        return want.RemeasureJoint(place=int(place), length_m=found.length_m, typed=found.typed)

    return Ask(f"measured again: joint (1 to {count}) and length", None, make, given=f"{count} ")


def _volume(state: State) -> Ask:
    """Strokes are offered where the plan says what one of them is; elsewhere the refusal says what is missing."""
    pump = state.plan.pump
    return (
        VOLUME if pump is None or pump.stroke_m3 is None else replace(VOLUME, label="not metered: volume, or strokes")
    )


def _centralizer(state: State, shown: Units) -> Ask | str:
    """Its height; the planned one stands there where one is due, else the top of the last joint."""
    if not state.string.joints:
        return "no joint is in the hole yet; a centralizer goes on a joint"
    due = centralizer_due(state)
    planned = due.height if due is not None and due.now else None
    height = planned or Quantity(lengths.length_m(state.plan, state.string), Kind.LENGTH)
    offered = formats.text(height, shown)

    def make(value: float, typed: str, _: str) -> Intent:
        # Taken as offered, it is the height itself, not what is left of it after rounding.
        return want.FitCentralizer((planned.si if planned else None) if typed == offered else value)

    return Ask("centralizer, above the shoe", Kind.LENGTH, make, given=offered)


def _pump(state: State) -> Question | Intent:
    return PUMP_STOPPED if state.grout.pump_stop is None else want.StartPump()


def _gap(state: State, shown: Units) -> Question | str:
    offered_m3 = state.flow.offered_m3
    if offered_m3 <= 0:
        return "the meter offers no unseen volume"
    part = Ask("how much of it counts", Kind.VOLUME, lambda value, _, __: want.AnswerGap(value))
    amount = formats.text(Quantity(offered_m3, Kind.VOLUME), shown)
    return Pick(
        f"The meter moved by {amount} unseen",
        (
            ("it was grout pumped into this hole: count it", want.AnswerGap(offered_m3)),
            ("it was not: leave it out", want.AnswerGap(0.0)),
            ("count a part: type it", part),
        ),
    )


def _landing(state: State, shown: Units) -> Work:
    def work() -> Intent | str:
        order_m, findings = proposed(state)
        if order_m is not None:
            return want.ChooseLanding(order_m=order_m)
        said = findings[0].written(lambda quantity: formats.text(quantity, shown))
        return f"no landing to plan: {said}"

    return Work("planning the landing", work)


def _undo(state: State, shown: Units) -> Ask | str:
    last = next((row for row in reversed(log(state)) if row.voidable), None)
    if last is None:
        return "there is no entry to void"
    return void(last, shown)


def void(row: LogRow, shown: Units) -> Ask:
    """Asks for the reason to void the entry of `row`."""
    told = formats.plain(row.sentence.written(lambda quantity: formats.text(quantity, shown)))
    does = "take back" if row.correction else "void"
    return Ask(
        f"{does} {row.number} ({told if len(told) <= LONGEST_TOLD else told[: LONGEST_TOLD - 1] + '…'}), why",
        None,
        lambda _, text, __: want.Void(row.number, text),
        given="entered by mistake",
    )
