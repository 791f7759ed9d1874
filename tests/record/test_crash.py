"""Stopped at every call and cut at every byte: the file holds what was acknowledged, or that and the line under way.

The way of it is that of SQLite's crash tests (https://www.sqlite.org/testing.html, section 3.3): only "before" and
"after" are legal.
"""

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tally.record.fault import RecordFault
from tally.record.reader import read
from tally.record.writer import Writer
from tests.record.disk import Disk, Stopped
from tests.record.sessions import BODIES, chained

pytestmark = pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="the disk's model looks through /proc")

LINES = chained(BODIES)
WHOLE = b"".join(LINES)
TORN = b'{"number":4,"half a line'


def _new(path: Path, saved: list[bytes]) -> None:
    """A session from its first line to its last."""
    with Writer.create(path, BODIES[0]) as writer:
        saved.append(LINES[0])
        for body, line in zip(BODIES[1:], LINES[1:], strict=True):
            writer.append(body)
            saved.append(line)


def _again(path: Path, saved: list[bytes]) -> None:
    """A session with a torn tail is taken up again."""
    saved += LINES[:3]
    with Writer.resume(path, read(path)) as writer:
        for body, line in zip(BODIES[3:], LINES[3:], strict=True):
            writer.append(body)
            saved.append(line)


def _stops(work: Callable[[Path, list[bytes]], None], start: bytes, folder: Path) -> Iterator[tuple[Disk, list[bytes]]]:
    """The disk after a stop at the first, second ... last call, and what was acknowledged by then."""
    for stop_at in range(1, 200):
        path = folder / f"{stop_at}" / "a.jsonl"
        path.parent.mkdir()
        disk, saved = Disk(stop_at), list[bytes]()
        if start:
            path.write_bytes(start)
            disk.hold(path)
        try:
            with disk.installed():
                work(path, saved)
        except Stopped:
            yield disk, saved
        else:
            assert stop_at > 10 and saved == LINES
            return


@pytest.mark.parametrize(("work", "start"), [(_new, b""), (_again, b"".join(LINES[:3]) + TORN)], ids=["new", "again"])
def test_stopped_at_any_call_only_before_and_after_are_on_the_disk(
    work: Callable[[Path, list[bytes]], None], start: bytes, tmp_path: Path
) -> None:
    stops = 0
    for disk, saved in _stops(work, start, tmp_path):
        stops += 1
        folder = tmp_path / f"{disk.calls}"
        path, acknowledged = folder / "a.jsonl", b"".join(saved)
        for place, found in enumerate(list(disk.may_hold(path))):
            if not found:
                assert not acknowledged, "a session that was acknowledged is there"
                continue
            assert found.startswith(acknowledged)
            rest = found[len(acknowledged) :]
            assert WHOLE.startswith(found) or TORN.startswith(rest) or not rest.strip(b"\0")
            if TORN in start and TORN not in found:
                assert TORN in {disk.settled(aside) for aside in folder.glob("*.torn-*")}, "set aside before cut off"
            _goes_on(folder / f"again-{place}.jsonl", found, len(saved))
    assert stops > 8


def _goes_on(path: Path, found: bytes, acknowledged: int) -> None:
    """Taken up again from what the disk held, the session is written to its end as if nothing had been."""
    path.write_bytes(found)
    try:
        reading = read(path)
    except RecordFault:
        assert not acknowledged, "nothing was ever saved in it"
        return
    assert not reading.problems and acknowledged <= reading.count <= acknowledged + 1
    with Writer.resume(path, reading, fsync=lambda _: None) as writer:
        for body in BODIES[writer.count :]:
            writer.append(body)
    assert path.read_bytes() == WHOLE


FAULTS = ("ENOSPC", "EIO", "EROFS", "EDQUOT", "short")


def test_failing_at_any_call_costs_no_line_and_repeats_none(tmp_path: Path) -> None:
    """Every call of a session fails in turn, in every way; what failed is asked for again."""
    failed = 0
    for fault in FAULTS:
        for call in range(5, 25):
            path = tmp_path / f"{fault}-{call}.jsonl"
            with (
                Disk(faults={call: fault, call + 2: fault}).installed() as disk,
                Writer.create(path, BODIES[0]) as writer,
            ):
                while writer.count < len(BODIES):
                    saved = writer.count
                    try:
                        writer.append(BODIES[saved])
                    except RecordFault:
                        failed += 1
                        assert writer.count == saved
                    for found in disk.may_hold(path):
                        assert found is not None and found.startswith(b"".join(LINES[: writer.count]))
            assert path.read_bytes() == WHOLE
    assert failed > 50


def test_a_session_deleted_while_it_is_written_is_put_back_whole(tmp_path: Path) -> None:
    for call in range(12):
        path = tmp_path / f"{call}.jsonl"
        disk = Disk()
        with disk.installed(), Writer.create(path, BODIES[0]) as writer:
            writer.append(BODIES[1])
            path.rename(tmp_path / "gone")
            os.remove(tmp_path / "gone")  # noqa: PTH107  # not through the layer
            disk.faults = {disk.calls + call: "EIO"}
            while writer.count < len(BODIES):
                try:
                    writer.append(BODIES[writer.count])
                    assert path.read_bytes() == b"".join(LINES[: writer.count])
                except RecordFault as fault:
                    assert "the disk reported an error" in str(fault)
            assert writer.rewritten == 1 and not writer.moved
        assert path.read_bytes() == WHOLE


def test_a_deleted_session_waits_for_its_name(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    with Writer.create(path, BODIES[0]) as writer:
        path.unlink()
        path.write_bytes(b"mine")
        with pytest.raises(RecordFault, match="another file has its name"):
            writer.append(BODIES[1])
        assert path.read_bytes() == b"mine"
        path.unlink()
        writer.append(BODIES[1])
    assert path.read_bytes() == b"".join(LINES[:2])
