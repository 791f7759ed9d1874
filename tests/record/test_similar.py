"""A name that no file has leads to the one that was meant."""

from pathlib import Path

import pytest

from tally.record.fault import RecordFault
from tally.record.reader import read
from tally.record.similar import meant

HILL, LATER, OTHER = "2026-05-01-hill-farm.jsonl", "2026-06-30-hill-farm.jsonl", "2026-05-02-upper-brook-4.jsonl"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in (
        HILL,
        LATER,
        OTHER,
        "2026-05-01-hill-farm.raw",
        "plan.toml",
        ".2026-05-01-hill-farn.jsonl",
        "a\nb.jsonl",
    ):
        (tmp_path / name).touch()
    (tmp_path / "2026-05-01-hill-fart.jsonl").mkdir()
    return tmp_path


@pytest.mark.parametrize(
    ("typed", "names"),
    [
        ("2026-05-01-hil-farm.jsonl", [HILL, LATER]),  # a letter short: the nearest first
        ("2026-05-01-hill-farm.json", [HILL, LATER]),
        ("2026-05-01-Hill-Farm", [HILL, LATER]),
        ("upper-brook", [OTHER]),  # a part of its name
        ("a", []),
        ("", []),
        ("zzzz.jsonl", []),
    ],
)
def test_the_nearest_sessions_are_named(folder: Path, typed: str, names: list[str]) -> None:
    told = meant(folder / typed) if typed else meant(folder / "no" / HILL)
    assert told == (f"did you mean {' or '.join(str(folder / name) for name in names)}?" if names else "")


def test_a_plan_is_looked_for_among_plans(folder: Path) -> None:
    assert meant(folder / "plan1.toml", ".toml") == f"did you mean {folder / 'plan.toml'}?"


def test_a_session_that_is_not_there_is_refused_with_the_one_that_may_be_meant(folder: Path) -> None:
    with pytest.raises(RecordFault, match=f"upper-brok-4.jsonl: no such file; did you mean .*{OTHER}") as refused:
        read(folder / "2026-05-02-upper-brok-4.jsonl")
    assert "check the path" not in str(refused.value)
