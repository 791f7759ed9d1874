"""Raw bytes read again: the same meter gives the record, another one what would have been recorded."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from tally.job import events as ev
from tally.job import fold
from tally.job.wired import MeterPlan
from tally.live.clock import SystemClock
from tally.live.instruments import grout_meter
from tally.live.loading import Loaded, load
from tally.live.recorder import Recorder
from tally.live.reread import Reread, readings, reread
from tally.meters.simulator_process import SimulatorProcess
from tally.planfile import read_text
from tally.record.raw_log import RawChunk, raw_log_path, read_raw
from tests.live.small_job import plan_text
from tests.meters.support import wait_until
from tests.scenario import START, Day, plan

SHIPPED = Path(__file__).parents[2] / "demo_sessions" / "lost-returns"


def same(meter: MeterPlan) -> MeterPlan:
    return meter


def chunk(mono_s: float, text: str, *, at_s: float | None = None, channel: str = "grout") -> RawChunk:
    passed_s = mono_s - 1_000.0 if at_s is None else at_s
    return RawChunk(channel, mono_s, START + timedelta(seconds=passed_s), text.encode())


@pytest.fixture(scope="module")
def shipped() -> tuple[Loaded, Reread]:
    loaded = load(SHIPPED / "session.jsonl")
    return loaded, reread(loaded.entries, read_raw(SHIPPED / "session.raw"), same)


def test_the_shipped_session_comes_out_as_it_was_recorded(shipped: tuple[Loaded, Reread]) -> None:
    loaded, found = shipped
    beats = [entry for entry in loaded.entries if isinstance(entry.event, ev.Heartbeat)]
    assert [entry for entry in found.entries if isinstance(entry.event, ev.Heartbeat)] == beats
    assert found.agrees(loaded.entries)
    assert readings(beats) > 10_000
    state = fold.folded(found.entries)
    assert state.flow == loaded.state.flow
    assert state.grout == loaded.state.grout


def recorded(home: Path) -> Iterator[Path]:
    """A real recorder on a real port, with noise, a pulled plug, a reset and a restart."""
    with SimulatorProcess("--listen", "127.0.0.1:0", "--speed", "20", "--hz", "0.5", "--start-total", "500") as rig:
        found = read_text(plan_text(rig.port))
        assert not isinstance(found, list), found
        recorder = Recorder.opened(found, home, SystemClock(), grout_meter)
        for command in ("rate 60", "garbage", "unplug", "replug", "reset", "rate 30"):
            if command == "rate 60":
                recorder.start()
            rig.command(command)
            before = recorder.snapshot.state.flow
            assert wait_until(
                lambda before=before, command=command: (  # type: ignore[misc]
                    recorder.snapshot.state.flow.condition == ("FAULT" if command == "unplug" else "LIVE")
                    and (command == "unplug" or recorder.snapshot.state.flow.last_total_m3 != before.last_total_m3)
                ),
                20.0,
            ), command
        rig.command("stop")
        total_m3 = round(rig.tell()["total_l"] / 1000, 5)
        assert wait_until(lambda: recorder.snapshot.state.flow.last_total_m3 == pytest.approx(total_m3, abs=6e-6), 20.0)
        recorder.stop()
        yield recorder.path
        again = Recorder.resumed(recorder.path, SystemClock(), grout_meter)
        again.start()
        seen = again.snapshot.state.flow.last_data_s
        assert wait_until(lambda: again.snapshot.state.flow.last_data_s != seen, 20.0)
        again.stop()
        yield recorder.path


def test_what_was_recorded_from_a_real_port_comes_out_again(tmp_path: Path) -> None:
    for path in recorded(tmp_path):
        loaded = load(path)
        before = path.read_bytes(), raw_log_path(path).read_bytes()
        found = reread(loaded.entries, read_raw(raw_log_path(path)), same)
        assert found.agrees(loaded.entries)
        assert found.unread > 0
        flow = fold.folded(found.entries).flow
        assert flow.metered_m3 == pytest.approx(loaded.state.flow.metered_m3, abs=1e-9)
        assert flow.offered_m3 == pytest.approx(loaded.state.flow.offered_m3, abs=1e-9)
        assert flow.rebased == loaded.state.flow.rebased == 1
        assert (path.read_bytes(), raw_log_path(path).read_bytes()) == before


def test_another_pattern_reads_what_nobody_could(tmp_path: Path) -> None:
    day = Day(plan(meter={"pattern": r"X=(?P<total>[\d.]+)"}))
    for second in range(6):
        day.mono_s, day.at = 1_001.0 + second, START + timedelta(seconds=1 + second)
        day.record(ev.Heartbeat())
    raw = [chunk(1_000.5, ""), *(chunk(1_000.8 + second, f"T={100 + second}\r\n") for second in range(6))]
    as_it_was = reread(day.entries, raw, same)
    assert (as_it_was.lines, as_it_was.unread, as_it_was.readings) == (0, 6, 0)
    assert as_it_was.troubles[0].text == "T=100"
    found = reread(day.entries, raw, lambda meter: meter.model_copy(update={"pattern": r"T=(?P<total>[\d.]+)"}))
    assert (found.lines, found.unread) == (6, 0)
    flow = fold.folded(found.entries).flow
    assert flow.metered_m3 == pytest.approx(0.005)  # from 100 to 105 L
    assert flow.condition == "LIVE"
    assert fold.folded(found.entries).plan.meter != day.entries[0].event.plan.meter  # type: ignore[union-attr]


def test_what_a_pattern_no_longer_reads_is_a_silent_meter() -> None:
    day = Day()
    for second in range(9):
        day.mono_s, day.at = 1_001.0 + second, START + timedelta(seconds=1 + second)
        day.record(ev.Heartbeat())
    raw = [chunk(1_000.8 + second, f"T={100 + second}\r\n") for second in range(9)]
    found = reread(day.entries, raw, lambda meter: meter.model_copy(update={"pattern": r"T=(?P<total>10[012])"}))
    flow = fold.folded(found.entries).flow
    assert (found.lines, found.unread, flow.condition) == (3, 6, "STALE")
    numbers = [entry.number for entry in found.entries]
    assert len(set(numbers)) == len(numbers)
    assert {entry.number for entry in day.entries} <= set(numbers)


def test_pieces_belong_to_the_run_in_which_they_arrived() -> None:
    # The machine was started anew: its monotonic clock begins again, lower than before.
    day = Day()
    day.mono_s, day.at = 1_002.0, START + timedelta(seconds=2)
    day.record(ev.Heartbeat())
    day.mono_s, day.at = 10.0, START + timedelta(seconds=600)
    day.record(ev.SessionResumed(program="test", calculation=ev.CALCULATION, boot="boot-2"))
    day.mono_s, day.at = 12.0, START + timedelta(seconds=602)
    day.record(ev.Heartbeat())
    raw = [
        chunk(1_001.0, "T=100\r\n"),
        chunk(1_001.5, "T=999\r\n", channel="another"),
        chunk(1_002.5, "T=104\r\n"),  # after the last heartbeat of its run: nobody recorded it
        chunk(11.0, "T=108\r\n", at_s=601.0),
    ]
    found = reread(day.entries, raw, same)
    beats = [entry.event for entry in found.entries if isinstance(entry.event, ev.Heartbeat) and entry.event.samples]
    assert [beat.samples[0].values for beat in beats] == [(0.1,), (0.108,)]
    flow = fold.folded(found.entries).flow
    assert flow.metered_m3 == 0.0
    assert flow.offered_m3 == pytest.approx(0.008)  # nobody saw the 8 L between


def test_a_meter_that_says_more_than_a_heartbeat_keeps_agrees_by_how_much_and_how_far() -> None:
    day = Day()
    for second in range(3):
        day.mono_s, day.at = 1_001.0 + second, START + timedelta(seconds=1 + second)
        day.record(ev.Heartbeat())
    raw = [chunk(1_000.0 + (place + 0.5) / 40, f"T={100 + place / 10:.1f}\r\n") for place in range(120)]
    recorded = reread(day.entries, raw, same).entries
    assert readings(recorded) == 75  # of 120, 25 a heartbeat
    shifted = [chunk(one.mono_s - 0.02, one.data.decode(), at_s=one.mono_s - 1_000.0) for one in raw]
    again = reread(recorded, shifted, same)
    assert again.agrees(recorded)
    assert not reread(recorded, raw[:50], same).agrees(recorded)
