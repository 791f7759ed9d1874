"""A session cut and flipped at every byte, opened as `tally run`, `tally report` and `tally check` open it."""

import random
import re
from collections.abc import Iterable
from pathlib import Path

import pytest

from tally.job.coding import Undecodable, decoded, encoded
from tally.job.events import Entry
from tally.job.fold import apply, opened
from tally.job.state import State
from tally.live.loading import load, open_session
from tally.record.fault import RecordFault
from tally.record.line import ZERO_CHAIN, seal
from tally.record.verify import verify
from tally.record.writer import Writer
from tests.eventful import eventful_day

DEMO = Path(__file__).resolve().parents[2] / "demo_sessions" / "lost-returns" / "session.jsonl"
MOST_BYTES = 20_000


def lines_of(entries: Iterable[Entry]) -> list[bytes]:
    lines, chain = [], ZERO_CHAIN
    for entry in entries:
        line, chain = seal(encoded(entry), chain)
        lines.append(line)
    return lines


def small() -> tuple[list[Entry], list[bytes]]:
    """The beginning of an eventful day, at most 20 kB of it."""
    entries = eventful_day().entries
    lines = lines_of(entries)
    while sum(map(len, lines)) > MOST_BYTES:
        lines.pop()
    return entries[: len(lines)], lines


ENTRIES, LINES = small()
WHOLE = b"".join(LINES)
ENDS = [sum(map(len, LINES[:count])) for count in range(len(LINES) + 1)]


def states() -> list[State]:
    found = [opened(ENTRIES[0])]
    for entry in ENTRIES[1:]:
        found.append(apply(found[-1], entry))
    return found


def cut_everywhere(path: Path, sizes: Iterable[int]) -> None:
    """After a cut at any byte a session is what its whole lines come to, and is gone on with."""
    after = states()
    for size in sizes:
        path.write_bytes(WHOLE[:size])
        count = sum(end <= size for end in ENDS) - 1
        if not count:
            with pytest.raises(RecordFault, match=r"is empty|never finished"):
                open_session(path)
            continue
        day = open_session(path)
        assert not day.damaged and day.state == after[count - 1]
        assert day.extent.torn_length == size - ENDS[count]
        verdict = verify(path)
        assert verdict.lines == count and verdict.whole == (size == ENDS[count])
        with Writer.resume(path, day.extent, fsync=lambda _: None) as writer:
            for entry in ENTRIES[count : count + 1]:
                writer.append(encoded(entry))
        assert path.read_bytes() == WHOLE[: ENDS[min(count + 1, len(LINES))]]


def flip_everywhere(path: Path, places: Iterable[int], mask: int) -> None:
    """A flipped byte is found at its line by every reader, and costs no other line than those it stands in."""
    for at in places:
        flipped = bytearray(WHOLE)
        flipped[at] ^= mask
        path.write_bytes(flipped)
        number = next(count for count, end in enumerate(ENDS) if at < end)
        verdict = verify(path)
        assert verdict.problems and verdict.problems[0].line == number, at
        hit = {number, number + 1} if WHOLE[at] == 0x0A else {number}
        if number == 1 and not decodable(bytes(flipped)):
            # The plan stands there: without it there is no session to show.
            with pytest.raises(RecordFault, match=r"line 1|not a session|no whole session"):
                load(path)
            continue
        day = load(path)
        left = [entry for entry in ENTRIES if entry.number not in hit]
        assert list(day.entries[number == 1 :]) == left, at
        torn = at == len(WHOLE) - 1 or (number == len(LINES) and not day.problems)
        assert torn or day.problems[0].startswith((f"line {number}:", f"line {number - 1}:")), (at, day.problems)


def decodable(session: bytes) -> bool:
    """Whether the first line is an entry still, its digits aside: then it is taken, and told as unproven."""
    line, _, rest = session.partition(b"\n")
    stem, mark, digits = line[:-66], line[-76:-66], line[-66:]
    try:
        decoded(stem[:-10] + b"}")
    except Undecodable:
        return False
    return bool(rest) and mark == b',"chain":"' and re.fullmatch(rb'[0-9a-f]{64}"}', digits) is not None


def test_a_session_cut_around_every_line_end(tmp_path: Path) -> None:
    near = {max(end + step, 0) for end in ENDS[:: len(ENDS) // 12] for step in (-2, -1, 0, 1)}
    last = range(len(WHOLE) - len(LINES[-1]), len(WHOLE) + 1, 7)
    cut_everywhere(tmp_path / "a.jsonl", sorted(size for size in near | {*last} if size <= len(WHOLE)))


def test_a_session_flipped_here_and_there(tmp_path: Path) -> None:
    places = random.Random(7).sample(range(len(WHOLE)), 60) + random.Random(8).sample(range(ENDS[1]), 20)
    ends = [end - back for end in ENDS[2 :: len(ENDS) // 6] for back in (1, 2, 3, 67, 70, 78)]
    flip_everywhere(tmp_path / "a.jsonl", [*places, *ends, len(WHOLE) - 1], 0x01)


@pytest.mark.long
def test_a_session_cut_at_every_byte(tmp_path: Path) -> None:
    cut_everywhere(tmp_path / "a.jsonl", range(len(WHOLE) + 1))


@pytest.mark.long
@pytest.mark.parametrize("mask", [0x01, 0x20, 0x80])
def test_a_session_flipped_at_every_byte(tmp_path: Path, mask: int) -> None:
    flip_everywhere(tmp_path / "a.jsonl", range(len(WHOLE)), mask)


def boundaries(data: bytes) -> list[int]:
    ends, at = [], 0
    while at := data.find(b"\n", at) + 1:
        ends.append(at)
    return ends


def cut_demo(path: Path, ends: Iterable[int]) -> None:
    """A session cut at a line's end is whole, reaches its own digest, and no longer the one on the report."""
    data, digest = DEMO.read_bytes(), verify(DEMO).chain
    every = boundaries(data)
    for end in ends:
        path.write_bytes(data[:end])
        verdict = verify(path, digest)
        assert verdict.whole and verdict.last == every.index(end) + 1
        assert verdict.reached is None or end == len(data)
        assert verify(path, verdict.chain).reached == verdict.last


def test_the_demo_session_cut_at_some_line_ends_opens_there(tmp_path: Path) -> None:
    data, path = DEMO.read_bytes(), tmp_path / "a.jsonl"
    ends = boundaries(data)
    some = ends[:: len(ends) // 5] + ends[-1:]
    cut_demo(path, some)
    for end in some:
        path.write_bytes(data[:end])
        day = open_session(path)
        assert not day.damaged and day.state.number == ends.index(end) + 1


@pytest.mark.long
def test_the_demo_session_cut_at_every_line_end(tmp_path: Path) -> None:
    cut_demo(tmp_path / "a.jsonl", boundaries(DEMO.read_bytes()))


def test_the_session_under_test_is_the_size_that_it_should_be() -> None:
    assert MOST_BYTES * 0.8 < len(WHOLE) <= MOST_BYTES
    assert len({type(entry.event) for entry in ENTRIES}) > 12
