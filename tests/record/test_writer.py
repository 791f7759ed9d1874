"""What was reported as saved is in the file, whatever write, fsync, the disk or a killed process do."""

import errno
import hashlib
import json
import os
import signal
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tally.record.fault import RecordFault
from tally.record.line import MAX_LINE_BYTES
from tally.record.reader import read
from tally.record.writer import Writer
from tests.record.sessions import BODIES, chained, written

LINES = chained(BODIES)


def test_what_is_written_is_the_format_byte_for_byte(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    with Writer.create(path, BODIES[0]) as writer:
        for count, body in enumerate(BODIES[1:], start=2):
            chain = writer.append(body)
            assert (writer.count, writer.chain) == (count, chain)
            assert path.read_bytes() == b"".join(LINES[:count]), "on return the line is in the file"
    if os.name == "posix":
        assert path.stat().st_mode & 0o133 == 0, "others may read it and nobody else may write to it"
    assert all(json.loads(line) for line in path.read_text(encoding="utf-8").splitlines())


def test_each_line_is_one_write_then_one_fsync_and_the_folder_follows(tmp_path: Path) -> None:
    calls: list[str] = []

    def write(descriptor: int, data: bytes) -> int:
        calls.append("write")
        return os.write(descriptor, data)

    def fsync(descriptor: int) -> None:
        calls.append("fsync folder" if stat.S_ISDIR(os.fstat(descriptor).st_mode) else "fsync")
        os.fsync(descriptor)

    with Writer.create(tmp_path / "a.jsonl", BODIES[0], write=write, fsync=fsync) as writer:
        assert calls == ["write", "fsync", *([] if os.name == "nt" else ["fsync folder"])]
        calls.clear()
        writer.append(BODIES[1])
    assert calls == ["write", "fsync"]


def test_an_existing_file_is_never_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    path.write_text("mine")
    with pytest.raises(RecordFault, match="never overwritten"):
        Writer.create(path, BODIES[0])
    assert path.read_text() == "mine"


def test_a_session_that_cannot_be_started_leaves_nothing(tmp_path: Path) -> None:
    def full(descriptor: int, data: bytes) -> int:
        raise OSError(errno.ENOSPC, "no space")

    with pytest.raises(RecordFault, match="disk is full"):
        Writer.create(tmp_path / "a.jsonl", BODIES[0], write=full)
    with pytest.raises(RecordFault, match="check the path"):
        Writer.create(tmp_path / "none" / "a.jsonl", BODIES[0])
    assert list(tmp_path.iterdir()) == []


class Faulty:
    """A disk on which chosen calls fail; `calls` counts writes and fsyncs together."""

    def __init__(self, plan: dict[int, str]) -> None:
        self.plan = plan
        self.calls = 0

    def write(self, descriptor: int, data: bytes) -> int:
        self.calls += 1
        match self.plan.get(self.calls):
            case "short":
                return os.write(descriptor, data[: len(data) // 2])
            case "full":
                raise OSError(errno.ENOSPC, "no space left")
            case "error":
                os.write(descriptor, data[:-1])
                raise OSError(errno.EIO, "input/output error")
        return os.write(descriptor, data)

    def fsync(self, descriptor: int) -> None:
        self.calls += 1
        if self.plan.get(self.calls):
            raise OSError(errno.EIO, "input/output error")


@pytest.mark.parametrize("kind", ["short", "full", "error"])
@pytest.mark.parametrize("call", range(4, 18))
def test_after_a_fault_the_same_entry_is_saved_by_trying_again(tmp_path: Path, kind: str, call: int) -> None:
    path, disk = tmp_path / "a.jsonl", Faulty({call: kind})
    writer = Writer.create(path, BODIES[0], write=disk.write, fsync=disk.fsync)
    faults = 0
    for count, body in enumerate(BODIES[1:], start=1):
        try:
            writer.append(body)
        except RecordFault as fault:
            faults += 1
            assert "disk" in str(fault)
            assert path.read_bytes() == b"".join(LINES[:count]), "nothing of the entry that failed is left"
            writer.append(body)
    writer.close()
    assert faults == (1 if disk.calls >= call else 0)
    assert path.read_bytes() == b"".join(LINES)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150)
@given(st.dictionaries(st.integers(4, 40), st.sampled_from(["short", "full", "error"]), max_size=20))
def test_only_before_and_after_are_ever_on_the_disk(tmp_path: Path, plan: dict[int, str]) -> None:
    path, disk = tmp_path / "a.jsonl", Faulty(plan)
    path.unlink(missing_ok=True)
    saved = 1
    with Writer.create(path, BODIES[0], write=disk.write, fsync=disk.fsync) as writer:
        for _ in range(25):
            if saved == len(BODIES):
                break
            try:
                writer.append(BODIES[saved])
                saved += 1
            except RecordFault:
                assert writer.count == saved
            found = read(path)
            bodies = [line.body for line in found.lines]
            assert bodies[:saved] == list(BODIES[:saved]), "what was reported as saved is there"
            assert len(bodies) <= saved and not found.problems
    assert read(path).whole


def test_a_fault_whose_mending_fails_too_is_mended_by_the_next_append(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    disk = Faulty({4: "error", 5: "fsync", 6: "fsync", 7: "fsync"})
    writer = Writer.create(path, BODIES[0], write=disk.write, fsync=disk.fsync)
    for _ in range(2):
        with pytest.raises(RecordFault):
            writer.append(BODIES[1])
    for body in BODIES[1:]:
        writer.append(body)
    writer.close()
    assert path.read_bytes() == b"".join(LINES)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is always full")
def test_a_real_full_disk_has_plain_words(tmp_path: Path) -> None:
    full = os.open("/dev/full", os.O_WRONLY)
    path, filled = tmp_path / "a.jsonl", [False]

    def write(descriptor: int, data: bytes) -> int:
        return os.write(full if filled[0] else descriptor, data)

    with Writer.create(path, BODIES[0], write=write) as writer:
        filled[0] = True
        with pytest.raises(RecordFault, match="disk is full"):
            writer.append(BODIES[1])
        filled[0] = False
        writer.append(BODIES[1])
    os.close(full)
    assert path.read_bytes() == b"".join(LINES[:2])


UNTIL_FULL = """
import resource, sys
from pathlib import Path
from tally.record.fault import RecordFault
from tally.record.writer import Writer
path = Path(sys.argv[1])
writer = Writer.create(path, b'{"number":0}')
most = resource.getrlimit(resource.RLIMIT_FSIZE)[1]
resource.setrlimit(resource.RLIMIT_FSIZE, (3000, most))
try:
    while True:
        writer.append(b'{"number":%d}' % writer.count)
except RecordFault as fault:
    print(writer.count, path.stat().st_size, fault)
resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
writer.append(b'{"number":%d}' % writer.count)
"""


@pytest.mark.skipif(os.name != "posix", reason="no limit on the size of a file on this system")
def test_a_short_write_by_the_system_itself_costs_nothing_that_was_saved(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    child = subprocess.run(
        [sys.executable, "-c", UNTIL_FULL, str(path)], capture_output=True, text=True, check=True, timeout=60
    )
    count, size, words = child.stdout.split(" ", 2)
    assert 2800 < int(size) < 3000 and "not saved" in words
    lines = path.read_bytes().splitlines(keepends=True)
    assert lines == chained(tuple(b'{"number":%d}' % number for number in range(int(count) + 1)))
    assert sum(map(len, lines[:-1])) == int(size)


def test_an_entry_that_is_too_long_changes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    with Writer.create(path, BODIES[0]) as writer:
        with pytest.raises(RecordFault, match="shorten"):
            writer.append(b'{"a":"' + b"x" * MAX_LINE_BYTES + b'"}')
        writer.append(BODIES[1])
    assert path.read_bytes() == b"".join(LINES[:2])


def test_another_program_that_writes_to_the_file_is_noticed(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    with Writer.create(path, BODIES[0]) as writer:
        with path.open("ab") as other:
            other.write(b"from elsewhere\n")
        with pytest.raises(RecordFault, match="another program"):
            writer.append(BODIES[1])
    assert path.read_bytes() == LINES[0] + b"from elsewhere\n", "what the other program wrote is left alone"


def test_a_moved_file_is_still_written_under_its_new_name(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    with Writer.create(path, BODIES[0]) as writer:
        moved = [writer.moved]
        path.rename(tmp_path / "b.jsonl")
        moved.append(writer.moved)
        assert moved == [False, True]
        writer.append(BODIES[1])
        assert (tmp_path / "b.jsonl").read_bytes() == b"".join(LINES[:2])


def test_a_closed_writer_refuses(tmp_path: Path) -> None:
    writer = Writer.create(tmp_path / "a.jsonl", BODIES[0])
    writer.close()
    writer.close()
    with pytest.raises(RecordFault, match="closed"):
        writer.append(BODIES[1])


def test_resume_goes_on_where_the_session_ended(tmp_path: Path) -> None:
    path = written(tmp_path / "a.jsonl", LINES[:3])
    with Writer.resume(path, read(path)) as writer:
        assert writer.count == 3
        for body in BODIES[3:]:
            writer.append(body)
    assert path.read_bytes() == b"".join(LINES)
    assert [item.name for item in tmp_path.iterdir()] == ["a.jsonl"]


def test_resume_sets_every_torn_tail_aside_and_overwrites_none(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    path.write_bytes(LINES[0])
    for count, torn in enumerate([b"\0" * 5000, LINES[1][:-1], b"\xff"], start=1):
        with path.open("ab") as file:
            file.write(torn)
        with Writer.resume(path, read(path)) as writer:
            writer.append(BODIES[count])
        assert (tmp_path / f"a.jsonl.torn-{count}").read_bytes() == torn
        assert path.read_bytes() == b"".join(LINES[: count + 1])


def test_resume_after_every_cut_goes_on_with_a_whole_session(tmp_path: Path) -> None:
    whole, path = b"".join(LINES[:3]), tmp_path / "a.jsonl"
    for size in range(len(LINES[0]), len(whole)):
        path.write_bytes(whole[:size])
        with Writer.resume(path, read(path), fsync=lambda _: None) as writer:
            for body in BODIES[writer.count : 3]:
                writer.append(body)
        assert path.read_bytes() == whole


def test_resume_leaves_the_session_alone_when_the_tail_cannot_be_copied(tmp_path: Path) -> None:
    path = written(tmp_path / "a.jsonl", [LINES[0], b"torn"])

    def fsync(descriptor: int) -> None:
        raise OSError(errno.ENOSPC, "no space left")

    with pytest.raises(RecordFault, match="disk is full"):
        Writer.resume(path, read(path), fsync=fsync)
    assert path.read_bytes() == LINES[0] + b"torn"
    assert [item.name for item in tmp_path.iterdir()] == ["a.jsonl"]


def test_resume_refuses_a_file_that_has_changed_since(tmp_path: Path) -> None:
    path = written(tmp_path / "a.jsonl", LINES[:2])
    reading = read(path)
    written(path, LINES[:3])
    with pytest.raises(RecordFault, match="changed since"):
        Writer.resume(path, reading)
    path.unlink()
    with pytest.raises(RecordFault, match="check the path"):
        Writer.resume(path, reading)


def test_a_session_with_a_damaged_middle_can_be_gone_on_with_and_still_shows_it(tmp_path: Path) -> None:
    path = written(tmp_path / "a.jsonl", [LINES[0], LINES[1].replace(b"6.02", b"7.02"), *LINES[2:6]])
    with Writer.resume(path, read(path)) as writer:
        assert writer.count == 6
        writer.append(BODIES[6])
    reading = read(path)
    assert [problem.line for problem in reading.problems] == [2]
    assert [line.body for line in reading.lines] == [BODIES[0], *BODIES[2:]]


KEEP_WRITING = """
import sys
from pathlib import Path
from tally.record.reader import read
from tally.record.writer import Writer
path = Path(sys.argv[1])
writer = Writer.resume(path, read(path)) if path.exists() else Writer.create(path, b'{"number":0}')
while True:
    number = writer.count
    writer.append(b'{"number":%d,"pad":"%s"}' % (number, b"x" * (number * 37 % 5000)))
    print(number, flush=True)
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no SIGKILL on this system")
def test_what_a_killed_process_reported_as_saved_is_there(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    last = 0
    for round_number in range(10):
        child = subprocess.Popen([sys.executable, "-c", KEEP_WRITING, str(path)], stdout=subprocess.PIPE)
        assert child.stdout is not None
        first = int(child.stdout.readline())
        assert first >= last
        for _ in range(round_number * 3):
            child.stdout.readline()
        child.kill()
        printed = child.communicate(timeout=30)[0].split(b"\n")[:-1]
        last = max([first, *map(int, printed)])
        lines = path.read_bytes().split(b"\n")
        assert [json.loads(line)["number"] for line in lines[: last + 1]] == list(range(last + 1))
        reading = read(path)
        assert not reading.problems and reading.count > last
    previous = "0" * 64
    for line in path.read_bytes().splitlines()[: last + 1]:
        body = line[: line.rindex(b',"chain"')]
        previous = hashlib.sha256(previous.encode() + body).hexdigest()
        assert json.loads(line)["chain"] == previous
