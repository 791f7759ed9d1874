"""The recorder's thread: what a screen sees is saved, nothing that was asked stays unanswered, and it ends."""

import os
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tally.job import events as ev
from tally.job import intents as want
from tally.job.plan import Plan
from tally.live import session as session_module
from tally.live.clock import SystemClock
from tally.live.instruments import grout_meter
from tally.live.loading import load
from tally.live.recorder import ENDED, HANGS, Recorder
from tally.live.session import NotSaved, Saved
from tally.record.fault import RecordFault
from tests.live.support import Bench, Disk, SetClock, of_kind
from tests.meters.support import wait_until
from tests.scenario import JOINT_M, plan

FAST = 500.0
"""Clock seconds to one of the wall, for as long as the recorder waits for a beat."""
ROOT = Path(__file__).resolve().parents[2]
posix = pytest.mark.skipif(os.name != "posix", reason="needs pseudo-terminals")


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path, SetClock(speed=FAST))


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> Iterator[Disk]:
    disk = Disk()
    disk.install(monkeypatch)
    yield disk
    disk.gate.set()


@pytest.fixture
def recorder(disk: Disk, bench: Bench) -> Iterator[Recorder]:
    recorder = Recorder.opened(plan(), bench.folder, bench.clock, bench.make_meter)
    recorder.start()
    assert wait_until(lambda: bool(bench.meters))
    yield recorder
    disk.gate.set()
    recorder.stop()


def joints(recorder: Recorder) -> int:
    return len(recorder.snapshot.state.string.joints)


JOINT = want.AddJoint(JOINT_M, "5.05 m", sure=True)


def beats(recorder: Recorder) -> int:
    return len(of_kind(load(recorder.path).entries, ev.Heartbeat))


def second(bench: Bench, recorder: Recorder) -> None:
    before = beats(recorder)
    bench.clock.tick()
    assert wait_until(lambda: beats(recorder) > before)


def test_an_entry_shows_only_once_the_disk_has_it(recorder: Recorder, disk: Disk) -> None:
    disk.gate.clear()
    disk.reached.clear()
    asked = recorder.submit(JOINT)
    assert disk.reached.wait(10.0)
    assert (joints(recorder), asked.done()) == (0, False)
    disk.gate.set()
    assert asked.result(10.0) == Saved((2,))
    assert joints(recorder) == 1


def test_it_beats_once_a_second_of_its_clock(recorder: Recorder, bench: Bench) -> None:
    for _ in range(5):
        second(bench, recorder)
    assert beats(recorder) == 5
    # A stall is one beat late, not many at once.
    bench.clock.tick(60.0)
    assert wait_until(lambda: beats(recorder) == 6)
    second(bench, recorder)
    assert beats(recorder) == 7


def test_a_screen_that_gives_up_waiting_loses_no_entry(recorder: Recorder, disk: Disk) -> None:
    disk.gate.clear()
    asked = [recorder.submit(want.WriteNote(f"note {number}")) for number in range(3)]
    assert [each.cancel() for each in asked] == [False, False, False]
    disk.gate.set()
    assert [each.result(10.0) for each in asked] == [Saved((2,)), Saved((3,)), Saved((4,))]
    assert recorder.submit(JOINT).result(10.0) == Saved((5,))


def test_a_bug_in_a_rule_is_told_and_does_not_end_the_record(
    recorder: Recorder, bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def bug(*_: object) -> list[ev.AnyEvent]:
        raise ZeroDivisionError("in a rule")

    with monkeypatch.context() as patch:
        patch.setattr(session_module, "decide", bug)
        with pytest.raises(ZeroDivisionError):
            recorder.submit(JOINT).result(10.0)
    assert recorder.submit(JOINT).result(10.0) == Saved((2,))
    second(bench, recorder)
    assert recorder.snapshot.trouble == ""


def test_what_was_asked_before_the_stop_is_saved_and_what_comes_after_is_told_so(recorder: Recorder) -> None:
    asked = [recorder.submit(want.WriteNote(f"note {number}")) for number in range(20)]
    recorder.stop()
    assert [each.result(0) for each in asked] == [Saved((number + 2,)) for number in range(20)]
    assert recorder.submit(JOINT).result(0) == ENDED
    recorder.stop()  # twice does no harm
    assert len(of_kind(load(recorder.path).entries, ev.NoteWritten)) == 20


def test_nothing_stays_unanswered_when_the_disk_hangs_at_the_end(recorder: Recorder, disk: Disk, bench: Bench) -> None:
    disk.gate.clear()
    disk.reached.clear()
    first, later = recorder.submit(JOINT), recorder.submit(want.WriteNote("later"))
    assert disk.reached.wait(10.0)
    recorder.stop(timeout_s=0.05)
    assert first.result(0) == HANGS
    assert later.result(0) == ENDED
    # Nobody else may write meanwhile.
    with pytest.raises(RecordFault, match="being recorded"):
        Recorder.resumed(recorder.path, bench.clock, bench.make_meter)
    disk.gate.set()
    assert wait_until(lambda: not recorder._thread.is_alive())
    recorder.stop()
    assert len(of_kind(load(recorder.path).entries, ev.JointAdded)) == 1
    assert not of_kind(load(recorder.path).entries, ev.NoteWritten)


def test_a_recorder_that_never_started_lets_go_of_its_session(bench: Bench) -> None:
    recorder = Recorder.opened(plan(), bench.folder, bench.clock, bench.make_meter)
    asked = recorder.submit(JOINT)
    recorder.stop()
    assert asked.result(0) == ENDED
    Recorder.resumed(recorder.path, bench.clock, bench.make_meter).stop()


def test_a_full_disk_is_on_the_snapshot_until_it_takes_entries_again(
    recorder: Recorder, disk: Disk, bench: Bench
) -> None:
    disk.full = True
    outcome = recorder.submit(JOINT).result(10.0)
    assert isinstance(outcome, NotSaved)
    bench.clock.tick()
    assert wait_until(lambda: "disk is full" in recorder.snapshot.trouble)
    disk.full = False
    bench.clock.tick()
    assert wait_until(lambda: recorder.snapshot.trouble == "")
    assert joints(recorder) == 0
    assert recorder.submit(JOINT).result(10.0) != outcome
    assert joints(recorder) == 1


def test_a_second_recorder_in_another_process_is_refused_in_words(recorder: Recorder) -> None:
    program = (
        "import sys; from pathlib import Path; from tally.live.clock import SystemClock;"
        "from tally.live.instruments import grout_meter; from tally.live.recorder import Recorder\n"
        "Recorder.resumed(Path(sys.argv[1]), SystemClock(), grout_meter)"
    )
    before = recorder.path.read_bytes()
    second = subprocess.run(
        [sys.executable, "-c", program, str(recorder.path)],
        capture_output=True, encoding="utf-8", cwd=ROOT, timeout=60, check=False,
    )  # fmt: skip
    assert second.returncode != 0
    assert f"being recorded by another program (pid {os.getpid()}" in second.stderr
    assert "close that one first" in second.stderr
    assert recorder.path.read_bytes() == before
    assert recorder.submit(JOINT).result(10.0) == Saved((2,))


def real(folder: Path, port: str) -> Recorder:
    return Recorder.opened(_plan_with(port), folder, SystemClock(), grout_meter)


def _plan_with(port: str) -> Plan:
    return plan(meter={"port": port})


def test_a_real_port_that_does_not_exist_is_recorded_as_a_fault(tmp_path: Path) -> None:
    port = str(tmp_path / "no-such-port")
    recorder = real(tmp_path, port)
    recorder.start()
    try:
        assert wait_until(lambda: recorder.snapshot.state.flow.condition == "FAULT")
        assert "there is no port" in recorder.snapshot.state.flow.why
        assert port in recorder.snapshot.state.flow.why
        assert isinstance(recorder.submit(want.StartStage(sure=True)).result(10.0), Saved)
        assert isinstance(recorder.submit(want.AddVolume(0.02, "20 L")).result(10.0), Saved)
    finally:
        recorder.stop()
    (fault,) = [
        change for change in of_kind(load(recorder.path).entries, ev.MeterChanged) if change.condition == "FAULT"
    ]
    assert "check that the meter is plugged in" in fault.why


@posix
def test_it_ends_within_two_seconds_while_its_meter_is_silent(tmp_path: Path) -> None:
    import pty

    master, slave = pty.openpty()
    try:
        recorder = real(tmp_path, os.ttyname(slave))
        recorder.start()
        assert wait_until(lambda: recorder.snapshot.state.flow.condition == "OPENING")
        began_s = time.monotonic()
        recorder.stop()
        assert time.monotonic() - began_s < 2.0
        assert not recorder._thread.is_alive()
    finally:
        os.close(master)
        os.close(slave)
