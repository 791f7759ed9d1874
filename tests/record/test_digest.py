"""A digest from paper or from a copy against the file."""

from pathlib import Path

import pytest

from tally.record.fault import RecordFault
from tally.record.verify import verify
from tests.record.sessions import BODIES, chained, written

LINES = chained(BODIES)
DIGESTS = [line[-67:-3].decode("ascii") for line in LINES]
"""Cut out by the format's definition: 64 digits before the last three bytes."""


@pytest.mark.parametrize("kept", range(1, len(LINES) + 1))
def test_a_tail_cut_off_at_a_line_shows_against_the_digest(tmp_path: Path, kept: int) -> None:
    verdict = verify(written(tmp_path / "a.jsonl", LINES[:kept]), DIGESTS[-1])
    assert verdict.whole
    assert verdict.reached == (len(LINES) if kept == len(LINES) else None)


@pytest.mark.parametrize("number", range(1, len(LINES) + 1))
def test_a_digest_of_the_middle_says_at_which_line(tmp_path: Path, number: int) -> None:
    path = written(tmp_path / "a.jsonl", LINES)
    for typed in (DIGESTS[number - 1], DIGESTS[number - 1][:16], f" {DIGESTS[number - 1].upper()}\n"):
        verdict = verify(path, typed)
        assert (verdict.reached, verdict.last) == (number, len(LINES))


def test_a_digest_is_still_found_behind_a_damaged_line(tmp_path: Path) -> None:
    lines = [*LINES]
    lines[2] = lines[2].replace(b"6.03", b"6.04")
    verdict = verify(written(tmp_path / "a.jsonl", lines), DIGESTS[-1])
    assert [problem.line for problem in verdict.problems] == [3]
    assert verdict.reached == len(LINES) and not verdict.whole


@pytest.mark.parametrize("typed", ["abc", "g" * 64, "0" * 65, "0" * 15, "é" * 20])
def test_what_cannot_be_a_digest_is_refused(tmp_path: Path, typed: str) -> None:
    with pytest.raises(RecordFault, match="16 to 64 hexadecimal digits are accepted"):
        verify(written(tmp_path / "a.jsonl", LINES), typed)
