"""Names that any file system takes, and sessions in the order in which they are looked for."""

import os
import re
from datetime import UTC, datetime
from pathlib import Path

import platformdirs
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from tally.record import folder as folder_module
from tally.record.fault import RecordFault
from tally.record.folder import new_session_path, sessions, sessions_folder

AT = datetime(2026, 6, 1, 7, 30, tzinfo=UTC)

# Names that Windows keeps for devices, with any extension, and characters that it takes in no name:
# Microsoft Learn, "Naming Files, Paths, and Namespaces".
RESERVED = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))}
FORBIDDEN = set('<>:"/\\|?*') | {chr(code) for code in range(32)}


def test_the_folder_that_was_asked_for_comes_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TALLY_HOME", str(tmp_path / "home"))
    assert sessions_folder(tmp_path / "asked" / "deep") == tmp_path / "asked" / "deep"
    assert (tmp_path / "asked" / "deep").is_dir()
    assert sessions_folder(None) == tmp_path / "home"
    assert (tmp_path / "home").is_dir()


def test_without_a_wish_it_is_the_users_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TALLY_HOME", "")
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    if os.name != "posix":
        pytest.skip("the user's folder cannot be set for a test here")
    folder = sessions_folder(None)
    assert folder == platformdirs.user_data_path("tally", appauthor=False) / "sessions"
    assert tmp_path in folder.parents and folder.is_dir()


def test_a_folder_that_cannot_be_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(RecordFault, match="it is a file"):
        sessions_folder(tmp_path / "file")
    with pytest.raises(RecordFault, match="not a folder"):
        sessions_folder(tmp_path / "file" / "below")
    with pytest.raises(RecordFault, match="name a folder"):
        sessions_folder(Path("a\0b"))


def test_the_name_tells_day_and_job_and_is_never_taken_twice(tmp_path: Path) -> None:
    names = []
    for _ in range(3):
        path = new_session_path(tmp_path, "Hill Farm: Well", AT)
        path.touch()
        names.append(path.name)
    assert names == [
        "2026-06-01-hill-farm-well.jsonl",
        "2026-06-01-hill-farm-well-2.jsonl",
        "2026-06-01-hill-farm-well-3.jsonl",
    ]


@pytest.mark.parametrize(
    ("job", "slug"),
    [
        ("Brühl Straße Nº 4", "bruhl-strasse-no-4"),
        ("  --a__b--  ", "a-b"),
        ("../../etc/passwd", "etc-passwd"),
        ("..\\..\\C:\\x", "c-x"),
        ("بئر المزرعة", "job"),
        ("\u202eevil\u202c 7", "evil-7"),
        ("", "job"),
        ("NUL", "nul"),
        ("\x1b[31mred\r\n", "31mred"),
        ("x" * 10_000, "x" * 60),
    ],
)
def test_job_names_become_plain_file_names(tmp_path: Path, job: str, slug: str) -> None:
    assert new_session_path(tmp_path, job, AT).name == f"2026-06-01-{slug}.jsonl"


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.text(st.characters(), max_size=300) | st.sampled_from(sorted(RESERVED)), st.datetimes())
@example("\ud800", datetime(1, 1, 1))
@example("ﷺ" * 10_000, datetime(9999, 12, 31))
def test_any_text_gives_a_name_that_every_system_takes(tmp_path: Path, job: str, at: datetime) -> None:
    path = new_session_path(tmp_path, job, at)
    assert path.parent == tmp_path
    assert len(path.name) <= 100 and path.name.isascii()
    assert not FORBIDDEN & set(path.name)
    assert path.name.split(".")[0].lower() not in RESERVED
    assert re.fullmatch(r"\d{4}-\d\d-\d\d-[a-z0-9]([a-z0-9-]*[a-z0-9])?\.jsonl", path.name)
    path.touch()
    path.unlink()


def test_sessions_are_listed_newest_first_and_nothing_else_is(tmp_path: Path) -> None:
    written = {"2026-06-01-b.jsonl": 50, "2026-06-01-a.jsonl": 90, "2026-06-03-c.jsonl": 10, "2025-12-31-d.jsonl": 99}
    for name, seconds in written.items():
        (tmp_path / name).touch()
        os.utime(tmp_path / name, (seconds, seconds))
    for name in ("2026-06-01-a.raw", "2026-06-01-a.jsonl.lock", "2026-06-01-a.jsonl.torn-1", ".hidden.jsonl", "x.txt"):
        (tmp_path / name).touch()
    (tmp_path / "folder.jsonl").mkdir()
    assert [path.name for path in sessions(tmp_path)] == [
        "2026-06-03-c.jsonl",
        "2026-06-01-a.jsonl",
        "2026-06-01-b.jsonl",
        "2025-12-31-d.jsonl",
    ]


def test_a_session_named_by_hand_is_placed_by_its_last_entry(tmp_path: Path) -> None:
    for name, day in (("mine.jsonl", 2), ("2026-06-01-a.jsonl", 9), ("2026-06-03-c.jsonl", 1)):
        (tmp_path / name).touch()
        at = datetime(2026, 6, day, 12, tzinfo=UTC).timestamp()
        os.utime(tmp_path / name, (at, at))
    assert [path.name for path in sessions(tmp_path)] == ["2026-06-03-c.jsonl", "mine.jsonl", "2026-06-01-a.jsonl"]


def test_no_folder_is_no_sessions(tmp_path: Path) -> None:
    assert sessions(tmp_path / "none") == []
    (tmp_path / "file").touch()
    with pytest.raises(RecordFault, match="cannot list"):
        sessions(tmp_path / "file")


def test_a_folder_that_is_made_is_on_the_disk_with_those_above_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    settled: list[Path] = []
    monkeypatch.setattr(folder_module, "fsync_folder", settled.append)
    sessions_folder(tmp_path / "a" / "b")
    assert set(settled) == {tmp_path, tmp_path / "a"}
    sessions_folder(tmp_path / "a" / "b")
    assert len(settled) == 2
