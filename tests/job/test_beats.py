"""A heartbeat in parts is the heartbeat as an entry: read by the same rules, folded to the same state."""

import json
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from tally.job import events as ev
from tally.job import fold
from tally.job.coding import Beat, Undecodable, decoded, decoded_beat, encoded
from tally.job.events import Entry
from tests.scenario import grouting_day

odd = st.one_of(
    st.none(), st.booleans(), st.integers(-2, 2**70), st.floats(), st.text(max_size=5), st.just([]), st.just({})
)
WHOLE: dict[str, Any] = {
    "number": 7,
    "at": "2026-05-11T12:00:00Z",
    "mono_s": 5.0,
    "who": "A",
    "event": {
        "version": 1,
        "kind": "Heartbeat",
        "samples": [{"channel": "grout", "quantity": "total_m3", "before_s": [0.1], "values": [1.5]}],
    },
}
PLACES: list[tuple[str | int, ...]] = [
    ("number",), ("at",), ("mono_s",), ("who",), ("event", "samples"), ("event", "more"), ("more",),
    ("event", "samples", 0), ("event", "samples", 0, "channel"), ("event", "samples", 0, "quantity"),
    ("event", "samples", 0, "before_s"), ("event", "samples", 0, "values"), ("event", "samples", 0, "values", 0),
    ("event", "samples", 0, "before_s", 0), ("event", "samples", 0, "more"),
]  # fmt: skip


@given(st.sampled_from(PLACES), odd, st.booleans())
def test_parts_are_accepted_exactly_where_the_entry_is(place: tuple[str | int, ...], value: object, drop: bool) -> None:
    raw = json.loads(json.dumps(WHOLE))
    inner = raw
    for key in place[:-1]:
        inner = inner[key]
    if drop and isinstance(inner, dict):
        inner.pop(place[-1], None)
    else:
        inner[place[-1]] = value
    body = json.dumps(raw, separators=(",", ":")).encode()
    try:
        entry: Entry | None = decoded(body)
    except Undecodable:
        entry = None
    beat = decoded_beat(body)
    assert (beat is None) == (entry is None)
    if entry is not None and beat is not None:
        assert isinstance(entry.event, ev.Heartbeat)
        assert beat[:4] == (entry.number, entry.at, entry.mono_s, entry.who)
        told = [(samples.channel, samples.quantity, samples.values) for samples in entry.event.samples]
        assert beat.sampled == told


@given(st.lists(st.lists(st.floats(0, 3), max_size=4), max_size=40), st.lists(st.sampled_from("bnrm"), max_size=40))
def test_folded_in_parts_or_entry_by_entry_is_one_state(totals: list[list[float]], kinds: list[str]) -> None:
    day = grouting_day()
    for values, kind in zip(totals, kinds, strict=False):
        if kind == "n":
            day.record(ev.NoteWritten(text="rain"))
        elif kind == "r":
            day.restart(30.0)
        elif kind == "m":
            day.meter("FAULT" if day.state.flow.condition == "LIVE" else "LIVE")
        else:
            day.tick(1.0)
            samples = ev.Samples(
                channel="grout", quantity="total_m3", before_s=(0.0,) * len(values), values=tuple(values)
            )
            day.record(ev.Heartbeat(samples=(samples,)))
    folding = fold.Folding(fold.opened(day.entries[0]))
    for entry in day.entries[1:]:
        beat = decoded_beat(encoded(entry))
        assert (beat is not None) == isinstance(entry.event, ev.Heartbeat)
        if isinstance(beat, Beat):
            folding.beat(*beat)
        else:
            folding.take(entry)
    assert folding.state == day.state  # the day was folded entry by entry
