"""One recorder a session, tried with real processes."""

import json
import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from tally.record.fault import RecordFault
from tally.record.lock import SessionLock

HOLD = """
import sys
from pathlib import Path
from tally.record.lock import SessionLock
with SessionLock(Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.readline()
print("free", flush=True)
"""

TRY = """
import sys
from pathlib import Path
from tally.record.fault import RecordFault
from tally.record.lock import SessionLock
try:
    with SessionLock(Path(sys.argv[1])):
        print("held")
except RecordFault as fault:
    print(fault)
"""


def hold(path: Path) -> subprocess.Popen[str]:
    child = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    assert child.stdout is not None and child.stdout.readline() == "held\n"
    return child


def test_a_second_program_is_refused_and_told_who_holds_the_session(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    path.write_bytes(b"content")
    child = hold(path)
    try:
        with pytest.raises(
            RecordFault, match=rf"recorded by another program \(pid {child.pid}, host .+, since \d{{4}}-"
        ):
            SessionLock(path).acquire()
        assert path.read_bytes() == b"content", "the session itself is never locked"
    finally:
        assert child.communicate("\n", timeout=30)[0] == "free\n"
    with SessionLock(path):
        pass


def test_this_program_keeps_a_second_one_out_until_it_is_done(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"

    def other() -> str:
        return subprocess.run(
            [sys.executable, "-c", TRY, str(path)], capture_output=True, text=True, check=True, timeout=60
        ).stdout

    with SessionLock(path):
        assert f"pid {os.getpid()}" in other()
    assert other() == "held\n"


def test_a_killed_holder_leaves_no_lock(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    child = hold(path)
    child.kill()
    child.communicate(timeout=30)
    with SessionLock(path):
        holder = json.loads((tmp_path / "a.jsonl.holder").read_text(encoding="utf-8"))
        assert holder["pid"] == os.getpid()
    assert not (tmp_path / "a.jsonl.holder").exists()


def test_the_lock_may_be_let_go_of_by_another_thread(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    lock = SessionLock(path)
    lock.acquire()
    thread = threading.Thread(target=lock.release)
    thread.start()
    thread.join(timeout=30)
    with SessionLock(path):
        pass


def test_the_same_program_is_refused_twice_over(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    with SessionLock(path) as held:
        with pytest.raises(RecordFault):
            SessionLock(path).acquire()
        with pytest.raises(RecordFault, match="already"):
            held.acquire()
    with SessionLock(path):
        pass


def test_two_names_of_one_session_are_one_lock(tmp_path: Path) -> None:
    path, alias = tmp_path / "a.jsonl", tmp_path / "b.jsonl"
    path.write_bytes(b"")
    try:
        alias.symlink_to(path)
    except OSError:
        pytest.skip("no symbolic links here")
    with SessionLock(path), pytest.raises(RecordFault, match="another program"):
        SessionLock(alias).acquire()


@pytest.mark.parametrize("content", [b"", b"\xff", b"[]", b'{"pid":"x"}', b"[" * 5000])
def test_a_spoiled_note_of_the_holder_spoils_no_message(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "a.jsonl"
    with SessionLock(path):
        (tmp_path / "a.jsonl.holder").write_bytes(content)
        with pytest.raises(RecordFault, match="it has not said which"):
            SessionLock(path).acquire()


def test_a_folder_that_is_not_there_is_said_so(tmp_path: Path) -> None:
    with pytest.raises(RecordFault, match="cannot lock"):
        SessionLock(tmp_path / "none" / "a.jsonl").acquire()
    assert list(tmp_path.iterdir()) == []
