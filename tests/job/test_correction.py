"""Corrections: what follows from the entries is as if the right one had stood there from the first."""

from dataclasses import fields, is_dataclass, replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tally.job import events as ev
from tally.job import intents as want
from tally.job import lengths
from tally.job.coding import decoded, encoded
from tally.job.decide.refusal import Refusal
from tally.job.fold import apply, folded
from tally.job.standing import OPERATORS, standing
from tally.job.view.entered import entered
from tally.job.view.log import log
from tally.job.view.report import report
from tests.job.happenings import events, events_of
from tests.job.test_fold import entries_of, replace_event
from tests.scenario import JOINT_M, Day, grouting_day, plan

OFTEN = settings(max_examples=100, suppress_health_check=[HealthCheck.too_slow])


def unnumbered(value: Any) -> Any:
    """The same without the entries' own numbers, which a correction cannot share with what it corrects."""
    if isinstance(value, tuple):
        return tuple(map(unnumbered, value))
    if not is_dataclass(value) or isinstance(value, type):
        return value
    named = {field.name: unnumbered(getattr(value, field.name)) for field in fields(value)}
    return replace(value, **{name: 0 if name in ("number", "started_number") else held for name, held in named.items()})


# --- as if it had always been so -------------------------------------------------------------------------------------


@OFTEN
@given(st.data())
def test_a_corrected_entry_is_as_if_it_had_always_been_so(data: st.DataObject) -> None:
    before = data.draw(st.lists(events(ev.EntryVoided, ev.EntryCorrected, ev.EntryInserted), max_size=6))
    wrong, right = data.draw(st.sampled_from(OPERATORS).flatmap(lambda kind: st.tuples(*[events_of(kind)] * 2)))
    after = data.draw(st.lists(events(ev.EntryVoided, ev.EntryCorrected, ev.EntryInserted), max_size=6))
    written = entries_of([*before, wrong, *after])
    number = len(before) + 2
    fix = ev.EntryCorrected(entry=number, event=right, reason="misread")
    corrected = folded([*written, replace_event(written[-1], fix, number=len(written) + 1)])
    always = folded(entries_of([*before, right, *after]))
    assert unnumbered(corrected.string) == unnumbered(always.string)
    assert unnumbered(corrected.grout) == unnumbered(always.grout)
    assert corrected.plan == always.plan and corrected.flow == always.flow


@OFTEN
@given(st.data())
def test_a_late_entry_is_as_if_it_had_been_made_with_its_neighbour(data: st.DataObject) -> None:
    but = ev.EntryVoided, ev.EntryCorrected, ev.EntryInserted
    before = data.draw(st.lists(events(*but), max_size=6))
    late = data.draw(st.sampled_from(OPERATORS).flatmap(events_of))
    after = data.draw(st.lists(events(*but, ev.Heartbeat, ev.MeterRebased, ev.MeterChanged), max_size=6))
    neighbour = ev.NoteWritten(text="here")
    written = entries_of([*before, neighbour, *after])
    number = len(before) + 2
    fix = ev.EntryInserted(after=number, event=late, reason="forgotten")
    inserted = folded([*written, replace_event(written[-1], fix, number=len(written) + 1)])
    # In time, it stands between two entries a second apart.
    in_time = [
        *entries_of([*before, neighbour]),
        replace_event(written[number - 1], late, number=number + 1),
        *(replace_event(entry, entry.event, number=entry.number + 1) for entry in written[number:]),
    ]
    always = folded(in_time)
    assert unnumbered(inserted.string) == unnumbered(always.string)
    assert unnumbered(inserted.grout) == unnumbered(always.grout)


def test_a_joint_entered_again_takes_its_place_in_the_string() -> None:
    day = Day()
    first, second, _ = day.joint(6.10), day.joint(6.80), day.joint(6.12)
    [fix] = day.do(want.CorrectEntry(second.number, want.AddJoint(6.08, "6.08 m"), "read from the wrong end"))
    assert [joint.length_m for joint in day.state.string.joints] == [6.10, 6.08, 6.12]
    assert lengths.length_m(day.state.plan, day.state.string) == pytest.approx(18.30)  # 6.10 + 6.08 + 6.12
    again = day.state.string.joints[1]
    assert (again.at, again.number) == (second.at, fix.number)
    # The correction of a correction stands in the same place; each that is taken back leaves the one before it.
    [later] = day.do(want.CorrectEntry(fix.number, want.AddJoint(6.00, "6.00 m"), "and again"))
    assert [joint.length_m for joint in day.state.string.joints] == [6.10, 6.00, 6.12]
    assert isinstance(day.ask(want.Void(fix.number, "not while it is corrected itself")), Refusal)
    day.do(want.Void(later.number, "it was right before"))
    assert [joint.length_m for joint in day.state.string.joints] == [6.10, 6.08, 6.12]
    day.do(want.Void(fix.number, "and even before that"))
    assert [joint.length_m for joint in day.state.string.joints] == [6.10, 6.80, 6.12]
    day.do(want.Void(second.number, "it never went on"))
    assert [joint.length_m for joint in day.state.string.joints] == [6.10, 6.12]
    assert first.number == day.state.string.joints[0].number


@OFTEN
@given(st.data())
def test_a_correction_taken_back_is_as_if_it_had_never_been_made(data: st.DataObject) -> None:
    but = ev.EntryVoided, ev.EntryCorrected, ev.EntryInserted
    before = data.draw(st.lists(events(*but), max_size=6))
    first, second, third = data.draw(st.sampled_from(OPERATORS).flatmap(lambda kind: st.tuples(*[events_of(kind)] * 3)))
    after = data.draw(st.lists(events(*but), max_size=4))
    written = entries_of([*before, first, *after])
    number, last = len(before) + 2, len(written)
    fixes = (
        ev.EntryCorrected(entry=number, event=second, reason="misread"),
        ev.EntryCorrected(entry=last + 1, event=third, reason="misread again"),
        ev.EntryVoided(entry=last + 2, reason="it was right before"),
        ev.EntryVoided(entry=last + 1, reason="and before that"),
        ev.EntryVoided(entry=last + 1, reason="twice: nothing comes of it"),
    )
    lines = [replace_event(written[-1], fix, number=last + at) for at, fix in enumerate(fixes, 1)]
    always = folded(written)
    for upto in (4, 5):
        back = folded([*written, *lines[:upto]])
        assert (back.string, back.grout, back.plan) == (always.string, always.grout, always.plan)
    # Taken back and then voided itself, the first stays void, whatever is said of its correction again.
    gone = [ev.EntryVoided(entry=number, reason="it never was"), ev.EntryVoided(entry=last + 1, reason="once more")]
    both = [replace_event(written[-1], event, number=last + 5 + at) for at, event in enumerate(gone)]
    assert number in folded([*written, *lines[:4], *both]).voided
    one = folded([*written, *lines[:3]])
    assert (one.string, one.grout) == ((once := folded([*written, *lines[:1]])).string, once.grout)


def test_what_was_measured_again_stays_so_when_the_first_entry_is_corrected() -> None:
    day = Day()
    joint = day.joint(6.80)
    day.do(want.RemeasureJoint(1, 6.05, "6.05 m"))
    [fix] = day.do(want.CorrectEntry(joint.number, want.AddJoint(6.08, "6.08 m"), "misread"))
    held = day.state.string.joints[0]
    assert (held.number, held.length_m, held.first_m) == (fix.number, 6.05, 6.08)
    day.do(want.Void(fix.number, "it was right"))
    held = day.state.string.joints[0]
    assert (held.number, held.length_m, held.first_m) == (joint.number, 6.05, 6.80)


def test_the_joint_count_after_one_that_was_missed_and_one_that_was_taken_out() -> None:
    day = Day()
    made = [day.joint(length_m) for length_m in (6.10, 6.20, 6.30)]
    day.do(want.InsertEntry(made[0].number, want.AddJoint(5.50, "5.50 m"), "missed"))
    day.do(want.InsertEntry(made[0].number, want.AddJoint(5.60, "5.60 m"), "missed too, below it"))
    assert [joint.length_m for joint in day.state.string.joints] == [6.10, 5.60, 5.50, 6.20, 6.30]
    day.do(want.Void(made[0].number, "it stayed on the rack"))
    assert [joint.length_m for joint in day.state.string.joints] == [5.60, 5.50, 6.20, 6.30]
    # What was corrected goes on bearing what was entered late behind it.
    day.do(want.CorrectEntry(made[2].number, want.AddJoint(6.35, "6.35 m"), "misread"))
    assert [joint.length_m for joint in day.state.string.joints] == [5.60, 5.50, 6.20, 6.35]


def test_centralizers_and_loads_follow_a_corrected_joint() -> None:
    day = Day()
    first = day.joint(6.00)
    day.joint(6.00)
    day.do(want.FitCentralizer())
    day.hook(3_000.0)
    before_n = day.state.string.hook_readings[0].expected_n
    assert day.state.string.centralizers_above_shoe_m == pytest.approx((12.00,))
    day.do(want.CorrectEntry(first.number, want.AddJoint(5.40, "5.40 m"), "misread"))
    assert day.state.string.centralizers_above_shoe_m == pytest.approx((11.40,))  # 5.40 + 6.00
    # Both strings hang above the water at 20 m: 28.26 kg/m, and 0.6 m less of it (9.80665 m/s2).
    after_n = day.state.string.hook_readings[0].expected_n
    assert before_n is not None and after_n is not None
    assert before_n - after_n == pytest.approx(0.6 * 28.26 * 9.80665, rel=1e-9)


def test_a_batch_and_a_tag_entered_again() -> None:
    day = grouting_day()
    first = day.batch(30)
    day.batch(10)
    day.pump(0.5)
    tag = day.tag(50.0)
    day.pump(0.3)
    day.do(want.CorrectEntry(first.number, want.MixBatch(20, "20"), "counted the pallet"))
    assert [batch.bags for batch in day.state.grout.batches] == [20, 10]
    assert day.state.grout.batches[0].volume_m3 == pytest.approx(20 * 0.0334)
    day.do(want.CorrectEntry(tag.number, want.TagTop(48.0, "48 m"), "tape read from the collar"))
    stage = day.state.grout.stages[0]
    # It was tagged when half a cubic metre was pumped, and that it stays.
    assert [(held.depth_m, round(held.pumped_m3, 6)) for held in stage.tags] == [(48.0, 0.5)]


def test_a_batch_keeps_the_mix_that_was_in_force_where_it_stands() -> None:
    day = grouting_day()
    batch = day.batch(10)
    thicker = plan(mixes=[{**plan().mixes[0].model_dump(exclude={"parts", "kind"}), "yield_per_bag_m3": 0.030}])
    day.record(ev.PlanAmended(plan=thicker, reason="other cement"))
    day.do(want.CorrectEntry(batch.number, want.MixBatch(20, "20"), "two pallets"))
    assert day.state.grout.batches[0].volume_m3 == pytest.approx(20 * 0.0334)
    assert day.state.plan == thicker


def test_alarms_and_the_meters_count_are_not_undone() -> None:
    day = grouting_day(alarms=True)
    day.pump(1.2, seconds=20)
    assert "returns-overdue" in day.standing()
    stage = next(kept for kept in day.state.entries if isinstance(kept.entry.event, ev.StageStarted))
    day.do(want.Void(stage.entry.number, "begun too early"))
    assert any(alarm.alarm == "returns-overdue" for alarm in day.state.alarms)
    assert day.state.flow.metered_m3 == pytest.approx(1.2)


# --- together or not at all ------------------------------------------------------------------------------------------


def running() -> Day:
    day = Day()
    day.joints([JOINT_M] * 3)
    return day


def refused(day: Day, intent: want.Intent) -> Refusal:
    decision = day.ask(intent)
    assert isinstance(decision, Refusal)
    return decision


@pytest.mark.parametrize(
    ("intent", "why"),
    [
        (want.CorrectEntry(2, want.AddJoint(5.2, ""), " "), "reason"),
        (want.CorrectEntry(99, want.AddJoint(5.2, ""), "x"), "entry 99"),
        (want.CorrectEntry(1, want.AddJoint(5.2, ""), "x"), "correct what led to it"),
        (want.CorrectEntry(2, want.WriteNote("rain"), "x"), "something else"),
        (want.CorrectEntry(2, want.AddJoint(JOINT_M, f"{JOINT_M} m"), "x"), "says that already"),
        (want.CorrectEntry(2, want.AddJoint(-1.0, ""), "x"), "given {0}"),
        (want.CorrectEntry(2, want.AddJoint(float("nan"), ""), "x"), "not finite"),
        (want.CorrectEntry(2, want.CorrectEntry(2, want.WriteNote("rain"), "x"), "x"), "one correction"),
        (want.InsertEntry(2, want.Void(2, "x"), "x"), "no entry of the job"),
        (want.InsertEntry(99, want.AddJoint(5.2, ""), "x"), "does not stand"),
        (want.InsertEntry(2, want.AddJoint(5.2, "x" * 3_000), "x"), "characters"),
    ],
)
def test_what_is_refused_changes_nothing(intent: want.Intent, why: str) -> None:
    day = running()
    assert why in refused(day, intent).reason
    assert len(day.state.string.joints) == 3 and not day.state.voided


def test_a_voided_entry_is_not_corrected() -> None:
    day = running()
    day.void(2)
    assert "voided already" in refused(day, want.CorrectEntry(2, want.AddJoint(5.2, ""), "x")).reason


def test_after_landing_a_joint_is_still_corrected_for_it_went_on_before() -> None:
    day = Day()
    day.joints()
    day.landed()
    assert not isinstance(day.ask(want.CorrectEntry(2, want.AddJoint(5.00, "5 m"), "misread")), Refusal)


def test_a_question_of_the_entry_itself_is_asked_and_insisted_on() -> None:
    day = running()
    odd = want.CorrectEntry(2, want.AddJoint(2.0, "2 m"), "cut joint")
    assert "Enter again" in refused(day, odd).ask
    assert not isinstance(day.ask(replace(odd, sure=True)), Refusal)


def test_a_correction_that_ends_the_whole_string_below_the_hole_asks() -> None:
    day = Day()
    day.joints()  # 60.6 m of which 0.6 m stands above ground; the hole ends at 60 m
    long = want.CorrectEntry(2, want.AddJoint(6.0, "6 m"), "misread")
    assert "below the hole" in refused(day, long).reason
    assert not isinstance(day.ask(replace(long, sure=True)), Refusal)


# --- in the file, in the log, in the report --------------------------------------------------------------------------


def test_both_stand_in_the_log_and_in_the_report() -> None:
    day = running()
    [fix] = day.do(want.CorrectEntry(3, want.AddJoint(5.20, "5.20 m"), "misread {0}"))
    day.do(want.InsertEntry(fix.number, want.WriteNote("fog"), "forgotten"))
    rows = {row.number: row for row in log(day.state)}
    assert rows[3].voided and not rows[3].voidable and rows[fix.number].voidable
    said = [row.sentence.written(lambda quantity: f"{quantity.si:g}") for row in rows.values()]
    assert said[2] == "joint of 5.05 on"
    assert said[-2] == "entry 3 corrected to: joint of 5.2 on; why: misread {0}"
    assert said[-1] == f"entered late, after entry {fix.number}: note: fog; why: forgotten"
    view = report(day.state, digest="", program="test", problems=(), disagreements=())
    first, second = view.corrections
    told = first.what.written(lambda quantity: f"{quantity.si:g}")
    assert told == "entry 3 voided: joint of 5.05 on; entered again: joint of 5.2 on"
    assert (first.number, first.reason, first.entered_by) == (fix.number, "misread {0}", "Driller A")
    assert (second.reason, second.entered_at) == ("forgotten", None)
    assert [note.text for note in view.notes] == ["fog"]
    assert [joint.number for joint in entered(day.state, ev.JointAdded)] == [2, fix.number, 4]


def test_a_correction_taken_back_says_what_stands_again() -> None:
    day = running()
    [fix] = day.do(want.CorrectEntry(3, want.AddJoint(5.20, "5.20 m"), "misread"))
    day.do(want.Void(fix.number, "read right the first time"))
    rows = {row.number: row for row in log(day.state)}
    assert (rows[3].voided, rows[3].voidable, rows[fix.number].voided) == (False, True, True)
    said = rows[fix.number + 1].sentence.written(str)
    assert said == f"correction {fix.number} taken back, entry 3 stands again: read right the first time"
    view = report(day.state, digest="", program="test", problems=(), disagreements=())
    told = view.corrections[1].what.written(lambda quantity: f"{quantity.si:g}")
    assert told.startswith(f"correction {fix.number} taken back, entry 3 stands again: entry 3 corrected to")


def test_a_correction_is_one_line_that_reads_back() -> None:
    day = running()
    [fix] = day.do(want.CorrectEntry(3, want.AddJoint(5.20, "5.20 m"), "misread"))
    assert decoded(encoded(fix)) == fix
    assert encoded(fix).count(b"\n") == 0


def test_lines_that_refer_forward_or_to_themselves_stand_nowhere() -> None:
    day = running()
    joint = ev.JointAdded(length_m=5.0, typed="")
    state = day.state
    for number, event in (
        (5, ev.EntryInserted(after=5, event=joint, reason="")),
        (6, ev.EntryInserted(after=7, event=joint, reason="")),
        (7, ev.EntryCorrected(entry=6, event=joint, reason="")),
    ):
        state = apply(state, replace_event(day.entries[-1], event, number=number))
    assert [joint.number for joint in state.string.joints] == [2, 3, 4]
    assert [kept.entry.number for kept in standing(state)] == [1, 2, 3, 4]
