"""The second copy is the session's beginning, byte for byte, whatever stood there, went away or came back."""

import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tally.record import copy as copy_module
from tally.record.copy import Copy, Missing
from tally.record.fault import RecordFault
from tests.record.sessions import BODIES, chained

LINES = chained(BODIES)
WHOLE = b"".join(LINES)


@pytest.fixture
def session(tmp_path: Path) -> Path:
    path = tmp_path / "a.jsonl"
    path.write_bytes(WHOLE)
    return path


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    folder = tmp_path / "stick"
    folder.mkdir()
    return folder


def test_it_follows_the_session_line_by_line(session: Path, stick: Path) -> None:
    copy = Copy(session, stick)
    for count in range(1, len(LINES) + 1):
        length = sum(map(len, LINES[:count]))
        copy.bring(length)
        assert copy.path.read_bytes() == WHOLE[:length], "what is not saved yet is not copied"
        assert (copy.length, copy.lines) == (length, count)
    copy.close()


def test_a_copy_that_is_there_already_is_gone_on_with(session: Path, stick: Path) -> None:
    (stick / "a.jsonl").write_bytes(WHOLE[:300])
    copy = Copy(session, stick)
    copy.bring(len(WHOLE))
    assert copy.path.read_bytes() == WHOLE and copy.lines == len(LINES)
    assert [item.name for item in stick.iterdir()] == ["a.jsonl"]


@pytest.mark.parametrize("other", [b"mine", WHOLE + b"more", WHOLE[:200] + b"?" + WHOLE[201:], b"\0" * 100])
def test_anything_else_of_its_name_is_set_aside_and_never_written_over(
    session: Path, stick: Path, other: bytes
) -> None:
    for count in (1, 2):
        (stick / "a.jsonl").write_bytes(other)
        copy = Copy(session, stick)
        copy.bring(len(WHOLE))
        copy.close()
        assert (stick / "a.jsonl").read_bytes() == WHOLE
        assert (stick / f"a.jsonl.other-{count}").read_bytes() == other


def test_a_folder_that_is_not_there_is_never_made(session: Path, stick: Path) -> None:
    copy = Copy(session, stick)
    copy.bring(len(LINES[0]))
    away = stick.rename(stick.with_name("away"))
    with pytest.raises(Missing):
        copy.bring(len(WHOLE))
    assert not stick.exists()
    away.rename(stick)
    copy.bring(len(WHOLE))
    assert copy.path.read_bytes() == WHOLE


def test_another_stick_in_its_place_gets_a_copy_of_its_own(session: Path, stick: Path) -> None:
    copy = Copy(session, stick)
    copy.bring(len(LINES[0]))
    stick.rename(stick.with_name("away"))
    stick.mkdir()
    copy.bring(len(WHOLE))
    assert copy.path.read_bytes() == WHOLE
    assert (stick.with_name("away") / "a.jsonl").read_bytes() == LINES[0], "nothing is written to what was pulled out"


def test_a_mount_point_without_its_stick_is_missing(
    session: Path, stick: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The folder of a stick that was pulled out may stay, on the machine's own disk."""
    monkeypatch.setattr(copy_module, "_device_beneath", lambda folder, device: None)
    copy = Copy(session, stick)
    copy.bring(len(LINES[0]))
    copy._beneath = stick.stat().st_dev
    with pytest.raises(Missing, match="nothing is mounted"):
        copy.bring(len(WHOLE))
    assert copy.path.read_bytes() == LINES[0]


def test_the_device_beneath_a_mount_point_is_that_of_its_parent() -> None:
    if not Path("/proc/self").exists():
        pytest.skip("no file system of its own that every machine has")
    proc, root = Path("/proc/self"), Path("/")
    found = copy_module._device_beneath(proc.resolve(), proc.stat().st_dev)
    assert found == root.stat().st_dev
    assert copy_module._device_beneath(root, root.stat().st_dev) is None


def test_the_session_itself_is_no_copy(session: Path, tmp_path: Path) -> None:
    with pytest.raises(RecordFault, match="the session itself"):
        Copy(session, tmp_path).bring(len(WHOLE))
    assert session.read_bytes() == WHOLE


@pytest.mark.skipif(os.name != "posix", reason="an open file cannot be deleted on this system")
def test_a_session_that_was_put_back_is_copied_on(session: Path, stick: Path) -> None:
    copy = Copy(session, stick)
    copy.bring(len(LINES[0]))
    session.unlink()
    session.write_bytes(WHOLE)
    copy.bring(len(WHOLE))
    assert copy.path.read_bytes() == WHOLE
    copy.path.unlink()
    copy.bring(len(WHOLE))
    assert copy.path.read_bytes() == WHOLE, "a copy that was deleted is made again"


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.sampled_from(["save", "away", "back", "truncate", "scribble", "delete"]), max_size=14))
def test_whatever_happens_to_it_the_copy_becomes_the_session(session: Path, stick: Path, happened: list[str]) -> None:
    copy, saved, away = Copy(session, stick), 1, stick.with_name("away")
    path = stick / "a.jsonl"
    for what in [*happened, "back", "save"]:
        if what == "save":
            saved = min(saved + 1, len(LINES))
        elif what == "away" and stick.exists():
            stick.rename(away)
        elif what == "back" and away.exists():
            away.rename(stick)
        elif path.exists() and what == "truncate":
            os.truncate(path, path.stat().st_size // 2)
        elif path.exists() and what == "scribble":
            path.write_bytes(b"scribble")
        elif path.exists() and what == "delete":
            path.unlink()
        length = sum(map(len, LINES[:saved]))
        try:
            copy.bring(length)
        except Missing:
            copy.close()
        else:
            assert path.read_bytes() == WHOLE[:length]
    copy.close()
    for left in stick.iterdir():
        left.unlink()
