"""What befalls the record while it is written: each has its outcome, its words, and nothing saved is touched."""

import errno
import os
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from tally.job import events as ev
from tally.job import fold
from tally.job import intents as want
from tally.live.recorder import Recorder
from tally.live.session import NotSaved, Saved, Session
from tally.record.fault import RecordFault
from tests.live.support import Bench, Disk, SetClock, kept, of_kind
from tests.meters.support import wait_until
from tests.scenario import plan

NOTE = want.WriteNote("rain")


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    return Bench(tmp_path)


@pytest.fixture
def disk(monkeypatch: pytest.MonkeyPatch) -> Disk:
    found = Disk()
    found.install(monkeypatch)
    return found


def told(session: Session) -> list[tuple[str, float]]:
    return [(each.what, each.seconds) for each in of_kind(kept(session), ev.RecordDisturbed)]


def standing(session: Session) -> set[str]:
    return {alarm.alarm for alarm in session.snapshot.state.alarms}


def test_a_slow_disk_is_noted_once_in_a_while(bench: Bench, disk: Disk, monkeypatch: pytest.MonkeyPatch) -> None:
    session = bench.opened()
    settle = disk.fsync

    def slow(descriptor: int) -> None:
        bench.clock.tick(7.5)
        settle(descriptor)

    for _ in range(3):
        disk.fsync = slow  # type: ignore[method-assign]
        session._writer._fsync = slow
        assert isinstance(session.enter(NOTE), Saved)
        session._writer._fsync = settle
        bench.beat(session)
    assert told(session) == [("slow disk", 7.5)]
    assert standing(session) == {"disk-slow"}


def test_a_machine_that_stalls_between_two_looks_at_the_clocks_tells_no_jump(bench: Bench) -> None:
    session, utc = bench.opened(), bench.clock.utc

    def stalled() -> datetime:
        at = utc()
        bench.clock.tick(30.0)
        return at

    session._watch._clock = SetClock(bench.clock.now_s, bench.clock.at)
    session._watch._clock.utc = stalled  # type: ignore[method-assign]
    session._watch._clock.monotonic = bench.clock.monotonic  # type: ignore[method-assign]
    bench.beat(session)
    assert told(session) == []


def test_the_time_without_a_disk_is_told_when_it_is_back(bench: Bench, disk: Disk) -> None:
    session = bench.opened()
    disk.full = True
    assert isinstance(session.enter(NOTE), NotSaved)
    for _ in range(30):
        bench.beat(session)
    disk.full = False
    assert isinstance(session.enter(NOTE), Saved)
    assert session.snapshot.trouble == ""
    (interrupted,) = of_kind(kept(session), ev.RecordDisturbed)
    assert (interrupted.what, interrupted.seconds) == ("not written", 30.0)
    assert "the disk is full" in interrupted.why
    assert standing(session) == {"record-interrupted"}


def test_a_disk_that_turned_read_only_is_said_and_gone_on_with(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    session = bench.opened()
    write = session._writer._write

    def refused(descriptor: int, data: bytes) -> int:
        raise OSError(errno.EROFS, "read-only")

    session._writer._write = refused
    outcome = session.enter(NOTE)
    assert isinstance(outcome, NotSaved) and "the disk is read-only" in outcome.why
    assert session.snapshot.trouble == outcome.why
    session._writer._write = write
    assert session.enter(NOTE) == Saved((2,))


@pytest.mark.skipif(os.name != "posix", reason="an open file cannot be moved on this system")
def test_a_file_that_is_moved_is_told_once_and_recorded_where_it_is(bench: Bench) -> None:
    session = bench.opened()
    moved = session.path.rename(session.path.with_name("moved.jsonl"))
    for _ in range(3):
        bench.beat(session)
    assert standing(session) == {"session-moved"}
    assert isinstance(session.enter(NOTE), Saved)
    moved.rename(session.path)
    bench.beat(session)
    assert told(session) == [("file moved", 0.0)]


@pytest.mark.skipif(os.name != "posix", reason="an open file cannot be deleted on this system")
def test_a_file_that_is_deleted_is_put_back_and_told(bench: Bench) -> None:
    session = bench.opened()
    assert isinstance(session.enter(NOTE), Saved)
    session.path.unlink()
    assert isinstance(session.enter(NOTE), Saved)
    bench.beat(session)
    assert told(session) == [("file put back", 0.0)]
    assert len(of_kind(kept(session), ev.NoteWritten)) == 2
    assert standing(session) == {"session-moved"}


def test_a_program_that_writes_between_is_not_written_over(bench: Bench) -> None:
    """A second recorder is kept out by the lock; this is any other program."""
    session = bench.opened()
    before = session.path.read_bytes()
    session.path.write_bytes(before + b"scribbled")
    outcome = session.enter(NOTE)
    assert isinstance(outcome, NotSaved) and "another program has changed" in outcome.why
    assert session.path.read_bytes() == before + b"scribbled"
    session.path.write_bytes(before)
    assert isinstance(session.enter(NOTE), Saved)


@pytest.mark.skipif(os.name != "posix", reason="a lock that is held cannot be deleted on this system")
def test_two_recorders_that_got_past_a_deleted_lock_do_not_write_over_each_other(bench: Bench) -> None:
    first = bench.opened()
    assert isinstance(first.enter(NOTE), Saved)
    for lock in bench.folder.glob("*.lock"):
        lock.unlink()
    second = bench.resumed(first.path)
    outcome = first.enter(want.WriteNote("from the first"))
    assert isinstance(outcome, NotSaved) and "another program has changed" in outcome.why
    assert isinstance(second.enter(want.WriteNote("from the second")), Saved)
    assert [note.text for note in of_kind(kept(second), ev.NoteWritten)] == ["rain", "from the second"]


@pytest.mark.skipif(os.name != "posix" or not hasattr(os, "geteuid"), reason="rights are kept otherwise here")
def test_a_session_in_a_folder_without_rights_is_refused_in_words(tmp_path: Path) -> None:
    if os.geteuid() == 0:
        pytest.skip("nothing is refused to root")
    bench = Bench(tmp_path)
    session = bench.opened()
    session.close()
    session.path.chmod(0o400)
    with pytest.raises(RecordFault, match="no permission"):
        bench.resumed(session.path)


# --- an error in the program ------------------------------------------------------------------------------------------


def test_an_entry_that_is_saved_counts_whatever_goes_wrong_after_it(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = bench.opened()
    with monkeypatch.context() as patch:
        patch.setattr(session._watch, "recovered", _bug)
        assert session.enter(NOTE) == Saved((2,))
        assert "error in the program" in session.snapshot.trouble
    bench.beat(session)
    assert session.snapshot.trouble == ""
    assert len(of_kind(kept(session), ev.NoteWritten)) == 1


def test_a_reading_that_brings_out_a_bug_does_not_block_what_follows(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    session = bench.opened()
    apply = fold.apply

    def fails(state: Any, entry: Any) -> Any:
        if isinstance(entry.event, ev.Heartbeat):
            raise ZeroDivisionError
        return apply(state, entry)

    with monkeypatch.context() as patch:
        patch.setattr(fold, "apply", fails)
        with pytest.raises(ZeroDivisionError):
            bench.beat(session)
        assert isinstance(session.enter(NOTE), Saved)
    bench.beat(session)
    assert len(of_kind(kept(session), ev.NoteWritten)) == 1


def _bug(*_: object) -> Any:
    raise ZeroDivisionError("a bug")


# --- a disk that hangs ------------------------------------------------------------------------------------------------


@pytest.fixture
def recorder(disk: Disk, bench: Bench) -> Iterator[Recorder]:
    recorder = Recorder.opened(plan(meter=None), bench.folder, bench.clock, bench.make_meter)
    recorder.start()
    yield recorder
    disk.gate.set()
    recorder.stop()


def test_a_disk_that_hangs_is_on_the_screen_though_nothing_is_published(
    recorder: Recorder, disk: Disk, bench: Bench
) -> None:
    disk.reached.clear()
    disk.gate.clear()
    answer = recorder.submit(NOTE)
    assert disk.reached.wait(20.0)
    assert recorder.snapshot.trouble == ""
    bench.clock.now_s += 5.0
    assert "has not answered for 5 s" in recorder.snapshot.trouble
    assert recorder.snapshot.state.number == 1
    disk.gate.set()
    assert isinstance(answer.result(20.0), Saved)
    assert wait_until(lambda: recorder.snapshot.trouble == "", 20.0)


@pytest.mark.filterwarnings("ignore::pytest.PytestUnhandledThreadExceptionWarning")
def test_a_recorder_that_ended_by_itself_does_not_look_as_if_it_recorded(
    recorder: Recorder, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(recorder._session, "enter", _ends)
    recorder.submit(NOTE)
    assert wait_until(lambda: "ended by an error" in recorder.snapshot.trouble, 20.0)


def _ends(*_: object) -> Any:
    raise SystemExit
