"""The one reducer: total, and a voided entry is as if it had never been."""

import math
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tally.job import events as ev
from tally.job import intents as want
from tally.job import lengths, loads
from tally.job.alarms.due import conditions, due
from tally.job.events import Entry
from tally.job.fold import VOIDABLE, NotAnOpening, apply, folded, opened
from tests.job.happenings import KINDS, PLANS, events
from tests.scenario import START, Day, grouting_day, plan

OFTEN = settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow])


def entries_of(happened: list[Any], plan_: Any = None, steps_s: list[float] | None = None) -> list[Entry]:
    """The events as entries a second apart (or as `steps_s` say), after an opening."""
    opening = ev.SessionOpened(plan=plan_ or plan(), program="test", calculation=1, boot="b")
    made = [Entry(number=1, at=START, mono_s=0.0, who="A", event=opening)]
    at, mono_s = START, 0.0
    for place, event in enumerate(happened):
        step_s = steps_s[place % len(steps_s)] if steps_s else 1.0
        at, mono_s = at + timedelta(seconds=step_s), mono_s + step_s
        made.append(Entry(number=place + 2, at=at, mono_s=mono_s, who="A", event=event))
    return made


# --- totality --------------------------------------------------------------------------------------------------------


@OFTEN
@given(
    st.lists(events(), max_size=25),
    st.sampled_from(PLANS),
    st.lists(st.sampled_from([0.0, 1.0, 30.0, 4_000.0, -5.0, 1e9]), min_size=1, max_size=5),
)
def test_nothing_that_the_file_accepts_is_ever_refused(happened: list[Any], plan_: Any, steps_s: list[float]) -> None:
    state = None
    elapsed_s = volume_m3 = 0.0
    for entry in entries_of(happened, plan_, steps_s):
        state = opened(entry) if state is None else apply(state, entry)
        assert state.elapsed_s >= elapsed_s and state.flow.metered_m3 >= volume_m3
        elapsed_s, volume_m3 = state.elapsed_s, state.flow.metered_m3
        for condition in conditions(state):
            assert math.isfinite(condition.value) and math.isfinite(condition.limit)
        due(state)
        assert lengths.length_m(state.plan, state.string) >= 0
        assert math.isfinite(loads.expected_n(state.plan, state.string) or 0.0)


def test_a_session_begins_with_its_opening() -> None:
    with pytest.raises(NotAnOpening, match="no entry"):
        folded([])
    with pytest.raises(NotAnOpening, match="JointAdded"):
        folded([Day().entry(ev.JointAdded(length_m=5.0, typed=""))])


def test_entries_that_make_no_sense_where_they_stand_change_nothing_but_the_log() -> None:
    day = Day()
    day.record(ev.BatchWeighed(density_kg_m3=1_870.0, typed=""))
    day.tag(10.0)
    day.returns("full", "grout")
    day.volume(0.3)
    day.end()
    day.record(ev.TremiePulled(sections=3))
    day.record(ev.GapAnswered(channel="grout", offered_m3=1.0, counted_m3=0.0))
    assert day.state.grout == Day().state.grout and day.state.flow == Day().state.flow
    assert len(day.state.entries) == 8


# --- voids -----------------------------------------------------------------------------------------------------------


@OFTEN
@given(st.data())
def test_a_voided_entry_is_as_if_it_had_never_been(data: st.DataObject) -> None:
    beats = ev.Heartbeat, ev.MeterRebased, ev.MeterChanged, ev.GapAnswered
    by_number = ev.EntryVoided, ev.EntryCorrected, ev.EntryInserted
    happened = data.draw(st.lists(events(*by_number, *beats), min_size=1, max_size=15))
    total_m3, mixed = 0.0, []
    for event in happened:
        mixed.append(event)
        total_m3 += data.draw(st.sampled_from([0.0, 0.05]))
        samples = ev.Samples(channel="grout", quantity="total_m3", before_s=(0.0,), values=(total_m3,))
        mixed.append(ev.Heartbeat(samples=(samples,)))
    entries = entries_of(mixed)
    number = data.draw(st.sampled_from([entry.number for entry in entries]))
    void = ev.EntryVoided(entry=number, reason="wrong")
    voiding = replace_event(entries[-1], void, number=len(entries) + 1)
    later = [replace_event(voiding, event, number=voiding.number + 1 + n) for n, event in enumerate(happened[:5])]

    with_void = folded([*entries, voiding, *later])
    never = [e for e in entries if e.number != number or not isinstance(e.event, VOIDABLE)]
    without = folded([*never, *later])
    assert with_void.string == without.string
    assert with_void.grout == without.grout
    assert with_void.flow.metered_m3 == without.flow.metered_m3
    assert number in with_void.voided


def replace_event(entry: Entry, event: Any, *, number: int) -> Entry:
    return Entry(number=number, at=entry.at, mono_s=entry.mono_s, who=entry.who, event=event)


def test_a_joint_entered_twice_and_voided() -> None:
    day = Day()
    day.joints([6.10, 6.08])
    twice = day.joint(6.08)
    day.joint(6.12)
    assert lengths.length_m(day.state.plan, day.state.string) == pytest.approx(24.38)  # 6.10 + 6.08 + 6.08 + 6.12
    day.void(twice)
    assert [joint.length_m for joint in day.state.string.joints] == [6.10, 6.08, 6.12]
    assert lengths.length_m(day.state.plan, day.state.string) == pytest.approx(18.30)
    # It stays in the log: a correction is never hidden.
    assert twice.number in [kept.entry.number for kept in day.state.entries]


def test_voiding_a_joint_that_was_cut_leaves_a_string_that_can_be_drawn() -> None:
    day = Day()
    joint = day.joint(5.0)
    day.record(ev.CutOffMade(length_m=3.0, typed=""))
    day.void(joint)
    assert lengths.length_m(day.state.plan, day.state.string) == 0.0
    day.hook(0.0)
    assert day.state.string.hook_readings[-1].expected_n is None


def test_voiding_a_volume_takes_it_from_the_tags_and_returns_after_it() -> None:
    day = grouting_day(plan(meter=None))
    first = day.volume(0.300)
    day.volume(0.200)
    day.tag(52.0)
    day.returns("weak")
    day.void(first)
    stage = day.state.grout.stages[0]
    assert stage.typed_m3 == pytest.approx(0.200)
    assert stage.tags[0].pumped_m3 == pytest.approx(0.200)
    assert stage.returns[0].pumped_m3 == pytest.approx(0.200)


def test_voiding_the_end_of_a_stage_opens_it_again_with_all_that_the_meter_counted_since() -> None:
    day = grouting_day()
    day.pump(0.300)
    ended = day.end("left to set")
    day.pump(0.050)
    assert not day.state.grout.stages[-1].open
    day.void(ended)
    stage = day.state.grout.stage
    assert stage is not None and stage.metered_at_end_m3 is None
    assert day.state.flow.metered_m3 - stage.metered_at_start_m3 == pytest.approx(0.350)


def test_voiding_the_landing_hangs_the_casing_up_again() -> None:
    day = Day()
    day.joints()
    landed = day.landed()
    day.void(landed)
    assert day.state.string.landed_on is None


def test_an_alarm_from_a_voided_entry_stays_and_says_so() -> None:
    day = Day(alarms=True)
    day.joints()
    reading = day.hook(40_000.0)
    day.quiet(10.0)
    day.void(reading)
    day.quiet(10.0)
    alarm = next(alarm for alarm in day.state.alarms if alarm.alarm == "load-high")
    assert alarm.entry == reading.number and alarm.entry in day.state.voided
    assert not alarm.active and alarm.standing  # its cause is gone, but nobody has answered it


# --- time ------------------------------------------------------------------------------------------------------------


def test_the_clock_runs_on_over_a_restart_by_the_wall() -> None:
    day = Day()
    day.beats(10)
    assert day.state.elapsed_s == pytest.approx(10.0)
    day.restart(away_s=600.0)
    assert day.state.elapsed_s == pytest.approx(610.0)  # its monotonic clock went from 1,010 back to 5
    day.beats(5)
    assert day.state.elapsed_s == pytest.approx(615.0)
    assert day.state.runs == 2


def test_a_wall_clock_set_back_over_a_restart_never_turns_time_back() -> None:
    day = Day()
    day.beats(10)
    day.restart(away_s=-7_200.0)
    assert day.state.elapsed_s == pytest.approx(10.0)
    day.beats(1)
    assert day.state.elapsed_s == pytest.approx(11.0)


def test_within_a_run_the_wall_clock_says_nothing() -> None:
    day = Day()
    day.at += timedelta(hours=5)
    day.beats(1)
    assert day.state.elapsed_s == pytest.approx(1.0)
    assert day.state.at == START + timedelta(hours=5, seconds=1)


# --- plan, crew, session ---------------------------------------------------------------------------------------------


def test_an_amended_plan_holds_from_then_on() -> None:
    thick = {**plan().mixes[0].model_dump(), "water_per_bag_m3": 0.0220, "yield_per_bag_m3": 0.0380}
    day = grouting_day()
    day.batch(10)
    day.record(ev.PlanAmended(plan=plan(mixes=[thick]), reason="other cement"))
    day.record(ev.BatchMixed(bags=10, water_m3=0.220, typed=""))
    volumes = [batch.volume_m3 for batch in day.state.grout.batches]
    assert volumes == pytest.approx([0.334, 0.380])  # 10 bags at 33.4 L, then at 38.0 L
    day.void(day.record(ev.NoteWritten(text="x")))
    assert [batch.volume_m3 for batch in day.state.grout.batches] == pytest.approx([0.334, 0.380])


def test_a_second_opening_changes_nothing() -> None:
    day = grouting_day()
    other = plan(tremie=None, stages=[{**plan().stages[0].model_dump(), "method": "through casing"}])
    day.tremie(57.0)
    day.record(ev.SessionOpened(plan=other, program="test", calculation=1, boot="x"))
    day.record(ev.TremiePulled(sections=1))
    day.void(day.record(ev.NoteWritten(text="x")))
    assert day.state.plan.tremie is not None and day.state.grout.tremie_tip_m == 54.0


def test_a_deeper_hole_is_amended_into_the_plan() -> None:
    deeper = plan(hole={"sections": [{"top_m": 0.0, "bottom_m": 72.0, "diameter_m": 0.25}]})
    day = Day()
    day.joints()
    day.record(ev.PlanAmended(plan=deeper, reason="drilled on"))
    assert day.state.plan.hole.bottom_m == 72.0
    assert len(day.state.string.joints) == 12


def test_crew_closing_and_taking_up_again() -> None:
    day = Day()
    assert day.state.helper == "Helper B"
    day.record(ev.CrewChanged(driller="C", helper="D"))
    assert day.state.helper == "D"
    day.record(ev.SessionClosed())
    assert day.state.closed
    day.restart(60.0)
    assert not day.state.closed


def test_a_wrong_name_is_put_right_from_then_on_and_what_it_signed_keeps_it() -> None:
    """A by plan; Q typed for C; a note under Q; corrected to C; that taken back and the first voided: A again."""
    day = Day()
    changed = day.do(want.ChangeCrew("Driller Q", "Helper D"))[0].number
    day.who = day.state.who
    note = day.record(ev.NoteWritten(text="x"))
    corrected = day.do(want.CorrectEntry(changed, want.ChangeCrew("Driller C", "Helper D"), "typed wrong"))[0].number
    assert (day.state.who, day.state.helper) == ("Driller C", "Helper D")
    assert [kept.entry.who for kept in day.state.entries if kept.entry.number == note.number] == ["Driller Q"]
    day.void(corrected)
    assert day.state.who == "Driller Q"
    day.void(changed)
    assert (day.state.who, day.state.helper) == ("Driller A", "Helper B")


def test_heartbeats_are_not_kept_and_all_else_is() -> None:
    day = Day()
    day.beats(500)
    day.joint()
    assert [kept.entry.event.kind for kept in day.state.entries] == ["SessionOpened", "JointAdded"]


def test_states_are_values() -> None:
    """A screen may hold a snapshot for as long as it likes."""
    day = grouting_day()
    before, copy = day.state, replace(day.state)
    day.pump(0.1)
    day.returns("full")
    day.void(2)
    assert before == copy and len(before.string.joints) == 12


def test_every_operators_kind_can_be_voided() -> None:
    kept = {ev.SessionOpened, ev.SessionResumed, ev.SessionClosed, ev.PlanAmended, ev.EntryVoided}
    kept |= {ev.RecordDisturbed, ev.EntriesLost, ev.SessionMended}
    by_machine = {ev.Heartbeat, ev.MeterChanged, ev.MeterRebased, ev.GapAnswered}
    alarms = {ev.AlarmRaised, ev.AlarmCleared, ev.AlarmAcknowledged}
    assert set(VOIDABLE) == set(KINDS) - kept - by_machine - alarms
