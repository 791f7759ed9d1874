"""The meters' bytes come back exactly, and a fault of the log never reaches the meter."""

import json
import os
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tally.record.fault import RecordFault
from tally.record.raw_log import RawChunk, RawLog, raw_log_path, read_raw

AT = datetime(2026, 6, 1, 7, 30, 0, 250_000, tzinfo=UTC)

chunks = st.builds(
    RawChunk,
    st.text(st.characters(exclude_categories=["Cs"]), max_size=10),
    st.floats(0, 1e9),
    st.datetimes(timezones=st.sampled_from([UTC, timezone(timedelta(hours=5, minutes=45))])),
    st.binary(max_size=200) | st.text("0123456789.,;$\r\n\t L/min", max_size=60).map(str.encode),
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=50)
@given(st.lists(chunks, max_size=8))
def test_what_arrived_is_read_back(tmp_path: Path, arrived: list[RawChunk]) -> None:
    path = tmp_path / "a.raw"
    path.unlink(missing_ok=True)
    log = RawLog(path)
    for chunk in arrived:
        log.write(chunk.channel, chunk.mono_s, chunk.utc, chunk.data)
    log.close()
    assert log.fault is None and log.missed == 0
    assert list(read_raw(path)) == arrived


def test_the_file_is_lines_of_json_that_a_person_can_read(tmp_path: Path) -> None:
    path = raw_log_path(tmp_path / "2026-06-01-hill.jsonl")
    assert path.name == "2026-06-01-hill.raw"
    log = RawLog(path)
    log.write("grout", 12.5, AT, b"TOT 00123.4 L\r\n")
    log.write("grout", 12.75, AT, b"\xff\x00")
    lines = path.read_text(encoding="ascii").splitlines()
    log.close()
    assert [json.loads(line) for line in lines] == [
        {"t": 12.5, "utc": "2026-06-01T07:30:00.250000+00:00", "ch": "grout", "text": "TOT 00123.4 L\r\n"},
        {"t": 12.75, "utc": "2026-06-01T07:30:00.250000+00:00", "ch": "grout", "hex": "ff00"},
    ]


def test_fsync_is_called_at_most_once_a_second_of_the_callers_clock(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    synced: list[int] = []
    monkeypatch.setattr(os, "fsync", synced.append)
    log = RawLog(tmp_path / "a.raw")
    counts = []
    for mono_s in (100.0, 100.5, 100.9, 101.0, 101.9, 102.5, 3.0, 3.5, 4.0):
        log.write("m", mono_s, AT, b"x")
        counts.append(len(synced))
    assert counts == [1, 1, 1, 2, 2, 3, 4, 4, 5]


def test_every_cut_of_the_file_loses_only_what_was_cut(tmp_path: Path) -> None:
    path = tmp_path / "a.raw"
    log = RawLog(path)
    sent = [b"1 L\r\n", b"\x00\xff", b"2 L\r\n"]
    for data in sent:
        log.write("m", 1.0, AT, data)
    log.close()
    whole = path.read_bytes()
    for size in range(len(whole) + 1):
        path.write_bytes(whole[:size])
        found = [chunk.data for chunk in read_raw(path)]
        # A last line that lacks its newline alone is complete.
        assert found == sent[: (whole[:size] + b"\n").count(b"}\n")]


def test_a_torn_line_does_not_swallow_the_next(tmp_path: Path) -> None:
    path = tmp_path / "a.raw"
    path.write_bytes(b'{"t":1.0,"utc":"2026')
    log = RawLog(path)
    log.write("m", 2.0, AT, b"next")
    log.close()
    assert [chunk.data for chunk in read_raw(path)] == [b"next"]


def test_a_fault_is_a_text_and_the_log_goes_on_once_it_can(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "later" / "a.raw"
    log = RawLog(path)
    assert "check the path" in str(log.fault)
    log.write("m", 1.0, AT, b"lost")
    assert log.missed == 1
    path.parent.mkdir()
    log.write("m", 2.0, AT, b"kept")
    assert str(log.fault) == "None"

    real = os.write
    monkeypatch.setattr(os, "write", lambda descriptor, data: real(descriptor, data[:9]))
    log.write("m", 3.0, AT, b"half")
    monkeypatch.setattr(os, "write", real)
    assert "disk is full" in str(log.fault) and log.missed == 2
    log.write("m", 4.0, AT, b"kept too")
    log.close()
    assert str(log.fault) == "None"
    assert [chunk.data for chunk in read_raw(path)] == [b"kept", b"kept too"]


@pytest.mark.parametrize(
    "spoiled",
    [
        b"\n",
        b"[]\n",
        b"{}\n",
        b"\xff\n",
        b'{"t":1,"utc":"x","ch":"m","hex":"00"}\n',
        b'{"t":1,"hex":"0"}\n',
        b"x" * 3_000_000,
    ],
)
def test_spoiled_lines_are_passed_over(tmp_path: Path, spoiled: bytes) -> None:
    path = tmp_path / "a.raw"
    good = b'{"t":1.5,"utc":"2026-06-01T07:30:00+00:00","ch":"m","hex":"00ff"}\n'
    path.write_bytes(good + spoiled + b"\n" + good)
    assert [chunk.data for chunk in read_raw(path)] == [b"\x00\xff"] * 2


def test_a_missing_log_is_a_fault(tmp_path: Path) -> None:
    with pytest.raises(RecordFault, match="check the path"):
        list(read_raw(tmp_path / "none.raw"))
