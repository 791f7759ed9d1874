"""What the log asks to enter an entry again, or one that was missed: its own question, then the reason."""

from __future__ import annotations

from dataclasses import replace

from tally import formats
from tally.formats import Units
from tally.job import events as ev
from tally.job import fold
from tally.job import intents as want
from tally.job.intents import Intent
from tally.job.standing import OPERATORS, found, standing
from tally.job.state import State
from tally.job.view.quantity import Kind, Quantity
from tally.screens import asks
from tally.screens.question import Ask, Pick, Question, Show

MISREAD, MISSED = "read or typed wrong", "not written down when it went on"
ACTIONS: dict[type[ev.Event], str] = {
    ev.JointAdded: "joint",
    ev.JointRemeasured: "remeasure",
    ev.JointRejected: "reject",
    ev.CentralizerFitted: "centralizer",
    ev.CutOffMade: "cut-off",
    ev.StickUpRead: "stick-up",
    ev.HookLoadRead: "hook-load",
    ev.FluidLevelRead: "fluid",
    ev.CasingLanded: "land",
    ev.BatchMixed: "batch",
    ev.BatchWeighed: "weigh",
    ev.VolumeAdded: "volume",
    ev.ToppedUp: "top-up",
    ev.ReturnsSeen: "returns",
    ev.GroundDrinks: "drinks",
    ev.TopTagged: "tag",
    ev.ZoneNoted: "zone",
    ev.TremieSet: "tremie-tip",
    ev.TremiePulled: "pull",
    ev.StageEnded: "finish",
    ev.StockDelivered: "delivery",
    ev.NoteWritten: "note",
    ev.ActivityBegan: "activity",
    ev.CrewChanged: "crew",
    ev.WeatherNoted: "weather",
}
"""The question that an entry answered. One that is not here says nothing that could be said otherwise."""


def again(number: int, state: State, shown: Units) -> Ask | Pick | str:
    """Asks for entry `number` as it should have been, what was entered standing there already; or why it does not."""
    kept = found(state, number)
    if kept is None or not isinstance(kept.entry.event, OPERATORS):
        voided = number in state.voided
        return f"entry {number} {'is voided' if voided else 'was not made by the crew: correct what led to it'}"
    event = kept.entry.event
    if isinstance(event, ev.PumpStopped):
        return _reasoned(asks.PUMP_STOPPED, number, event)
    action = ACTIONS.get(type(event))
    if action is None:
        return f"entry {number} says nothing that could be corrected; v voids it"
    if isinstance(event, ev.ReturnsSeen) and event.density_kg_m3 is not None:
        action = "surface-density"
    question = asks.question(action, fold.refolded(state, before=number), shown)
    if isinstance(question, Pick) and isinstance(event, ev.ActivityBegan):
        question = _noted(question, event)
    if isinstance(question, Ask):
        given, toggle = _was(event, state, shown)
        others = [each for each in question.toggles if each != toggle]
        toggles = (toggle, *others) if toggle in question.toggles else question.toggles
        question = replace(question, label=f"entry {number}, {question.label}", given=given, toggles=toggles)
    return _reasoned(question, number, event) if isinstance(question, Ask | Pick) else f"entry {number}: {question}"


def missed(number: int, state: State) -> Ask | str:
    """Asks for a joint that went on before what entry `number` tells of."""
    before = None
    for kept in standing(state):
        if kept.entry.number == number:
            break
        before = kept.entry.number
    else:
        return f"entry {number} is voided; choose one that stands"
    if before is None:
        return "nothing goes before the opening of the session"
    after = before

    def reason(by: Intent) -> Ask:
        return Ask("joint missed, why", None, lambda _, text, __: want.InsertEntry(after, by, text), given=MISSED)

    return replace(asks.JOINT, label=f"joint missed before entry {number}, length", then=reason)


def _noted(pick: Pick, event: ev.ActivityBegan) -> Pick:
    """The same activity offers what was said of it."""

    def option(following: Intent | Ask | Show) -> Intent | Ask | Show:
        if isinstance(following, Ask) and following.make(0.0, "", "") == want.BeginActivity(event.activity):
            return replace(following, given=formats.plain(event.note) or following.given)
        return following

    return replace(pick, options=tuple((label, option(following)) for label, following in pick.options))


def _reasoned(question: Question, number: int, event: ev.OperatorEvent) -> Ask | Pick:
    """The question with the one for the reason behind it."""

    def reason(by: Intent) -> Ask:
        by = _carried(by, event)
        label = f"correct entry {number}, why"
        return Ask(label, None, lambda _, text, __: want.CorrectEntry(number, by, text), given=MISREAD)

    if isinstance(question, Ask):
        return replace(question, then=reason)
    assert isinstance(question, Pick)
    options: list[tuple[str, Intent | Ask]] = []
    for label, option in question.options:
        if isinstance(option, Intent):
            options.append((label, reason(option)))
        elif isinstance(option, Ask):
            asked = _reasoned(option, number, event)
            assert isinstance(asked, Ask)
            options.append((label, asked))
    return Pick(f"Entry {number}: {question.title}", tuple(options))


def _carried(by: Intent, event: ev.OperatorEvent) -> Intent:
    """What the question does not ask for stays as it was."""
    match by, event:
        case want.RejectJoint(), ev.JointRejected():
            return replace(by, reason=event.reason)
        case want.EndStage(), ev.StageEnded():
            return replace(by, remark=event.remark)
        case want.TakeDelivery(), ev.StockDelivered():
            return replace(by, water_m3=event.water_m3)
    return by


def _was(event: ev.OperatorEvent, state: State, shown: Units) -> tuple[str, str]:
    """What was entered, as it would be typed again, and the position of its switch."""
    match event:
        case ev.JointRemeasured():
            place = next((at for at, joint in enumerate(state.string.joints, 1) if joint.number == event.joint), 0)
            return f"{place or ''} {event.typed}".lstrip(), ""
        case ev.CentralizerFitted():
            return formats.text(Quantity(event.above_shoe_m, Kind.LENGTH), shown), ""
        case ev.HookLoadRead():
            return event.typed, event.motion
        case ev.FluidLevelRead():
            return event.typed, event.where
        case ev.TopTagged():
            return event.typed, asks.LOST if event.lost else ""
        case ev.BatchMixed() | ev.StockDelivered():
            return str(event.bags), ""
        case ev.TremiePulled():
            return str(event.sections), ""
        case ev.NoteWritten() | ev.WeatherNoted():
            return formats.plain(event.text), ""
        case ev.CrewChanged():
            return formats.plain(", ".join(filter(None, (event.driller, event.helper)))), ""
        case ev.ReturnsSeen():
            return formats.text(Quantity(event.density_kg_m3, Kind.DENSITY), shown), ""
    typed = getattr(event, "typed", "")
    return formats.plain(typed) if isinstance(typed, str) else "", ""
