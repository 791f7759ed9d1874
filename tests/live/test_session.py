"""The session core, step by step: what counts is on the disk, in order, once, and a replay agrees with it."""

import itertools
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tally.job import events as ev
from tally.job import intents as want
from tally.job.alarms import due as due_module
from tally.job.decide.refusal import Refusal
from tally.live.loading import load
from tally.live.session import NotSaved, Saved, Session
from tally.meters.source import MeterState
from tally.record.fault import RecordFault
from tally.record.reader import read
from tests.live.support import Bench, Disk, kept, of_kind
from tests.record.sessions import chained
from tests.scenario import JOINT_M, plan


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> Disk:
    disk = Disk()
    disk.install(monkeypatch)
    return disk


def joint(length_m: float = JOINT_M) -> want.AddJoint:
    return want.AddJoint(length_m, f"{length_m} m", sure=True)


def begun(bench: Bench) -> Session:
    """A session with its stage under way and a meter that stands at 100 L."""
    session = bench.opened()
    assert isinstance(session.enter(want.StartStage(sure=True)), Saved)
    bench.beat(session, 100.0)
    bench.beat(session, 100.0)
    return session


def pumped_l(session: Session) -> float:
    return session.snapshot.state.flow.metered_m3 * 1000


# --- entries ---------------------------------------------------------------------------------------------------------


def test_an_entry_is_answered_with_its_number_and_stands_in_the_file(bench: Bench) -> None:
    session = bench.opened()
    assert session.enter(joint()) == Saved((2,))
    entries = kept(session)
    assert [entry.number for entry in entries] == [1, 2]
    assert of_kind(entries, ev.JointAdded)[0].length_m == JOINT_M


def test_a_refusal_records_nothing(bench: Bench) -> None:
    session = bench.opened()
    before, chain = session.path.read_bytes(), session.snapshot.chain
    assert isinstance(session.enter(want.AddJoint(-1.0, "-1 m")), Refusal)
    assert isinstance(session.enter(want.WriteNote(" ")), Refusal)
    assert session.path.read_bytes() == before
    assert session.snapshot.chain == chain


def test_alarms_that_a_plan_calls_for_from_the_start_are_recorded_before_anything_else(bench: Bench) -> None:
    session = bench.opened(plan(limits={"hoist_n": 10.0}))
    session.enter(want.WriteNote("first"))
    kept(session)


def test_a_rule_with_a_bug_costs_neither_the_entry_nor_the_record(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = bench.opened()

    def bug(state: object) -> list[ev.AlarmRaised | ev.AlarmCleared]:
        raise ZeroDivisionError("in a rule")

    with monkeypatch.context() as patch:
        patch.setattr(due_module, "due", bug)
        assert session.enter(joint()) == Saved((2,))
        assert "ZeroDivisionError" in session.snapshot.trouble
        bench.beat(session)
        assert "ZeroDivisionError" in session.snapshot.trouble
    bench.beat(session)
    assert session.snapshot.trouble == ""
    assert len(of_kind(kept(session), ev.JointAdded)) == 1


# --- a full disk -----------------------------------------------------------------------------------------------------


def test_on_a_full_disk_the_operator_is_told_and_the_same_entry_again_is_saved_once(bench: Bench, disk: Disk) -> None:
    session = bench.opened()
    disk.full = True
    outcome = session.enter(joint())
    assert isinstance(outcome, NotSaved)
    assert "disk is full" in outcome.why
    assert session.snapshot.trouble == outcome.why
    assert len(session.snapshot.state.string.joints) == 0
    disk.full = False
    assert session.enter(joint()) == Saved((2,))
    assert session.snapshot.trouble == ""
    assert len(of_kind(kept(session), ev.JointAdded)) == 1


def test_heartbeats_wait_out_a_full_disk_and_keep_their_own_times(bench: Bench, disk: Disk) -> None:
    session = begun(bench)
    before = len(kept(session))
    disk.full = True
    for litres in range(1, 21):
        bench.beat(session, 100.0 + litres)
    assert pumped_l(session) == 0.0  # what is not on the disk does not count yet
    assert "disk is full" in session.snapshot.trouble
    disk.full = False
    bench.beat(session, 121.0)
    assert session.snapshot.trouble == ""
    assert pumped_l(session) == pytest.approx(21.0)
    beats = [entry for entry in kept(session)[before:] if isinstance(entry.event, ev.Heartbeat)]
    assert [round(later.mono_s - earlier.mono_s, 6) for earlier, later in itertools.pairwise(beats)] == [1.0] * 20
    assert [entry.event.samples[0].values[0] for entry in beats if isinstance(entry.event, ev.Heartbeat)] == [
        pytest.approx(0.1 + litres / 1000) for litres in range(1, 22)
    ]


@pytest.mark.parametrize("room", range(12))
def test_wherever_the_disk_fills_up_nothing_is_lost_or_doubled(bench: Bench, disk: Disk, room: int) -> None:
    """Alarms follow entries: the disk may fill up between the two."""
    session = bench.opened(plan(stages=[_stage(0.0)], hole={"water_level_m": 0.5}))
    assert isinstance(session.enter(want.StartStage(sure=True)), Saved)
    bench.beat(session, 100.0)
    disk.room = room
    answers: list[Any] = []
    for second in range(1, 11):
        bench.beat(session, 100.0 + 60.0 * second / 10)
        answers.append(session.enter(want.WriteNote(f"note {second}")))
    bench.meter.state, bench.meter.why = MeterState.FAULT, "unplugged"
    bench.beat(session)
    disk.room = 1_000_000
    bench.clock.tick(30.0)
    session.beat()
    session.beat()
    entries = kept(session)
    noted = [f"note {second}" for second, answer in enumerate(answers, start=1) if isinstance(answer, Saved)]
    assert [note.text for note in of_kind(entries, ev.NoteWritten)] == noted
    assert pumped_l(session) == pytest.approx(60.0)
    assert len(of_kind(entries, ev.Heartbeat)) == 1 + 10 + 1 + 2
    assert session.snapshot.trouble == ""


def _stage(spread: float) -> dict[str, Any]:
    return {
        "name": "all", "bottom_m": 60.0, "top_m": 0.0, "mix": "neat", "method": "tremie",
        "allowance_share": 0.0, "spread_share": spread,
    }  # fmt: skip


def test_an_entry_whose_alarm_could_not_be_saved_counts_as_saved(bench: Bench, disk: Disk) -> None:
    session = begun(bench)
    session.enter(want.MixBatch(10, "10", sure=True))
    disk.room = 1
    outcome = session.enter(want.WeighBatch(1_700.0, "1.70 kg/L"))  # off the mix's band, so an alarm follows
    assert isinstance(outcome, Saved)
    assert "disk is full" in session.snapshot.trouble
    disk.room = 1_000_000
    bench.beat(session, 100.0)
    assert session.snapshot.trouble == ""
    assert [alarm.alarm for alarm in of_kind(kept(session), ev.AlarmRaised)] == ["batch-density", "record-interrupted"]
    assert len(of_kind(kept(session), ev.BatchWeighed)) == 1


# --- the meter -------------------------------------------------------------------------------------------------------


def test_what_the_meter_moves_is_counted_from_its_first_total_on(bench: Bench) -> None:
    session = begun(bench)
    bench.beat(session, 101.0, 102.5)
    bench.beat(session)
    bench.beat(session, 104.0)
    assert pumped_l(session) == pytest.approx(4.0)
    kept(session)


def test_readings_that_came_just_before_the_plug_was_pulled_are_counted(bench: Bench) -> None:
    session = begun(bench)
    bench.clock.tick()
    bench.meter.say(103.0)
    bench.meter.state, bench.meter.why = MeterState.FAULT, "the port has gone"
    session.beat()
    assert pumped_l(session) == pytest.approx(3.0)
    assert session.snapshot.state.flow.condition == "FAULT"
    # Back again, its totaliser further on: that was seen by nobody.
    bench.beat(session, 108.0)
    assert pumped_l(session) == pytest.approx(3.0)
    assert session.snapshot.state.flow.offered_m3 * 1000 == pytest.approx(5.0)
    kept(session)


def test_a_port_that_does_not_exist_is_recorded_with_the_reason_and_typed_volume_counts(bench: Bench) -> None:
    session = bench.opened()
    bench.meter.state, bench.meter.why = MeterState.FAULT, "there is no port '/dev/none'"
    session.enter(want.StartStage(sure=True))
    bench.beat(session)
    session.enter(want.AddVolume(0.030, "30 L"))
    entries = kept(session)
    (change,) = of_kind(entries, ev.MeterChanged)
    assert (change.condition, change.why) == ("FAULT", "there is no port '/dev/none'")
    stage = session.snapshot.state.grout.stage
    assert stage is not None
    assert stage.typed_m3 == pytest.approx(0.030)


def test_a_meter_that_cannot_even_be_made_does_not_stop_the_record(tmp_path: Path) -> None:
    bench = Bench(tmp_path)

    def broken(*_: object) -> None:
        raise ValueError("no such dialect")

    session = Session.opened(plan(), tmp_path, bench.clock, broken)
    session.plug_in()
    bench.clock.tick()
    session.beat()
    assert isinstance(session.enter(joint()), Saved)
    (change,) = of_kind(kept(session), ev.MeterChanged)
    assert change.condition == "FAULT"
    assert "no such dialect" in change.why


def test_an_amended_plan_with_another_port_swaps_the_meter_and_counts_nothing_across(bench: Bench) -> None:
    session = begun(bench)
    bench.beat(session, 110.0)
    old = bench.meter
    outcome = session.enter(want.AmendPlan(plan(meter={"port": "other"}), "cable moved"))
    assert isinstance(outcome, Saved)
    assert not old.started
    assert (bench.meter.port, bench.meter.started) == ("other", True)
    bench.beat(session, 115.0)  # within reach of what the old one showed, and yet another meter
    bench.beat(session, 116.0)
    assert pumped_l(session) == pytest.approx(11.0)
    assert session.snapshot.state.flow.offered_m3 * 1000 == pytest.approx(5.0)
    assert "CLOSED" in [change.condition for change in of_kind(kept(session), ev.MeterChanged)]


def test_an_amended_plan_can_bring_the_first_meter_and_take_the_last(bench: Bench) -> None:
    session = bench.opened(plan(meter=None))
    session.enter(want.StartStage(sure=True))
    bench.beat(session)
    assert not bench.meters
    assert isinstance(session.enter(want.AmendPlan(plan(), "the meter came")), Saved)
    bench.beat(session, 5.0)
    bench.beat(session, 7.0)
    assert pumped_l(session) == pytest.approx(2.0)
    assert isinstance(session.enter(want.AmendPlan(plan(meter=None), "it broke")), Saved)
    assert not bench.meter.started
    bench.beat(session)
    assert session.snapshot.state.flow.condition == "CLOSED"
    kept(session)


# --- taking it up again ----------------------------------------------------------------------------------------------


def test_a_torn_tail_is_set_aside_and_said(bench: Bench) -> None:
    session = bench.opened()
    session.enter(joint())
    session.close()
    whole = session.path.read_bytes()
    session.path.write_bytes(whole + b'{"number":3,"at":"20')
    again = bench.resumed(session.path)
    assert session.path.read_bytes().startswith(whole)
    (resumed,) = of_kind(kept(again), ev.SessionResumed)
    assert resumed.torn_bytes == 20
    assert session.path.with_name(f"{session.path.name}.torn-1").read_bytes() == b'{"number":3,"at":"20'
    again.close()


def test_a_damaged_middle_is_not_recorded_on_and_left_as_it_is(bench: Bench) -> None:
    session = bench.opened()
    for length_m in (5.0, 5.1, 5.2):
        session.enter(joint(length_m))
    session.close()
    damaged = session.path.read_bytes().replace(b'"length_m":5.1', b'"length_m":6.1')
    line = damaged.split(b'"length_m":6.1')[0].count(b"\n") + 1
    session.path.write_bytes(damaged)
    with pytest.raises(RecordFault, match=rf"damaged and is not recorded on \(line {line}: .*tally report"):
        bench.resumed(session.path)
    assert session.path.read_bytes() == damaged


def test_a_line_of_a_newer_program_is_named_and_not_recorded_on(bench: Bench) -> None:
    session = bench.opened()
    session.enter(joint())
    session.enter(want.WriteNote("later"))
    session.close()
    bodies = [line.body for line in read(session.path).lines]
    bodies[1] = bodies[1].replace(b'"version":1', b'"version":9')
    session.path.write_bytes(b"".join(chained(tuple(bodies))))
    loaded = load(session.path)
    assert any("line 2: JointAdded version 9 was written by a newer program" in each for each in loaded.problems)
    with pytest.raises(RecordFault, match="newer program"):
        bench.resumed(session.path)


def test_what_the_meter_moved_while_nobody_listened_waits_for_the_operators_word(bench: Bench) -> None:
    session = begun(bench)
    bench.beat(session, 110.0)
    session.close()
    bench.clock = type(bench.clock)(now_s=3.0, at=bench.clock.at + timedelta(minutes=7))
    again = bench.resumed(session.path)
    bench.beat(again, 117.0)
    bench.beat(again, 118.0)
    assert pumped_l(again) == pytest.approx(11.0)
    assert again.snapshot.state.flow.offered_m3 * 1000 == pytest.approx(7.0)
    assert isinstance(again.enter(want.AnswerGap(0.007)), Saved)
    assert pumped_l(again) == pytest.approx(18.0)
    # The machine was started anew and its wall clock is all that is left of the time between.
    assert again.snapshot.state.elapsed_s == pytest.approx(3.0 + 7 * 60 + 2.0)
    kept(again)


def test_a_leap_while_nobody_listened_is_offered_once(bench: Bench) -> None:
    session = begun(bench)
    session.close()
    again = bench.resumed(session.path)
    bench.beat(again, 400.0)
    bench.beat(again, 400.5)
    bench.beat(again, 401.0)
    assert pumped_l(again) == pytest.approx(1.0)
    assert again.snapshot.state.flow.offered_m3 * 1000 == pytest.approx(300.0)
    kept(again)


@pytest.mark.parametrize("hours", [-30.0, 1.0])
def test_a_jump_of_the_wall_clock_moves_no_duration(bench: Bench, hours: float) -> None:
    session = begun(bench)
    elapsed_s = session.snapshot.state.elapsed_s
    bench.clock.at += timedelta(hours=hours)
    bench.beat(session, 101.0)
    assert session.snapshot.state.elapsed_s == pytest.approx(elapsed_s + 1.0)
    (jump,) = session.snapshot.state.alarms
    assert jump.alarm == "clock-jumped" and jump.value == pytest.approx(abs(hours) * 3600)
    (told,) = of_kind(kept(session), ev.RecordDisturbed)
    assert told.seconds == pytest.approx(hours * 3600)
    bench.beat(session, 102.0)
    assert len(of_kind(kept(session), ev.RecordDisturbed)) == 1
