"""Every instrument of the plan in one record: heard side by side, doubted in words, swapped with the plan."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tally.job import events as ev
from tally.job import intents as want
from tally.job.wired import Wired
from tally.live.clock import Clock
from tally.live.listener import Listener, RawHook
from tally.live.session import Session
from tally.meters.reading import Reading
from tally.meters.source import MeterState, MeterStatus, Source
from tests.job.instrumented import GAUGE, RETURNS
from tests.live.support import Bench, SaidMeter, kept, of_kind
from tests.scenario import plan

L = 1e-3


class Counting(SaidMeter):
    """A said meter that also says how many lines it read."""

    lines = garbage = left_out = 0

    @property
    def status(self) -> MeterStatus:
        return replace(super().status, lines=self.lines, garbage=self.garbage, left_out=self.left_out)


@pytest.fixture
def others() -> dict[str, Counting]:
    return {}


@pytest.fixture
def session(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, others: dict[str, Counting]) -> Session:
    def make(channel: str, wired: Wired, clock: Clock, on_raw: RawHook, beside: Sequence[Wired]) -> Source:
        others[channel] = Counting(clock, wired.port, channel)
        return others[channel]

    defaults: Any = Listener.__init__.__defaults__
    monkeypatch.setattr(Listener.__init__, "__defaults__", (make, *defaults[1:]))
    bench = Bench(tmp_path)
    session = bench.opened(plan(instruments=[RETURNS, GAUGE]))
    session.bench = bench  # type: ignore[attr-defined]
    return session


def bench_of(session: Session) -> Bench:
    bench: Bench = session.bench  # type: ignore[attr-defined]
    return bench


def says(meter: SaidMeter, quantity: str, *values: float) -> None:
    meter.state, meter.why = MeterState.LIVE, f"reading {meter.port}"
    meter.readings += [Reading(meter.clock.monotonic(), meter.channel, quantity, value) for value in values]


def test_one_heartbeat_carries_all_channels(session: Session, others: dict[str, Counting]) -> None:
    bench = bench_of(session)
    says(others["returns"], "total_m3", 0.5, 0.505)
    says(others["gauge"], "pressure_pa", 3e5)
    bench.beat(session, 100.0)
    beats = of_kind(kept(session), ev.Heartbeat)
    assert [(one.channel, one.quantity, one.values) for one in beats[-1].samples] == [
        ("grout", "total_m3", (0.1,)),
        ("returns", "total_m3", (0.5, 0.505)),
        ("gauge", "pressure_pa", (3e5,)),
    ]
    state = session.snapshot.state
    assert state.flow.metered_m3 == 0.0
    assert state.watched[0].flow.metered_m3 == pytest.approx(0.005)
    assert state.gauges.pressure_pa == 3e5


def test_each_instrument_has_a_state_of_its_own(session: Session, others: dict[str, Counting]) -> None:
    bench = bench_of(session)
    others["gauge"].state, others["gauge"].why = MeterState.FAULT, "there is no port 'e'"
    bench.beat(session, 100.0)
    state = session.snapshot.state
    assert state.flow.condition == "LIVE"
    assert [(one.name, one.flow.condition) for one in state.watched] == [("returns", "OPENING"), ("gauge", "FAULT")]


def test_mostly_garbage_is_told_with_its_share_and_ends(session: Session, others: dict[str, Counting]) -> None:
    bench = bench_of(session)
    meter = others["returns"]
    meter.lines, meter.garbage = 2, 8
    says(meter, "total_m3", 0.5)
    bench.beat(session, 100.0)
    flow = session.snapshot.state.watched[0].flow
    assert (flow.doubt, flow.doubt_amount) == ("garbage", 0.8)
    assert "baud rate" in flow.why
    for _ in range(11):
        meter.lines += 5
        says(meter, "total_m3", 0.5)
        bench.beat(session, 100.0)
    assert session.snapshot.state.watched[0].flow.doubt == ""
    kept(session)


def test_a_few_unreadable_lines_are_no_wrong_setting(session: Session, others: dict[str, Counting]) -> None:
    bench = bench_of(session)
    others["returns"].lines, others["returns"].garbage = 0, 4
    bench.beat(session, 100.0)
    assert session.snapshot.state.watched[0].flow.doubt == ""


def test_a_flood_is_told(session: Session, others: dict[str, Counting]) -> None:
    bench = bench_of(session)
    others["returns"].lines, others["returns"].left_out = 50_000, 30_000
    says(others["returns"], "total_m3", 0.5)
    bench.beat(session, 100.0)
    flow = session.snapshot.state.watched[0].flow
    assert (flow.doubt, flow.doubt_amount) == ("flood", 30_000.0)


def test_wires_the_wrong_way_round_count_nothing_and_are_told(session: Session) -> None:
    """The count goes back from 100 L to 60 L; changed over, it goes on from there and 40 L wait for a word."""
    bench = bench_of(session)
    bench.beat(session, 100.0)
    for place in range(1, 41):
        bench.beat(session, 100.0 - place)
    flow = session.snapshot.state.flow
    assert (flow.metered_m3, flow.doubt) == (0.0, "backward")
    assert flow.doubt_amount > 0.020
    for place in range(1, 21):
        bench.beat(session, 60.0 + place)
    flow = session.snapshot.state.flow
    assert flow.doubt == ""
    assert flow.metered_m3 == pytest.approx(0.020)
    assert flow.offered_m3 == pytest.approx(0.040)
    kept(session)


def test_an_amended_plan_swaps_only_what_it_changes(session: Session, others: dict[str, Counting]) -> None:
    bench = bench_of(session)
    bench.beat(session, 100.0)
    gauge, returns, meter = others["gauge"], others["returns"], bench.meter
    moved = plan(instruments=[{**RETURNS, "port": "elsewhere"}, GAUGE])
    session.enter(want.AmendPlan(moved, "another port"))
    bench.beat(session, 101.0)
    assert not returns.started
    assert others["returns"].port == "elsewhere" and others["returns"].started
    assert others["gauge"] is gauge and gauge.started
    assert bench.meter is meter and meter.started
    assert session.snapshot.state.flow.metered_m3 == pytest.approx(0.001)


def test_the_wall_clock_may_jump_and_nothing_is_counted_or_lost(session: Session) -> None:
    bench = bench_of(session)
    bench.beat(session, 100.0)
    for hours in (5, -7, 3):
        bench.clock.at += timedelta(hours=hours)
        bench.beat(session, 101.0)
        bench.beat(session, 100.0 + 1.0)
    bench.beat(session, 102.0)
    assert session.snapshot.state.flow.metered_m3 == pytest.approx(0.002)
    kept(session)
