"""Damage of every kind to a small session: nothing is silently changed, and no whole line before the damage is lost."""

import io
import os
import tracemalloc
from pathlib import Path

import pytest

from tally.record.fault import RecordFault
from tally.record.line import MAX_LINE_BYTES
from tally.record.reader import Line, Place, Problem, Reading, Torn, iterate, read, tail_from
from tally.record.scan import scan
from tests.record.sessions import BODIES, chained, written

LINES = chained(BODIES)
WHOLE = b"".join(LINES)


def numbers(reading: Reading) -> list[int]:
    return [problem.line for problem in reading.problems]


def bodies(reading: Reading) -> list[bytes]:
    return [line.body for line in reading.lines]


def test_a_whole_session_reads_back(tmp_path: Path) -> None:
    reading = read(written(tmp_path / "a.jsonl", LINES))
    assert reading.whole
    assert bodies(reading) == list(BODIES)
    assert [line.number for line in reading.lines] == list(range(1, 8))
    assert (reading.good_length, reading.count, reading.torn) == (len(WHOLE), 7, b"")
    assert reading.chain.encode() in LINES[-1]


def test_every_cut_keeps_the_lines_before_it_and_reports_the_tail(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    for size in range(len(WHOLE)):
        path.write_bytes(WHOLE[:size])
        before = WHOLE[:size].count(b"\n")
        if not before:
            with pytest.raises(RecordFault, match=r"is empty|never finished"):
                read(path)
            continue
        reading = read(path)
        assert bodies(reading) == list(BODIES[:before]), size
        assert not reading.problems
        assert WHOLE[: reading.good_length] + reading.torn == WHOLE[:size]
        assert reading.torn == WHOLE[:size].rpartition(b"\n")[2]
        assert reading.whole == (not reading.torn)


@pytest.mark.parametrize("mask", [0x01, 0x20, 0xFF])
def test_every_flipped_byte_is_found_at_its_line(mask: int) -> None:
    starts = [sum(map(len, LINES[:index])) for index in range(len(LINES) + 1)]
    for at in range(len(WHOLE)):
        flipped = bytearray(WHOLE)
        flipped[at] ^= mask
        number = next(index for index in range(1, 8) if at < starts[index])
        found = list(scan(io.BytesIO(bytes(flipped)), Place(), Path("a.jsonl")))
        lines = [item for item in found if isinstance(item, Line)]
        problems = [item for item in found if isinstance(item, Problem)]
        assert problems and problems[0].line == number, at
        # A newline that was hit joins its line to the next; nothing else costs a line beside the one that was hit.
        lost = {number, number + 1} if flipped[at] != 0x0A and WHOLE[at] == 0x0A else {number}
        assert [line.body for line in lines] == [body for n, body in enumerate(BODIES, 1) if n not in lost], at


@pytest.mark.parametrize("index", range(len(LINES)))
def test_a_removed_line_shows_at_the_next_one(tmp_path: Path, index: int) -> None:
    reading = read(written(tmp_path / "a.jsonl", LINES[:index] + LINES[index + 1 :]))
    if index == len(LINES) - 1:
        # A tail cut off at a line shows only against a digest that was kept elsewhere.
        assert reading.whole and reading.chain.encode() not in LINES[-1]
        return
    assert numbers(reading) == [index + 1]
    assert bodies(reading) == [body for n, body in enumerate(BODIES) if n not in (index, index + 1)]
    assert reading.problems[0].body == BODIES[index + 1], "the line after the gap is handed over as unproven"


@pytest.mark.parametrize("index", range(len(LINES)))
def test_a_repeated_line_costs_itself_alone(tmp_path: Path, index: int) -> None:
    reading = read(written(tmp_path / "a.jsonl", [*LINES[: index + 1], LINES[index], *LINES[index + 1 :]]))
    assert numbers(reading) == [index + 2]
    assert bodies(reading) == list(BODIES)


@pytest.mark.parametrize("index", range(len(LINES) - 1))
def test_swapped_lines_show(tmp_path: Path, index: int) -> None:
    swapped = [*LINES[:index], LINES[index + 1], LINES[index], *LINES[index + 2 :]]
    reading = read(written(tmp_path / "a.jsonl", swapped))
    assert numbers(reading)[0] == index + 1
    assert BODIES[index + 1] not in bodies(reading)


@pytest.mark.parametrize("index", range(1, len(LINES)))
@pytest.mark.parametrize(
    "alien",
    [
        b"\n",
        b"by hand\n",
        b"a\nb\nc\n",
        b"\xff\xfe\x00\n",
        b'{"number":9}\n',
        chained((b'{"number":9}',))[0],
        b"[" * 100_000 + b"\n",
        b'{"a":' * 50_000 + b"\n",
        b'{"a":' + b"9" * 5000 + b"}\n",
        b"x" * (2 * MAX_LINE_BYTES + 5) + b"\n",
    ],
)
def test_an_inserted_line_costs_itself_alone(tmp_path: Path, index: int, alien: bytes) -> None:
    reading = read(written(tmp_path / "a.jsonl", [*LINES[:index], alien, *LINES[index:]]))
    assert numbers(reading) == [index + 1]
    assert bodies(reading) == list(BODIES)
    assert reading.count == len(LINES) + alien.count(b"\n")
    assert not reading.torn and reading.good_length == len(WHOLE) + len(alien)


def test_an_altered_value_is_never_taken_as_written(tmp_path: Path) -> None:
    altered = [line.replace(b"6.03", b"9.03") for line in LINES]
    reading = read(written(tmp_path / "a.jsonl", altered))
    assert numbers(reading) == [3]
    assert bodies(reading) == [*BODIES[:2], *BODIES[3:]]
    assert reading.problems[0].body == BODIES[2].replace(b"6.03", b"9.03")


def test_an_altered_last_line_is_damage_and_not_a_torn_tail(tmp_path: Path) -> None:
    # It ends in a chain, so that it was written whole and may have been shown as saved.
    reading = read(written(tmp_path / "a.jsonl", [*LINES[:-1], LINES[-1].replace(b'"number"', b"'number'")]))
    assert numbers(reading) == [7] and not reading.torn
    assert reading.problems[0].body is None


@pytest.mark.parametrize(
    "tail",
    [
        b"\0",
        b"\0" * 4096,
        b"\0" * 5000 + b"\n",
        b"\0" * (MAX_LINE_BYTES + 4096),
        (b"\0" * 9999 + b"\n") * 120,
        b"\x93\n\x07garbage\n\xff",
        b"\n\n",
        b"\0" * 40 + LINES[-1][40:],
        LINES[-1][:-1],
    ],
)
def test_what_a_power_failure_leaves_is_a_torn_tail(tmp_path: Path, tail: bytes) -> None:
    reading = read(written(tmp_path / "a.jsonl", [*LINES[:-1], tail]))
    assert bodies(reading) == list(BODIES[:-1])
    assert not reading.problems and not reading.whole
    assert reading.torn == tail[:MAX_LINE_BYTES] and reading.torn_length == len(tail)
    assert reading.good_length == len(WHOLE) - len(LINES[-1])
    last = list(iterate(tmp_path / "a.jsonl"))[-1]
    assert isinstance(last, Torn) and last.line == 7 and "torn tail" in str(last)
    assert ("zeros" in last.what) == (not tail.strip(b"\0"))
    assert f"{len(tail)} byte" in last.what


def test_lines_longer_than_the_limit_are_passed_over_in_bounded_memory(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    with path.open("wb") as file:
        file.write(b"".join(LINES[:3]))
        for _ in range(50):
            file.write(b"y" * 1_000_000)
        file.write(b"\n" + b"".join(LINES[3:]))
    tracemalloc.start()
    try:
        found = list(iterate(path))
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak < 8 * MAX_LINE_BYTES
    assert [item.line for item in found if isinstance(item, Problem)] == [4]
    assert [item.body for item in found if isinstance(item, Line)] == list(BODIES)


@pytest.mark.parametrize("unit", [b"x" * 1_000_000, b"\0" * 1_000_000, b"\n" * 1_000_000, b'{"a":1}\n' * 125_000])
def test_a_large_file_of_something_else_is_refused_early(tmp_path: Path, unit: bytes) -> None:
    path = tmp_path / "a.jsonl"
    with path.open("wb") as file:
        for _ in range(50):
            file.write(unit)
    tracemalloc.start()
    try:
        with pytest.raises(RecordFault, match="not a session file"):
            read(path)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak < 8 * MAX_LINE_BYTES


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "start a new session"),
        (LINES[0][:50], "never finished"),
        (b"a,b\n1,2\n", "name the session's own file"),
        (WHOLE.replace(b"\n", b"\r\n"), "line ends were changed"),
        (WHOLE.decode().encode("utf-16"), "name the session's own file"),
    ],
)
def test_what_is_no_session_is_refused_with_what_to_do(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "a.jsonl"
    path.write_bytes(content)
    with pytest.raises(RecordFault, match=words):
        read(path)


def test_a_byte_order_mark_is_damage_of_line_1(tmp_path: Path) -> None:
    reading = read(written(tmp_path / "a.jsonl", [b"\xef\xbb\xbf", *LINES]))
    assert numbers(reading) == [1] and bodies(reading) == list(BODIES[1:])


def test_folders_missing_files_and_devices_are_refused(tmp_path: Path) -> None:
    with pytest.raises(RecordFault, match="folder"):
        read(tmp_path)
    with pytest.raises(RecordFault, match="check the path"):
        read(tmp_path / "none.jsonl")
    with pytest.raises(RecordFault, match="check the path"):
        read(Path("a\0b"))
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
        with pytest.raises(RecordFault, match="not a file"):
            read(tmp_path / "pipe")


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="this account may read everything")
def test_a_file_without_permission_is_refused(tmp_path: Path) -> None:
    path = written(tmp_path / "a.jsonl", LINES)
    path.chmod(0)
    with pytest.raises(RecordFault, match="permission"):
        read(path)


def test_a_session_after_a_little_junk_is_read_and_after_much_is_not_looked_for(tmp_path: Path) -> None:
    reading = read(written(tmp_path / "a.jsonl", [b"junk\n" * 999, *LINES]))
    assert numbers(reading) == [1] and bodies(reading) == list(BODIES)
    assert "up to line 999" in reading.problems[0].what
    with pytest.raises(RecordFault, match="not a session file"):
        read(written(tmp_path / "a.jsonl", [b"junk\n" * 1000, *LINES]))


def test_a_follower_may_stop_after_any_item_and_misses_nothing(tmp_path: Path) -> None:
    altered = LINES[4].replace(b"6.05", b"7.05")
    path = written(tmp_path / "a.jsonl", [*LINES[:2], b"by hand\n", *LINES[2:4], altered, b"x\ny\n", *LINES[5:]])
    place, found = Place(), []
    while (item := next(tail_from(path, place), None)) is not None:
        found.append(item)
    assert found == list(iterate(path))
    assert [item.line for item in found if isinstance(item, Problem)] == [3, 6, 7]


def test_a_follower_gets_each_line_once_whatever_the_pieces(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    place, found = Place(), []
    path.write_bytes(WHOLE[: len(LINES[0])])
    for end in range(len(LINES[0]), len(WHOLE) + 1, 7):
        path.write_bytes(WHOLE[:end])
        found += list(tail_from(path, place))
    path.write_bytes(WHOLE)
    found += list(tail_from(path, place))
    assert [item.body for item in found if isinstance(item, Line)] == list(BODIES)
    assert len(found) == len(BODIES)
    assert list(tail_from(path, place)) == []
    path.write_bytes(WHOLE[:-1])
    with pytest.raises(RecordFault, match="shorter"):
        list(tail_from(path, place))
