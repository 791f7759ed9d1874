"""One entry is one line: what goes in comes out, and what is no entry is told in words."""

import json
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tally.job import coding
from tally.job import events as ev
from tally.job.coding import Undecodable, decoded, encoded
from tally.job.events import Entry
from tests.job.happenings import KINDS, events_of
from tests.scenario import START, Day

QUICK = settings(max_examples=12, suppress_health_check=[HealthCheck.too_slow])


def line(**changes: Any) -> bytes:
    """A joint's entry with the event's keys changed; None takes a key out."""
    event: dict[str, Any] = {"kind": "JointAdded", "version": 1, "length_m": 6.1, "typed": "6.10 m"}
    event.update(changes)
    event = {key: value for key, value in event.items() if value is not None}
    entry = {"number": 2, "at": "2026-05-11T12:00:00Z", "mono_s": 1.5, "who": "A", "event": event}
    return json.dumps(entry).encode()


def reason(body: bytes) -> str:
    with pytest.raises(Undecodable) as caught:
        decoded(body)
    words = str(caught.value)
    assert words.isprintable() and 0 < len(words) < 500
    return words


@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.__name__)
def test_every_kind_comes_back_as_it_went_in(kind: type[ev.Event]) -> None:
    @QUICK
    @given(events_of(kind))
    def round_trip(event: Any) -> None:
        entry = Entry(number=7, at=START, mono_s=12.25, who="Ø [/] {0}", event=event)
        body = encoded(entry)
        assert b"\n" not in body
        assert decoded(body) == entry
        assert json.loads(body)["event"]["kind"] == kind.__name__

    round_trip()


def test_every_kind_names_itself_and_its_version() -> None:
    """A session must still be read when today's defaults have changed, so a line states both."""
    entry = Day().joint()
    event = json.loads(encoded(entry))["event"]
    assert event == {"kind": "JointAdded", "version": 1, "length_m": 5.05, "typed": "5.05 m"}


def test_floats_keep_every_bit() -> None:
    # 0.1 + 0.2 has the longest decimal form that a double can need (17 digits; IEEE 754).
    entry = Day().entry(ev.JointAdded(length_m=0.1 + 0.2, typed=""))
    read = decoded(encoded(entry)).event
    assert isinstance(read, ev.JointAdded) and read.length_m == 0.30000000000000004


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"length_m": float("nan")}, "length_m"),
        ({"length_m": float("inf")}, "length_m"),
        ({"length_m": -1.0}, "greater than 0"),
        ({"length_m": 1e13}, "length_m"),
        ({"length_m": "6.1"}, "valid number"),
        ({"length_m": True}, "valid number"),
        ({"typed": None}, "typed"),
        ({"typed": "x" * 2_001}, "2000"),
        ({"weight": 3}, "weight"),
        ({"kind": "JointWelded"}, "JointWelded"),
        ({"version": 2}, "newer program"),
        ({"version": 10**400}, "newer program"),
        ({"version": 0}, "version"),
        ({"version": "1"}, "version"),
    ],
)
def test_what_is_no_entry_is_told_in_words(changes: dict[str, Any], said: str) -> None:
    assert said in reason(line(**changes))


def test_a_newer_version_says_what_to_do() -> None:
    words = reason(line(version=2, lenght_m=3))
    assert "JointAdded version 2" in words and "install the newer one" in words


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"null",
        b"[]",
        b"7",
        b"\x00\xff\xfe",
        b"\xff\xfe{\x00}\x00",
        b"{" * 100_000,
        b"[" * 100_000 + b"]" * 100_000,
        b'{"event":' * 5_000 + b"1" + b"}" * 5_000,
        b'{"event": {"kind": {}, "version": []}}',
        b'{"event": {"kind": "\\ud800", "version": 9}}',
        line()[:-1],
        line() + b"x",
        line(length_m=6.1).replace(b"6.1", b"9" * 5_000),
        line(length_m=6.1).replace(b"6.1", b"1e999"),
        line().replace(b'"number": 2', b'"number": 0'),
        line().replace(b'"number": 2', b'"number": 2.0'),
        line().replace(b"12:00:00Z", b"12:00:00"),
        line().replace(b"2026-05-11T", b"tomorrow "),
        line().replace(b"1.5", b"NaN"),
    ],
    ids=range(20),
)
def test_garbage_is_undecodable_and_nothing_else(body: bytes) -> None:
    reason(body)


def test_of_a_key_twice_the_last_one_counts() -> None:
    """As in RFC 8259, section 4: what software makes of it is its own affair, but it must be one of the two."""
    read = decoded(line().replace(b'"typed"', b'"length_m": 5.5, "typed"')).event
    assert isinstance(read, ev.JointAdded) and read.length_m == 5.5


@settings(max_examples=200)
@given(st.data())
def test_a_damaged_line_never_raises_anything_else(data: st.DataObject) -> None:
    body = bytearray(line())
    for _ in range(data.draw(st.integers(1, 4))):
        body[data.draw(st.integers(0, len(body) - 1))] = data.draw(st.integers(0, 255))
    try:
        decoded(bytes(body))
    except Undecodable as wrong:
        assert str(wrong).isprintable()


KEYS = st.sampled_from(["event", "kind", "version", "number"])
LEAVES = st.none() | st.booleans() | st.floats() | st.text()


@settings(max_examples=100)
@given(st.recursive(LEAVES, lambda inner: st.lists(inner) | st.dictionaries(KEYS, inner)))
def test_any_json_is_an_entry_or_undecodable(value: Any) -> None:
    reason(json.dumps(value).encode())


def test_an_instant_is_written_in_utc_to_the_millisecond() -> None:
    assert coding.utc_text(START.replace(microsecond=123_456)) == "2026-05-11T12:00:00.123Z"
