"""A session opened and its alarms checked in one pass: as folded entry by entry, and checked by themselves."""

import json
from pathlib import Path

import pytest

from tally.job.alarms.replay import disagreements
from tally.live.loading import entries, load, open_checked
from tally.record.line import ZERO_CHAIN, seal

DEMOS = Path(__file__).resolve().parents[2] / "demo_sessions"


def written(path: Path, bodies: list[bytes]) -> Path:
    """A whole session of these bodies, under seals of their own."""
    chain, lines = ZERO_CHAIN, b""
    for body in bodies:
        line, chain = seal(body, chain)
        lines += line
    path.write_bytes(lines)
    return path


def bodies(name: str) -> list[bytes]:
    lines = (DEMOS / name / "session.jsonl").read_bytes().splitlines()
    told = [json.loads(line) for line in lines]
    return [json.dumps({key: part for key, part in each.items() if key != "chain"}).encode() for each in told]


@pytest.mark.parametrize("name", ["lost-returns", "washed-out"])
def test_one_pass_comes_to_what_two_do(name: str) -> None:
    path = DEMOS / name / "session.jsonl"
    opened, found = open_checked(path)
    loaded = load(path)
    assert (opened.state, opened.problems, opened.extent) == (loaded.state, loaded.problems, loaded.extent)
    assert found == disagreements(entries(path)) == []


def test_an_alarm_that_is_not_called_for_and_one_that_is_missing_are_found(tmp_path: Path) -> None:
    """The first alarm of a session told twice, and the second left out with its clearing."""
    kept = bodies("lost-returns")
    raised = [place for place, body in enumerate(kept) if b'"AlarmRaised"' in body]
    again = [*kept[: raised[0] + 1], kept[raised[0]], *kept[raised[0] + 1 :]]
    left_out = [body for place, body in enumerate(kept) if place != raised[1]]
    for place, (bodies_now, words) in enumerate([(again, "is not called for"), (left_out, "is missing")]):
        path = written(tmp_path / f"{place}.jsonl", bodies_now)
        found = open_checked(path)[1]
        assert words in found[0]
        assert len(found) <= 3, "what goes on being missing is told once"
        assert found == disagreements(entries(path))
