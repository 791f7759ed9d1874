"""Old versions come out as new events, wherever they stand; what an upcast makes is checked like any line."""

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.job import coding, upcast
from tally.job import events as ev
from tally.job.coding import Undecodable, decoded, encoded
from tests.scenario import Day


@pytest.fixture(autouse=True)
def upcasts(monkeypatch: pytest.MonkeyPatch) -> dict[tuple[str, int], Any]:
    """An invented past: a joint was once called a pipe, and its length once told in feet."""
    table = {
        ("PipeAdded", -1): lambda old: {"kind": "JointAdded", "version": 0, "feet": old["feet"], "typed": ""},
        ("JointAdded", 0): lambda old: {
            "kind": "JointAdded", "version": 1, "length_m": old["feet"] * 0.3048, "typed": f"{old['feet']} ft",
        },
        ("CutOffMade", 0): lambda old: {**old, "version": 0},
        ("ToppedUp", 0): lambda old: old["volume"],
    }  # fmt: skip
    monkeypatch.setattr(upcast, "UPCASTS", table)
    return table


def line(event: dict[str, Any]) -> bytes:
    entry = {"number": 2, "at": "2026-05-11T12:00:00Z", "mono_s": 1.5, "who": "Ø", "event": event}
    return json.dumps(entry).encode()


def test_an_old_version_is_brought_up_step_by_step() -> None:
    for old in ({"kind": "JointAdded", "version": 0, "feet": 20.0}, {"kind": "PipeAdded", "version": -1, "feet": 20.0}):
        entry = decoded(line(old))
        # The international foot is 0.3048 m exactly (NIST SP 811, appendix B.8).
        assert entry.event == ev.JointAdded(length_m=20.0 * 0.3048, typed="20.0 ft")
        assert (entry.number, entry.who) == (2, "Ø")
        assert decoded(encoded(entry)) == entry


def test_an_old_version_inside_a_correction_is_brought_up_too() -> None:
    inner = {"kind": "JointAdded", "version": 0, "feet": 20.0}
    late = decoded(line({"kind": "EntryInserted", "version": 1, "after": 1, "event": inner, "reason": "forgotten"}))
    assert isinstance(late.event, ev.EntryInserted)
    assert late.event.event == ev.JointAdded(length_m=20.0 * 0.3048, typed="20.0 ft")


@pytest.mark.parametrize(
    "event",
    [
        {"kind": "JointAdded", "version": 0, "feet": 1e9},  # no length that the model takes
        {"kind": "JointAdded", "version": 0, "feet": float("nan")},
        {"kind": "JointAdded", "version": 0},
        {"kind": "JointAdded", "version": 0, "feet": []},
        {"kind": "CutOffMade", "version": 0},  # an upcast that goes nowhere does not hang
        {"kind": "ToppedUp", "version": 0},
        {"kind": [], "version": {}},
    ],
)
def test_what_an_upcast_cannot_make_is_no_entry(event: dict[str, Any]) -> None:
    with pytest.raises(Undecodable):
        decoded(line(event))


def test_lines_of_today_are_left_alone() -> None:
    for entry in (Day().joint(), Day().beat(0.1)):
        assert upcast.brought_up(encoded(entry)) is None


@given(st.binary(max_size=60) | st.recursive(st.none() | st.text(), lambda inner: st.dictionaries(
    st.sampled_from(["event", "kind", "version"]), inner)).map(lambda value: json.dumps(value).encode()))  # fmt: skip
def test_whatever_the_bytes_nothing_is_raised(body: bytes) -> None:
    assert upcast.brought_up(body) is None


def test_the_version_that_is_written_is_the_newest() -> None:
    assert set(coding.VERSIONS.values()) == {1}
    with pytest.raises(Undecodable, match="newer program"):
        decoded(line({"kind": "JointWelded", "version": 1}))
