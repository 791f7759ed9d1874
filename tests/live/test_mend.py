"""A damaged session written anew: whole, with every entry that holds, the rest set aside and told."""

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tally.cli import main
from tally.job import events as ev
from tally.job import intents as want
from tally.job.view import log
from tally.live.loading import load, open_session
from tally.live.mend import Mended, mended
from tally.live.session import Saved
from tally.record.fault import RecordFault
from tally.record.verify import verify
from tests.live.support import Bench, SetClock, of_kind
from tests.live.test_damage import ENTRIES, LINES, lines_of
from tests.record.disk import Disk, Stopped

Damage = Callable[[list[bytes]], list[bytes]]


def put(path: Path, lines: list[bytes]) -> Path:
    path.write_bytes(b"".join(lines))
    return path


def altered(number: int) -> Damage:
    return lambda lines: [*lines[: number - 1], lines[number - 1].replace(b'"who":"D', b'"who":"F', 1), *lines[number:]]


def check(path: Path, lost: list[int], aside: bytes) -> Mended:
    """Mends `path` and holds what came of it against what was to be lost and set aside."""
    before, digest = path.read_bytes(), verify(path).chain
    done = mended(path, "Office E", SetClock())
    assert done is not None
    assert path.read_bytes() == before, "the damaged file is left alone"
    assert verify(done.path).whole
    assert done.aside.read_bytes() == aside
    day = load(done.path)
    assert day.problems == () and day.state.number == len(ENTRIES) + 1
    told = day.entries[-1].event
    assert isinstance(told, ev.SessionMended)
    assert (told.digest, told.damaged, told.lost, told.by) == (digest, path.name, len(lost), "Office E")
    kept = [entry for entry in day.entries[:-1] if not isinstance(entry.event, ev.EntriesLost)]
    assert kept == [entry for entry in ENTRIES if entry.number not in lost]
    gaps = [(entry.number, entry.event.through) for entry in day.entries if isinstance(entry.event, ev.EntriesLost)]
    assert [number for first, last in gaps for number in range(first, last + 1)] == lost
    return done


@pytest.mark.parametrize(
    ("damage", "lost", "aside"),
    [
        (altered(7), [7], [altered(7)(LINES)[6]]),
        (lambda lines: [*lines[:4], *lines[5:]], [5, 6], [LINES[5]]),
        (lambda lines: [*lines[:8], b"\0" * 3000, *lines[11:]], [9, 10, 11, 12], [b"\0" * 3000 + LINES[11]]),
        (lambda lines: [*lines[:3], b"by hand\n", *lines[3:]], [], [b"by hand\n"]),
        (lambda lines: [*lines[:5], lines[2], *lines[5:]], [], [LINES[2]]),
        (altered(len(LINES)), [len(LINES)], [altered(len(LINES))(LINES)[-1]]),
        (lambda lines: altered(9)(altered(4)(lines)), [4, 9], [altered(4)(LINES)[3], altered(9)(LINES)[8]]),
    ],
    ids=["altered", "removed", "zeros", "inserted", "repeated", "last altered", "two"],
)
def test_all_that_holds_is_kept_and_the_rest_set_aside(
    damage: Damage, lost: list[int], aside: list[bytes], tmp_path: Path
) -> None:
    check(put(tmp_path / "a.jsonl", damage(LINES)), lost, b"".join(aside))


def test_recording_goes_on_in_the_mended_session_and_the_operator_enters_what_is_missing(tmp_path: Path) -> None:
    path = put(tmp_path / "a.jsonl", altered(7)(LINES))
    bench = Bench(tmp_path)
    with pytest.raises(RecordFault, match="`tally mend` writes it anew"):
        bench.resumed(path)
    done = check(path, [7], altered(7)(LINES)[6])
    session = bench.resumed(done.path)
    state = session.snapshot.state
    assert state.who == ENTRIES[-1].who, "who mended it does not record on"
    assert [alarm.value for alarm in state.alarms if alarm.alarm == "record-mended"] == [1.0]
    assert isinstance(session.enter(want.WriteNote("the hook read 5 kN then")), Saved)
    session.close()
    day = load(done.path)
    assert day.problems == () and len(of_kind(day.entries, ev.SessionResumed)) == 1
    words = [row.sentence.text.format(*row.sentence.values) for row in log.log(day.state)]
    assert any("up to entry 7, was damaged" in said for said in words)
    assert any("line 7 set aside in a-mended.jsonl.damaged" in said and "Office E" in said for said in words)


def test_a_first_line_that_still_reads_is_taken_and_set_aside_as_well(tmp_path: Path) -> None:
    first = LINES[0].replace(b'"who":"D', b'"who":"F')
    path = put(tmp_path / "a.jsonl", [first, *LINES[1:]])
    done = mended(path, "E", SetClock())
    assert done is not None and (done.lost, done.lines) == (0, "line 1")
    assert done.aside.read_bytes() == first
    assert not open_session(done.path).damaged


def test_what_cannot_be_mended_is_refused_and_leaves_nothing(tmp_path: Path) -> None:
    cut = put(tmp_path / "a.jsonl", LINES[1:])
    newer = [*ENTRIES[:3], ENTRIES[3]]
    bodies = lines_of(newer)
    with pytest.raises(RecordFault):
        mended(cut, "E", SetClock())
    other = put(tmp_path / "b.jsonl", _with_newer(bodies))
    with pytest.raises(RecordFault, match="install the newer one"):
        mended(other, "E", SetClock())
    assert {path.name for path in tmp_path.iterdir() if ".lock" not in path.name} <= {
        "a.jsonl", "b.jsonl", "b-mended.jsonl.mending"
    }  # fmt: skip


def _with_newer(lines: list[bytes]) -> list[bytes]:
    from tally.record.line import chain_of, seal, unseal

    body = unseal(lines[-1], chain_of(lines[-2]))
    assert isinstance(body, bytes)
    newer, _ = seal(body.replace(b'"version":1', b'"version":99'), chain_of(lines[-2]))
    return [*lines[:-1], newer]


def test_a_whole_session_and_a_torn_tail_need_no_mending(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for lines in (LINES, [*LINES, b'{"half']):
        path = put(tmp_path / "a.jsonl", lines)
        assert main(["mend", str(path)]) == 0
        assert "nothing to mend" in capsys.readouterr().out
        assert [item.name for item in tmp_path.glob("*.jsonl")] == ["a.jsonl"]


def test_the_command_says_what_it_did_and_takes_a_new_name_each_time(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = put(tmp_path / "a.jsonl", altered(7)(LINES))
    for name in ("a-mended.jsonl", "a-mended-2.jsonl"):
        assert main(["mend", str(path), "--by", "Office E"]) == 0
        said = capsys.readouterr().out
        assert "line 7 did not hold" in said and "1 entry is missing" in said and f"tally run {tmp_path / name}" in said
        assert main(["check", str(tmp_path / name)]) == 0
        assert "NOT WHOLE" not in capsys.readouterr().out


edits = st.lists(
    st.tuples(st.sampled_from(["flip", "cut", "insert"]), st.integers(len(LINES[0]), 6_000), st.integers(1, 255)),
    min_size=1,
    max_size=5,
)


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(edits)
def test_any_damage_past_the_plan_can_be_mended(tmp_path: Path, changes: list[tuple[str, int, int]]) -> None:
    data = bytearray(b"".join(LINES[:20]))
    for kind, at, byte in changes:
        if kind == "flip":
            data[at % len(data)] ^= byte
        elif kind == "cut":
            del data[max(at, len(LINES[0])) : at + byte]
        else:
            data[at:at] = bytes([byte]) * byte
    path = tmp_path / "a.jsonl"
    path.write_bytes(bytes(data))
    try:
        done = mended(path, "E", SetClock())
    except RecordFault:
        assert data[: len(LINES[0])] != LINES[0]
        return
    if done is None:
        assert not open_session(path).damaged
        return
    assert verify(done.path).whole and not open_session(done.path).damaged
    entries = [e for e in load(done.path).entries if not isinstance(e.event, ev.EntriesLost | ev.SessionMended)]
    assert all(entry in ENTRIES for entry in entries) or data[: len(LINES[0])] != LINES[0]
    assert len(entries) >= 20 - 3 * len(changes)  # no change reaches further than three lines
    assert path.read_bytes() == bytes(data)


@pytest.mark.skipif(not Path("/proc/self/fd").exists(), reason="the disk's model looks through /proc")
def test_a_mending_that_is_cut_short_leaves_no_session_and_is_begun_anew(tmp_path: Path) -> None:
    path = put(tmp_path / "a.jsonl", altered(7)(LINES))
    stops = 0
    for stop_at in range(1, 200):
        try:
            with Disk(stop_at).installed():
                done = mended(path, "E", SetClock())
        except Stopped:
            stops += 1
            for found in set(tmp_path.glob("*.jsonl")) - {path}:
                assert isinstance(load(found).entries[-1].event, ev.SessionMended), "whole, or not there"
                found.unlink()
            continue
        assert done is not None and verify(done.path).whole
        assert done.path.read_bytes().startswith(b"".join(LINES[:6]))
        break
    assert stops > len(LINES) / 2
