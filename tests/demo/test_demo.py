"""The demonstration: its plan reads, it enters an invented job by itself, and nothing of it stays behind."""

import os
import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tally.demo import crew, demo
from tally.job import events as ev
from tally.job import intents as want
from tally.job.alarms.replay import disagreements
from tally.job.state import State
from tally.live.loading import Loaded, load
from tally.live.recorder import Recorder
from tally.live.session import Saved
from tally.planfile import read_text
from tests.meters.support import wait_until

SPEED = 60.0
QUICK_STEPS = ("JointAdded", "CentralizerFitted", "HookLoadRead")


def kinds(loaded: Loaded) -> list[str]:
    return [entry.event.kind for entry in loaded.entries]


def until(recorder: Recorder, condition: Callable[[State], bool], deadline_s: float) -> bool:
    return wait_until(lambda: condition(recorder.snapshot.state), deadline_s)


def gone(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
    return False


def ours() -> set[str]:
    return {thread.name for thread in threading.enumerate() if thread.name.split()[0] in ("demo", "recorder", "meter")}


def test_its_plan_reads_and_says_that_it_is_invented() -> None:
    plan = read_text(demo.plan_text(), "plan.toml")
    assert not isinstance(plan, list), plan
    assert plan.job.invented
    assert plan.meter is not None
    assert demo.plan() == plan


def test_the_first_minutes_run_by_themselves_and_it_stops_at_once_leaving_nothing(tmp_path: Path) -> None:
    with demo.demonstration(tmp_path, SPEED) as (recorder, feed):
        pid = feed._simulator.pid
        assert pid is not None
        assert until(recorder, lambda state: len(state.string.joints) >= 2 and state.flow.condition == "LIVE", 15.0)
        assert feed.snapshot.state.string.joints
        began_s = time.monotonic()
    assert time.monotonic() - began_s < 5.0
    assert wait_until(lambda: gone(pid))
    assert ours() == set()
    loaded = load(recorder.path)
    assert not loaded.damaged
    assert disagreements(loaded.entries) == []
    assert loaded.state.plan.job.invented
    assert not loaded.state.alarms
    assert {kind for kind in QUICK_STEPS if kind in kinds(loaded)} == {"JointAdded", "CentralizerFitted"}


def test_the_first_entry_by_hand_takes_over(tmp_path: Path) -> None:
    with demo.demonstration(tmp_path, SPEED) as (recorder, feed):
        assert until(recorder, lambda state: len(state.string.joints) >= 1, 15.0)
        assert isinstance(feed.submit(want.WriteNote("my job now")).result(10.0), Saved)
        assert wait_until(lambda: not feed._threads[0].is_alive())
        entered = len(recorder.snapshot.state.string.joints)
    joints = kinds(load(recorder.path)).count("JointAdded")
    assert joints == entered


@pytest.mark.skipif(os.name != "posix", reason="needs pseudo-terminals")
def test_in_a_terminal_it_asks_nothing_and_goes_when_told_to(tmp_path: Path) -> None:
    from tests.live.terminal import Terminal

    with Terminal("demo", "--speed", "60", home=tmp_path) as terminal:
        assert terminal.shows("Larch Hollow", 20.0), terminal.text
        folder = tmp_path / "sessions" / "demo"
        assert wait_until(lambda: any(b"JointAdded" in path.read_bytes() for path in folder.glob("*.jsonl")), 15.0)
        terminal.keys("F9")
        assert terminal.shows("Stop recording?")
        terminal.keys("1")
        assert terminal.ended(5.0) == 0, terminal.text[-2000:]
        terminal.settled()
        assert "Recorded in" in terminal.text
    (session,) = folder.glob("*.jsonl")
    loaded = load(session)
    assert loaded.problems == ()
    assert disagreements(loaded.entries) == []


@pytest.mark.long
def test_it_runs_to_its_end_with_the_alarm_that_it_is_about(tmp_path: Path) -> None:
    """About 35 minutes of the job at 60 times the wall."""
    with demo.demonstration(tmp_path, SPEED) as (recorder, feed):
        pid = feed._simulator.pid
        assert pid is not None
        assert wait_until(lambda: not feed._threads[0].is_alive(), 150.0)
        told = feed._simulator.tell()
    assert wait_until(lambda: gone(pid))
    assert ours() == set()
    loaded = load(recorder.path)
    assert not loaded.damaged
    assert disagreements(loaded.entries) == []
    state = loaded.state
    assert len(state.string.joints) == len(state.plan.casing.rack_m)
    assert state.string.landed_on == "rock"
    (stage,) = state.grout.stages
    assert stage.outcome == "good grout at surface"
    # By the simulator's own count; the meter prints hundredths of a litre.
    assert crew.pumped_m3(state) == 0.0  # no stage is under way any more
    assert state.flow.metered_m3 * 1000 == pytest.approx(told["pumped_l"], abs=0.1)
    assert state.flow.offered_m3 == 0.0
    raised = {entry.event.alarm for entry in loaded.entries if isinstance(entry.event, ev.AlarmRaised)}
    assert "returns-overdue" in raised
    assert raised <= {"returns-overdue", "over-planned-volume"}, raised
    assert all(alarm.acknowledged_at for alarm in state.alarms if alarm.alarm == "returns-overdue")
    steps = len(list(crew.steps(state)))
    entered = [entry for entry in loaded.entries if entry.event.kind not in
               ("Heartbeat", "MeterChanged", "AlarmRaised", "AlarmCleared", "SessionOpened")]  # fmt: skip
    assert len(entered) == steps, "a step of the crew was refused"
