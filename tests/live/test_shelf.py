"""Entries left in their file, against the same entries in memory."""

from pathlib import Path

import pytest

from tally.job.coding import encoded
from tally.live.loading import load, shelved
from tally.live.player import Player
from tally.live.survey import Survey
from tally.record.fault import RecordFault
from tests.eventful import eventful_day
from tests.record.sessions import chained
from tests.scenario import Day, grouting_day


def written(path: Path, day: Day) -> Path:
    path.write_bytes(b"".join(chained(tuple(map(encoded, day.entries)))))
    return path


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return written(tmp_path / "day.jsonl", eventful_day())


def test_the_shelf_holds_what_loading_holds(path: Path) -> None:
    whole, left = load(path), shelved(path)
    assert (left.state, left.problems, left.extent) == (whole.state, whole.problems, whole.extent)
    assert len(left.entries) == len(whole.entries)
    assert tuple(left.entries) == whole.entries
    assert [left.entries[place] for place in (0, 7, -1, 3)] == [whole.entries[place] for place in (0, 7, -1, 3)]
    assert left.entries[5:9] == whole.entries[5:9]
    with pytest.raises(IndexError):
        left.entries[len(whole.entries)]
    survey = Survey.of(whole.entries)
    for name in ("elapsed_s", "reached_s", "told", "raised"):
        assert getattr(left.survey, name) == getattr(survey, name)
    assert len(survey.told) > 40 and len(survey.raised) == 1


@pytest.mark.parametrize("at", [1, 9, -1])
def test_a_damaged_line_is_not_on_it_and_the_others_are(path: Path, at: int) -> None:
    lines = path.read_bytes().splitlines(keepends=True)
    lines[at] = lines[at][:20] + b"#" + lines[at][21:]
    lines.insert(5, b"garbage\n")
    path.write_bytes(b"".join(lines) + b'{"torn')
    whole, left = load(path), shelved(path)
    assert left.problems == whole.problems and len(whole.problems) > 1
    assert tuple(left.entries) == whole.entries
    assert left.extent == whole.extent


def test_what_is_added_later_is_not_on_it(tmp_path: Path) -> None:
    day = grouting_day()
    path = written(tmp_path / "day.jsonl", day)
    left = shelved(path)
    before = tuple(left.entries)
    day.pump(0.5)
    written(path, day)
    assert tuple(left.entries) == before


def test_a_replay_from_the_shelf_shows_the_same_states(path: Path) -> None:
    whole, left = load(path), shelved(path)
    one, other = Player(whole.entries), Player(left.entries, survey=left.survey)
    for place in (30, 4, len(whole.entries), 17, 18, 2):
        one.seek(place)
        other.seek(place)
        assert one.snapshot.state == other.snapshot.state
    for player in (one, other):
        player.to_start()
        player.step()
        player.next_alarm()
    assert one.place == other.place
    assert [player.seek_number(40) for player in (one, other)] == [True, True]
    assert one.place == other.place


def test_what_is_no_session_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.jsonl").write_bytes(b'{"shopping": 1}\n')
    with pytest.raises(RecordFault):
        shelved(tmp_path / "a.jsonl")
    with pytest.raises(RecordFault):
        shelved(tmp_path / "missing.jsonl")
