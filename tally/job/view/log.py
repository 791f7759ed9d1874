"""Every entry but the heartbeats, in plain words."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime

from tally.job import events as ev
from tally.job.alarms.wording import WORDINGS
from tally.job.standing import CORRECTIONS, VOIDABLE
from tally.job.state import Kept, State
from tally.job.view import alarms as alarm_view
from tally.job.view.check_words import TITLES as CHECKS
from tally.job.view.quantity import Kind, Quantity, Sentence
from tally.job.wired import GROUT

_PLACE = re.compile(r"\{(\d+)\}")
ACTIVITIES: dict[ev.ActivityName, str] = {
    "standby": "standby",
    "repair": "repair",
    "weather": "held up by weather",
    "travel": "travel",
    "rigging": "rigging up or down",
    "job": "the job",
}
MOST_TOLD = 12
"""Joints of an order that an entry in words lists."""


@dataclass(frozen=True, slots=True)
class LogRow:
    number: int
    at: datetime
    who: str
    kind: str
    sentence: Sentence
    voided: bool
    voidable: bool
    correction: bool = False
    """It corrects an entry, which stands again once this one is voided."""


def log(state: State) -> tuple[LogRow, ...]:
    """The session's entries, oldest first."""
    return tuple(row(state, kept) for kept in state.entries)


def row(state: State, kept: Kept) -> LogRow:
    entry = kept.entry
    return LogRow(
        number=entry.number,
        at=entry.at,
        who=entry.who,
        kind=entry.event.kind,
        sentence=_told_in(state, entry.event),
        voided=entry.number in state.voided,
        voidable=isinstance(entry.event, VOIDABLE) and entry.number not in state.voided,
        correction=isinstance(entry.event, ev.EntryCorrected),
    )


def _told_in(state: State, event: ev.AnyEvent) -> Sentence:
    """Taking a correction back voids one entry and has another stand again."""
    if isinstance(event, ev.EntryVoided) and (first := restored(state, event)):
        return Sentence(f"correction {event.entry} taken back, entry {first} stands again: {{0}}", (event.reason,))
    return told(event)


def restored(state: State, event: ev.EntryVoided) -> int | None:
    """The entry that stands again where `event` voids a correction."""
    voided = next((kept.entry.event for kept in state.entries if kept.entry.number == event.entry), None)
    return voided.entry if isinstance(voided, ev.EntryCorrected) else None


def _q(kind: Kind, value: float | None) -> Quantity:
    return Quantity(value, kind)


def told(event: ev.AnyEvent) -> Sentence:
    """What happened, in words that a driller would use."""
    return _casing_words(event) or _grout_words(event) or _book_words(event)


def _casing_words(event: ev.AnyEvent) -> Sentence | None:
    match event:
        case ev.JointAdded():
            return Sentence("joint of {0} on", (_q(Kind.LENGTH, event.length_m),))
        case ev.JointRemeasured():
            return Sentence(f"joint of entry {event.joint} measured again, {{0}}", (_q(Kind.LENGTH, event.length_m),))
        case ev.JointRejected():
            return Sentence("joint of {0} rejected: {1}", (_q(Kind.LENGTH, event.length_m), event.reason or "–"))
        case ev.CentralizerFitted():
            return Sentence("centralizer fitted, {0} above the shoe", (_q(Kind.LENGTH, event.above_shoe_m),))
        case ev.CutOffMade():
            return Sentence("{0} cut off the top", (_q(Kind.LENGTH, event.length_m),))
        case ev.StickUpRead():
            return Sentence("stick-up read, {0}", (_q(Kind.LENGTH, event.stick_up_m),))
        case ev.HookLoadRead():
            return Sentence("hook load read, {0}, {1}", (_q(Kind.LOAD, event.load_n), event.motion))
        case ev.FluidLevelRead():
            return Sentence("fluid level read, {0}, {1}", (_q(Kind.DEPTH, event.depth_m), event.where))
        case ev.LandingChosen():
            return _landing_words(event)
        case ev.CasingLanded():
            return Sentence("casing landed on rock" if event.on == "rock" else "casing hung at depth")
    return None


def activity_words(event: ev.ActivityBegan) -> str:
    return "back to the job" if event.activity == "job" else ACTIVITIES[event.activity]


def _landing_words(event: ev.LandingChosen) -> Sentence:
    count, told = len(event.order_m), event.order_m[:MOST_TOLD]
    if not count:
        return Sentence("landing planned: no further joint")
    places = ", ".join(f"{{{place}}}" for place in range(len(told)))
    more = f" and {count - len(told)} more" if count > len(told) else ""
    joints = "joint" if count == 1 else "joints"
    words = f"landing planned with {count} {joints}: {places}{more}"
    return Sentence(words, tuple(_q(Kind.LENGTH, length_m) for length_m in told))


def _added_words(event: ev.VolumeAdded) -> Sentence:
    volume = _q(Kind.VOLUME, event.volume_m3)
    if event.strokes is None or event.stroke_m3 is None or event.efficiency_share is None:
        return Sentence("{0} pumped that no meter counted", (volume,))
    of = _q(Kind.VOLUME, event.stroke_m3), _q(Kind.SHARE, event.efficiency_share)
    return Sentence(f"{{0}} pumped that no meter counted: {event.strokes} strokes of {{1}} at {{2}}", (volume, *of))


def _grout_words(event: ev.AnyEvent) -> Sentence | None:
    match event:
        case ev.CheckConfirmed():
            return Sentence(f"checked: {CHECKS[event.check]}")
        case ev.CheckOverridden():
            return Sentence(f"not done before the first batch: {CHECKS[event.check]}; because {{0}}", (event.reason,))
        case ev.StageStarted():
            against = "; against the working time, because {2}" if event.against else ""
            return Sentence(
                f"stage {event.stage + 1} of the plan begun, {{0}} up to {{1}}{against}",
                (_q(Kind.DEPTH, event.bottom_m), _q(Kind.DEPTH, event.top_m), event.against),
            )
        case ev.BatchMixed():
            return Sentence(f"batch mixed, {event.bags} bags with {{0}} of water", (_q(Kind.VOLUME, event.water_m3),))
        case ev.BatchWeighed():
            return Sentence("batch weighed, {0}", (_q(Kind.DENSITY, event.density_kg_m3),))
        case ev.TankDipped():
            return Sentence(
                "tank dipped at {0}: {1} in it", (_q(Kind.LENGTH, event.dip_m), _q(Kind.VOLUME, event.volume_m3))
            )
        case ev.VolumeAdded():
            return _added_words(event)
        case ev.ToppedUp():
            return Sentence("topped up with {0}", (_q(Kind.VOLUME, event.volume_m3),))
        case ev.PumpStopped():
            return Sentence("pump stopped: {0}", (event.reason,)) if event.reason else Sentence("pump stopped")
        case ev.PumpStarted():
            return Sentence("pump started")
        case ev.ReturnsSeen():
            return _returns_words(event)
        case ev.GroundDrinks():
            return Sentence(f"displaced water {'goes into the ground' if event.drinks else 'comes to surface'}")
        case ev.TopTagged():
            where = ", grout lost below" if event.lost else ""
            return Sentence("top tagged at {0}" + where, (_q(Kind.DEPTH, event.depth_m),))
        case ev.ZoneNoted():
            place = _q(Kind.DEPTH, event.top_m), _q(Kind.DEPTH, event.bottom_m)
            return Sentence(f"{event.of} noted, {{0}} to {{1}}" + (": {2}" if event.note else ""), (*place, event.note))
        case ev.TremieSet():
            return Sentence("tremie's end at {0}", (_q(Kind.DEPTH, event.tip_m),))
        case ev.TremiePulled():
            return Sentence(f"{event.sections} tremie section{'s' if event.sections > 1 else ''} pulled")
        case ev.StageEnded():
            return Sentence("stage ended: {0}" + ("; {1}" if event.remark else ""), (event.outcome, event.remark))
        case ev.StockDelivered():
            return Sentence(f"delivered, {event.bags} bags and {{0}} of water", (_q(Kind.VOLUME, event.water_m3),))
    return None


def _returns_words(event: ev.ReturnsSeen) -> Sentence:
    if event.strength == "none":
        return Sentence("returns: none")
    weighed = ", {0}" if event.density_kg_m3 is not None else ""
    return Sentence(f"returns: {event.strength}, {event.fluid}{weighed}", (_q(Kind.DENSITY, event.density_kg_m3),))


def _book_words(event: ev.AnyEvent) -> Sentence:
    match event:
        case ev.SessionOpened():
            return Sentence("session opened by tally {0}", (event.program,))
        case ev.SessionResumed():
            torn = f"; an unfinished line of {event.torn_bytes} bytes was set aside" if event.torn_bytes else ""
            return Sentence("session resumed by tally {0}" + torn, (event.program,))
        case ev.RecordDisturbed() | ev.EntriesLost() | ev.SessionMended():
            return _record_words(event)
        case ev.SessionClosed():
            return Sentence("session signed off" + (": {0}" if event.remark else ""), (event.remark,))
        case ev.PlanAmended():
            return Sentence("plan amended: {0}", (event.reason,))
        case ev.CrewChanged():
            return Sentence(
                "{0} records from now on" + (", with {1}" if event.helper else ""), (event.driller, event.helper)
            )
        case ev.ActivityBegan():
            return Sentence(f"{activity_words(event)} from now" + (": {0}" if event.note else ""), (event.note,))
        case ev.WeatherNoted():
            return Sentence("weather: {0}", (event.text,))
        case ev.NoteWritten():
            return Sentence("note: {0}", (event.text,))
        case ev.EntryVoided():
            return Sentence(f"entry {event.entry} voided: {{0}}", (event.reason,))
        case ev.EntryCorrected() | ev.EntryInserted():
            said = corrected(event)
            return Sentence(f"{said.text}; why: {{{len(said.values)}}}", (*said.values, event.reason))
        case ev.MeterChanged():
            return Sentence(
                f"{{1}} {event.condition.lower()}{f', {event.doubt}' if event.doubt else ''}: {{0}}",
                (event.why or "–", _instrument(event.channel)),
            )
        case ev.MeterRebased():
            return Sentence(
                f"{{2}} {event.cause}: from {{0}} to {{1}}",
                (_q(Kind.VOLUME, event.from_m3), _q(Kind.VOLUME, event.to_m3), _instrument(event.channel)),
            )
        case ev.GapAnswered():
            return Sentence(
                "{0} moved unseen, {1} of it counted",
                (_q(Kind.VOLUME, event.offered_m3), _q(Kind.VOLUME, event.counted_m3)),
            )
        case ev.AlarmRaised():
            said = alarm_view.sentence(event.alarm, event.value, event.limit, event.measure, event.other)
            return Sentence("ALARM {3}: " + said.text, (*said.values, event.words))
        case ev.AlarmCleared():
            return Sentence("cause gone: {0}", (_title(event.alarm),))
        case ev.AlarmAcknowledged():
            return Sentence("answered {0}: {1}", (_title(event.alarm), event.done))
    return Sentence(event.kind)


def _record_words(event: ev.RecordDisturbed | ev.EntriesLost | ev.SessionMended) -> Sentence:
    match event:
        case ev.EntriesLost():
            return Sentence(f"what stood here, up to entry {event.through}, was damaged and could not be read")
        case ev.SessionMended():
            words = (
                f"session mended by {{0}} from {{1}}, {event.lost} entries lost:"
                " {2} set aside in {3}; its digest was {4}"
            )
            return Sentence(words, (event.by or "–", event.damaged, event.lines, event.aside, event.digest))
    took = _q(Kind.DURATION, abs(event.seconds))
    why = ": {1}" if event.why else ""
    match event.what:
        case "clock jumped":
            return Sentence(f"the wall clock jumped {'ahead' if event.seconds > 0 else 'back'} by {{0}}", (took,))
        case "slow disk":
            return Sentence("saving took {0}", (took,))
        case "not written":
            return Sentence("nothing could be saved for {0}" + why, (took, event.why))
    return Sentence(f"the session's {event.what} while it was recorded")


def _instrument(channel: str) -> str:
    return "grout meter" if channel == GROUT else channel


def corrected(event: ev.EntryCorrected | ev.EntryInserted, before: ev.AnyEvent | None = None) -> Sentence:
    """What a correction makes of the record; `before` is what stood there, where that is to be said too."""
    after = told(event.event)
    if isinstance(event, ev.EntryInserted):
        return Sentence(f"entered late, after entry {event.after}: {after.text}", after.values)
    if before is None:
        return Sentence(f"entry {event.entry} corrected to: {after.text}", after.values)
    was = told(before.event if isinstance(before, CORRECTIONS) else before)
    moved = _PLACE.sub(lambda match: f"{{{int(match[1]) + len(was.values)}}}", after.text)
    words = f"entry {event.entry} voided: {was.text}; entered again: {moved}"
    return Sentence(words, (*was.values, *after.values))


def _title(alarm: str) -> str:
    known = WORDINGS.get(alarm)
    return known.title if known else alarm
