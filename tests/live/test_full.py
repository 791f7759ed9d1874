"""A real file system that runs full, in memory and small; left out, with a word, where it cannot be mounted."""

import os
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from tally.job import events as ev
from tally.job import intents as want
from tally.live.loading import load
from tally.live.session import NotSaved, Saved
from tally.record.fault import RecordFault
from tests.live.support import Bench, kept, of_kind


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """64 kB of disk."""
    folder = tmp_path / "disk"
    folder.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=64k", "tally-test", str(folder)]
    if os.name != "posix" or subprocess.run(mount, capture_output=True, check=False).returncode:
        pytest.skip("no right to mount a small file system here")
    yield folder
    subprocess.run(["umount", "--lazy", str(folder)], check=True)


def test_a_disk_that_runs_full_says_so_and_the_job_goes_on_when_there_is_room(small_disk: Path) -> None:
    bench = Bench(small_disk)
    session = bench.opened()
    ballast = small_disk / "photographs"
    ballast.write_bytes(bytes(36 * 1024))
    answered: list[str] = []
    count = 0
    while not session.snapshot.trouble:
        bench.beat(session, 100.0 + count / 10)
        count += 1
        text = f"note {count} " + "x" * 300
        outcome = session.enter(want.WriteNote(text))
        if isinstance(outcome, Saved):
            answered.append(text)
        assert count < 500
    assert isinstance(session.enter(want.WriteNote("y" * 1_500)), NotSaved)
    assert "disk is full; free some space" in session.snapshot.trouble
    assert len(answered) > 10
    for _ in range(5):
        bench.beat(session, 100.0 + count / 10)
        count += 1
    assert "disk is full" in session.snapshot.trouble
    ballast.unlink()
    assert isinstance(session.enter(want.WriteNote("room again")), Saved)
    assert session.snapshot.trouble == ""
    bench.beat(session)
    entries = kept(session)
    session.close()
    assert [note.text for note in of_kind(entries, ev.NoteWritten)] == [*answered, "room again"]
    assert len(of_kind(entries, ev.Heartbeat)) == count + 1
    again = bench.resumed(session.path)
    again.close()


def test_a_disk_that_is_full_from_the_start_leaves_nothing_behind(small_disk: Path) -> None:
    (small_disk / "photographs").write_bytes(bytes(64 * 1024))
    with pytest.raises(RecordFault, match="disk is full"):
        Bench(small_disk).opened()
    assert not list(small_disk.glob("*.jsonl"))


def test_a_disk_that_was_mounted_read_only_is_refused_in_words(small_disk: Path) -> None:
    bench = Bench(small_disk)
    session = bench.opened()
    session.close()
    before = session.path.read_bytes()
    subprocess.run(["mount", "-o", "remount,ro", str(small_disk)], check=True)
    with pytest.raises(RecordFault, match="the disk is read-only; choose another folder or remount it"):
        bench.resumed(session.path)
    with pytest.raises(RecordFault, match="read-only"):
        bench.opened()
    assert session.path.read_bytes() == before
    assert not load(session.path).problems, "it is replayed and reported as ever"
