"""The check that parses nothing must agree with the reading that keeps everything."""

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tally.record.fault import RecordFault
from tally.record.line import MAX_LINE_BYTES
from tally.record.reader import read
from tally.record.verify import MOST_PROBLEMS, verify
from tests.record.sessions import BODIES, chained, written

LINES = chained(BODIES)
WHOLE = b"".join(LINES)


def test_a_whole_session_is_whole_and_its_digest_is_the_last_chain(tmp_path: Path) -> None:
    verdict = verify(written(tmp_path / "a.jsonl", LINES))
    assert verdict.whole and verdict.lines == 7 and verdict.problems == ()
    assert LINES[-1].endswith(b'"chain":"' + verdict.chain.encode() + b'"}\n')


def test_a_torn_tail_is_not_whole(tmp_path: Path) -> None:
    verdict = verify(written(tmp_path / "a.jsonl", [*LINES[:3], LINES[3][:20]]))
    assert not verdict.whole
    assert [problem.line for problem in verdict.problems] == [4]
    assert "torn tail: 20 bytes" in verdict.problems[0].what


edits = st.lists(
    st.tuples(st.sampled_from(["flip", "cut", "insert"]), st.integers(0, len(WHOLE) - 1), st.integers(1, 255)),
    max_size=4,
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(edits)
def test_verify_and_read_agree_on_any_damage(tmp_path: Path, changes: list[tuple[str, int, int]]) -> None:
    data = bytearray(WHOLE)
    for kind, at, byte in changes:
        if kind == "flip" and at < len(data):
            data[at] ^= byte
        elif kind == "cut":
            del data[at : at + byte]
        elif kind == "insert":
            data[at:at] = bytes([byte])
    path = tmp_path / "a.jsonl"
    path.write_bytes(bytes(data))
    try:
        reading = read(path)
    except RecordFault as refused:
        with pytest.raises(RecordFault) as also:
            verify(path)
        assert str(also.value) == str(refused)
        return
    verdict = verify(path)
    assert verdict.whole == reading.whole
    assert verdict.lines == len(reading.lines)
    assert [problem for problem in verdict.problems if problem in reading.problems] == list(reading.problems)
    assert verdict.problem_count == len(reading.problems) + bool(reading.torn_length)
    assert verdict.chain == reading.chain
    # The bytes, not the code, say what is whole: an untouched beginning of a session and nothing else.
    assert verdict.whole == any(bytes(data) == b"".join(LINES[:count]) for count in range(1, 8))


def test_problems_without_end_are_counted_and_not_kept(tmp_path: Path) -> None:
    many = MOST_PROBLEMS + 500
    verdict = verify(written(tmp_path / "a.jsonl", [*LINES, *[b'{"a":1}\n'] * many]))
    assert verdict.problem_count == many and len(verdict.problems) == MOST_PROBLEMS


def test_a_chain_without_a_body_is_a_problem(tmp_path: Path) -> None:
    path = written(tmp_path / "a.jsonl", chained((*BODIES, b"")))
    assert [problem.line for problem in verify(path).problems] == [8]
    assert list(verify(path).problems) == list(read(path).problems)


def test_an_endless_line_is_one_problem(tmp_path: Path) -> None:
    endless = b"z" * (3 * MAX_LINE_BYTES) + b"\n"
    verdict = verify(written(tmp_path / "a.jsonl", [*LINES[:2], endless, *LINES[2:]]))
    assert [problem.line for problem in verdict.problems] == [3] and verdict.lines == 7
