"""Watching a session that a second program records: what is shown, what is waited for, and that nothing is touched."""

import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from tally.job import events as ev
from tally.job import intents as want
from tally.job.coding import encoded
from tally.job.decide.refusal import Refusal
from tally.live import follower as module
from tally.live.clock import SystemClock
from tally.live.follower import Follower, begun
from tally.live.loading import open_session
from tally.record.fault import RecordFault
from tests.live.terminal import ROOT, environment
from tests.meters.support import wait_until
from tests.record.sessions import chained
from tests.scenario import Day, grouting_day, plan

RECORD = """
import sys
from pathlib import Path
from tally.job import intents as want
from tally.live.clock import SystemClock
from tally.live.recorder import Recorder
from tests.scenario import plan
recorder = Recorder.opened(plan(meter=None), Path(sys.argv[1]), SystemClock(), lambda *_: None)
recorder.start()
print(recorder.path, flush=True)
for line in sys.stdin:
    outcome = recorder.submit(want.WriteNote(line.strip())).result(timeout=20)
    print(outcome, flush=True)
recorder.stop()
"""


@contextmanager
def recording(folder: Path) -> "Iterator[tuple[Path, subprocess.Popen[str]]]":
    """A second program that records a session in `folder` and writes down each line that it is given as a note."""
    child = subprocess.Popen(
        [sys.executable, "-c", RECORD, str(folder)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        cwd=ROOT,
        env=environment(folder),
    )
    assert child.stdin is not None and child.stdout is not None
    try:
        yield Path(child.stdout.readline().strip()), child
    finally:
        child.stdin.close()
        child.wait(20.0)
        child.stdout.close()


class HeldClock:
    """Time as a test says."""

    speed = 1.0

    def __init__(self, at: datetime) -> None:
        self.at, self.mono_s = at, 100.0

    def utc(self) -> datetime:
        return self.at

    def monotonic(self) -> float:
        return self.mono_s

    def move(self, seconds: float) -> None:
        self.at += timedelta(seconds=seconds)
        self.mono_s += seconds


def lines_of(day: Day) -> list[bytes]:
    return chained(tuple(encoded(entry) for entry in day.entries))


def test_it_shows_what_a_second_program_records_and_touches_nothing(tmp_path: Path) -> None:
    with recording(tmp_path) as (path, child):
        assert child.stdin is not None
        before = {each.name for each in tmp_path.iterdir()}
        follower = Follower(path, SystemClock())
        for text in ("first", "second"):
            child.stdin.write(text + "\n")
            child.stdin.flush()

            def noted(text: str = text) -> bool:
                follower.advance()
                kept = [kept.entry.event for kept in follower.snapshot.state.entries]
                return any(isinstance(event, ev.NoteWritten) and event.text == text for event in kept)

            assert wait_until(noted, 20.0), text
        assert follower.silent_since is None
        assert abs(follower.behind_s) < 20.0
        assert {each.name for each in tmp_path.iterdir()} == before
        refused = follower.submit(want.WriteNote("not here")).result()
        assert isinstance(refused, Refusal)
    follower.advance()
    whole = open_session(path)
    assert follower.snapshot.state == whole.state
    assert follower.snapshot.chain == whole.extent.chain
    assert b"not here" not in path.read_bytes()


def test_any_growth_comes_to_what_the_whole_file_comes_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "CHUNK", 3)
    day = grouting_day(alarms=True)
    day.batch()
    day.pump(0.4, seconds=12)
    lines = lines_of(day)
    path = tmp_path / "grows.jsonl"
    data = b"".join(lines)
    path.write_bytes(lines[0])
    follower = Follower(path, SystemClock())
    step = len(data) // 37 + 1
    for end in range(len(lines[0]), len(data) + step, step):
        path.write_bytes(data[:end])  # most ends lie within a line
        for _ in range(len(lines)):
            follower.advance()
    assert follower.snapshot.state == open_session(path).state
    assert follower.damage == ""


def test_a_torn_line_is_waited_for_and_one_cut_off_again_is_no_fault(tmp_path: Path) -> None:
    day = Day()
    day.joints([5.05] * 3)
    lines = lines_of(day)
    path = tmp_path / "torn.jsonl"
    path.write_bytes(b"".join(lines[:-1]) + lines[-1][:30])
    follower = Follower(path, SystemClock())
    follower.advance()
    number = follower.snapshot.state.number
    path.write_bytes(b"".join(lines[:-1]))  # as the recorder does when it takes the session up again
    follower.advance()
    assert (follower.trouble, follower.damage) == ("", "")
    path.write_bytes(b"".join(lines))
    follower.advance()
    assert follower.snapshot.state.number == number + 1


def test_a_recorder_that_falls_silent_is_told_and_is_no_damage(tmp_path: Path) -> None:
    day = Day()
    lines = lines_of(day)
    day.joint()
    more = lines_of(day)[len(lines) :]
    path = tmp_path / "silent.jsonl"
    path.write_bytes(b"".join(lines))
    last = open_session(path).state.at
    clock = HeldClock(last + timedelta(seconds=2))
    follower = Follower(path, clock)
    assert (follower.behind_s, follower.silent_since) == (2.0, None)
    clock.move(2.9)
    follower.advance()
    assert follower.silent_since is None
    clock.move(0.2)
    follower.advance()
    assert str(follower.silent_since) == str(last)
    assert (follower.damage, follower.trouble) == ("", "")
    path.write_bytes(b"".join([*lines, *more]))
    follower.advance()
    assert follower.silent_since is None
    # Opened long after the last entry: silent at once.
    late = Follower(path, HeldClock(datetime(2030, 1, 1, tzinfo=UTC)))
    assert late.silent_since == late.snapshot.state.at


def test_damage_in_what_comes_is_named_and_the_rest_is_shown(tmp_path: Path) -> None:
    day = Day()
    day.joints([5.05] * 4)
    lines = lines_of(day)
    lines[-3] = lines[-3].replace(b'"number"', b'"nimber"')
    path = tmp_path / "damaged.jsonl"
    path.write_bytes(lines[0])
    follower = Follower(path, SystemClock())
    path.write_bytes(b"".join(lines))
    follower.advance()
    assert follower.snapshot.state.number == len(lines)
    assert f"line {len(lines) - 2}" in follower.damage


def test_a_file_that_goes_away_or_shrinks_is_said_and_survived(tmp_path: Path) -> None:
    day = Day()
    day.joints([5.05] * 2)
    lines = lines_of(day)
    path = tmp_path / "gone.jsonl"
    path.write_bytes(b"".join(lines[:-1]))
    follower = Follower(path, SystemClock())
    number = follower.snapshot.state.number
    path.unlink()
    follower.advance()
    assert "cannot be read just now" in follower.trouble
    path.write_bytes(lines[0])
    follower.advance()
    assert "shorter" in follower.trouble
    path.write_bytes(b"".join(lines))
    follower.advance()
    assert follower.trouble == ""
    assert follower.snapshot.state.number == number + 1


def test_only_a_first_line_is_a_beginning(tmp_path: Path) -> None:
    path = tmp_path / "new.jsonl"
    assert not begun(path)
    path.touch()
    assert not begun(path)
    line = lines_of(Day(plan(meter=None)))[0]
    path.write_bytes(line[:-5])
    assert not begun(path)
    path.write_bytes(line)
    assert begun(path)
    path.write_bytes(b"dig\n")
    with pytest.raises(RecordFault, match="not a session"):
        Follower(path, SystemClock())
