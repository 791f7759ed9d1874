"""The main job end to end: the real program in a terminal, a simulated meter in a process of its own, keys as bytes.

The job is the small one of tests/live/small_job.py. What is expected of it is worked by hand, from its geometry:

    annulus     pi/4 x (0.200^2 - 0.1143^2) m2 = 21.155 L a metre
    returns     the air above the water fills first: 3.5 m x 21.155 L/m = 74.0 L (no allowance, no spread)
    a batch     40 kg / (3.15 kg/L) + 18.4 L = 31.1 L a bag
"""

import json
import math
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tally.meters.simulator_process import SimulatorProcess
from tests.live.small_job import plan_text
from tests.meters.support import wait_until

if os.name != "posix":
    pytest.skip("needs pseudo-terminals", allow_module_level=True)
from tests.live.terminal import Terminal, environment

WATER_M = 3.5
ANNULUS_M2 = math.pi / 4 * (0.2**2 - 0.1143**2)
DUE_L = ANNULUS_M2 * WATER_M * 1000
BATCH_L = 40 / 3.15 + 18.4
PUMP_L_MIN = 400.0
METER_PRINTS_L = 0.01
"""The last digit of the meter's line."""


@pytest.fixture(params=["pty", pytest.param("socket", marks=pytest.mark.long)])
def meter(request: pytest.FixtureRequest) -> Iterator[SimulatorProcess]:
    where = ["--pty"] if request.param == "pty" else ["--listen", "127.0.0.1:0"]
    with SimulatorProcess(*where, "--speed", "1", "--start-total", "731.25", "--rate-noise", "0") as process:
        yield process


def entries(folder: Path) -> list[dict[str, Any]]:
    """The entries of the one session in `folder`, read by this test alone; a line still being written is left out."""
    files = list(folder.glob("*.jsonl"))
    assert len(files) <= 1, files
    if not files:
        return []
    text = files[0].read_text(encoding="utf-8")
    return [json.loads(line) for line in text[: text.rfind("\n") + 1].splitlines()]


def kinds(folder: Path, kind: str) -> list[dict[str, Any]]:
    return [entry["event"] for entry in entries(folder) if entry["event"]["kind"] == kind]


def raised(folder: Path, alarm: str) -> list[dict[str, Any]]:
    return [event for event in kinds(folder, "AlarmRaised") if event["alarm"] == alarm]


def last_total_l(folder: Path) -> float:
    totals = [
        value
        for beat in kinds(folder, "Heartbeat")
        for samples in beat["samples"]
        if samples["quantity"] == "total_m3"
        for value in samples["values"]
    ]
    return float(totals[-1]) * 1000 if totals else math.nan


def heard(folder: Path, total_l: float) -> bool:
    return wait_until(lambda: abs(last_total_l(folder) - total_l) <= METER_PRINTS_L, 20.0)


def saved(terminal: Terminal, folder: Path, kind: str, count: int, *keys: str) -> None:
    """Types `keys` and waits until they have come to `count` entries of `kind` on the disk.

    Of two keys the second picks an answer, once the question is on the screen.
    """
    terminal.forget()
    terminal.keys(keys[0])
    if len(keys) > 1:
        asked = "Esc back"
        assert terminal.shows(asked), f"{keys[0]} asked nothing\n{terminal.text[-2000:]}"
        terminal.keys(*keys[1:])
    there = wait_until(lambda: len(kinds(folder, kind)) >= count, 20.0)
    assert there, f"{keys} made no {kind}\n{terminal.text[-2000:]}"


def run_casing(terminal: Terminal, folder: Path) -> None:
    assert terminal.shows("SHOE DEPTH"), terminal.text
    saved(terminal, folder, "JointAdded", 1, "5.20\r")
    assert terminal.shows("saved")
    saved(terminal, folder, "JointAdded", 2, "5.10\r")
    saved(terminal, folder, "CasingLanded", 1, "l", "1")


def begin_stage(terminal: Terminal, folder: Path) -> None:
    terminal.keys("F3")
    assert terminal.shows("no stage begun"), terminal.text[-2000:]
    terminal.forget()
    terminal.keys("2\r")
    assert terminal.shows("Before the first batch"), terminal.text[-2000:]
    # six things are looked at; the last one, said, has the batch recorded
    for count in range(1, 7):
        saved(terminal, folder, "CheckConfirmed", count, "\r")
    assert terminal.shows("batch mixed, 2 bags"), terminal.text[-2000:]
    saved(terminal, folder, "StageStarted", 1, "g")
    live = wait_until(lambda: any(event["condition"] == "LIVE" for event in kinds(folder, "MeterChanged")), 10.0)
    assert live, kinds(folder, "MeterChanged")


def tally(home: Path, *arguments: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, "-m", "tally", *arguments],
        capture_output=True,
        encoding="utf-8",
        env=environment(home),
        cwd=home,
        stdin=subprocess.DEVNULL,
        timeout=60,
        check=False,
    )


def test_the_job_from_plan_to_report_with_lost_returns_and_a_power_cut(meter: SimulatorProcess, tmp_path: Path) -> None:
    folder = tmp_path / "sessions"
    plan = tmp_path / "plan.toml"
    plan.write_text(plan_text(meter.port, f"{WATER_M:g} m"), encoding="utf-8")

    with Terminal("run", str(plan), "--folder", str(folder), home=tmp_path) as first:
        run_casing(first, folder)
        begin_stage(first, folder)
        meter.command(f"rate {PUMP_L_MIN:g}")
        saved(first, folder, "BatchMixed", 2, "1\r")

        # Returns never come: the alarm is on the disk and on the screen, at the volume worked by hand.
        assert wait_until(lambda: bool(raised(folder, "returns-overdue")), 25.0), first.text[-2000:]
        (overdue,) = raised(folder, "returns-overdue")
        assert overdue["limit"] * 1000 == pytest.approx(DUE_L, abs=0.05)
        assert DUE_L < overdue["value"] * 1000 <= DUE_L + BATCH_L
        assert first.shows("Returns overdue")
        assert first.shows(f"returns were due by {DUE_L:.0f} L"), first.text[-2000:]

        saved(first, folder, "AlarmAcknowledged", 1, "a", "1")
        first.kill()
    assert kinds(folder, "AlarmAcknowledged")[0]["done"] == "stopped the pump and tagged the top"
    before = entries(folder)
    # The pump runs on while nobody records.
    cut_l = meter.tell()["pumped_l"]
    assert wait_until(lambda: meter.tell()["pumped_l"] > cut_l + 2)
    meter.command("stop")

    with Terminal("run", "--folder", str(folder), home=tmp_path) as second:
        assert second.shows("PUMPED"), second.text
        assert entries(folder)[: len(before)] == before
        assert len(kinds(folder, "SessionResumed")) == 1
        truth = meter.tell()
        assert heard(folder, truth["total_l"])
        assert wait_until(lambda: bool(raised(folder, "meter-gap")), 10.0), second.text[-2000:]
        assert second.shows("Meter moved unseen"), second.text[-2000:]
        saved(second, folder, "GapAnswered", 1, "o", "1")
        saved(second, folder, "AlarmAcknowledged", 2, "a", "1")
        saved(second, folder, "TopTagged", 1, "t", "6.5\r")
        meter.command(f"rate {PUMP_L_MIN:g}")
        saved(second, folder, "ReturnsSeen", 1, "r", "3")
        saved(second, folder, "BatchMixed", 3, "3\r")
        assert wait_until(lambda: meter.tell()["pumped_l"] > truth["pumped_l"] + 10)
        meter.command("stop")
        truth = meter.tell()
        assert heard(folder, truth["total_l"])
        saved(second, folder, "ReturnsSeen", 2, "r", "7")
        saved(second, folder, "StageEnded", 1, "f", "1")
        saved(second, folder, "NoteWritten", 1, "n", "tremie washed out\r")
        second.keys("F9")
        assert second.shows("Stop recording?")
        second.keys("1")
        assert second.ended(5.0) == 0, second.text[-2000:]
        assert second.shows("Saved in")

    (session,) = folder.glob("*.jsonl")
    check = tally(tmp_path, "check", str(session))
    assert (check.returncode, "whole" in check.stdout, "NOT WHOLE" in check.stdout) == (0, True, False), check
    report = tally(tmp_path, "report", str(session))
    assert (report.returncode, report.stderr) == (0, "")
    assert_nothing_is_missing(report.stdout, truth["pumped_l"])
    replay = tally(tmp_path, "replay", "--text", str(session))
    assert replay.returncode == 0, replay.stdout[-2000:]
    assert "they agree with those worked out anew" in replay.stdout


def assert_nothing_is_missing(report: str, pumped_l: float) -> None:
    for words in ("5.20 m", "5.10 m", "stopped the pump and tagged the top", "Returns overdue", "Meter moved unseen"):
        assert words in report, f"{words}\n{report}"
    assert report.count("tremie washed out") >= 1
    # Two bags, one and three: the batches as mixed.
    assert f"{6 * BATCH_L:.0f} L from 6 bags" in report, report
    # The meter prints hundredths of a litre; the report prints whole litres or tenths.
    line = next(line for line in report.splitlines() if "Pumped" in line and "by meter" in line)
    told = float(line.split("|")[2].strip().split(" L")[0].replace(",", ""))
    assert told == pytest.approx(pumped_l, abs=0.51), line
    assert "taken up again" in report or "resumed" in report.lower(), report


def test_quitting_takes_under_two_seconds_while_the_meter_is_silent(tmp_path: Path) -> None:
    folder = tmp_path / "sessions"
    plan = tmp_path / "plan.toml"
    with SimulatorProcess("--pty", "--speed", "1") as silent:
        silent.command("silent 1000000")
        plan.write_text(plan_text(silent.port), encoding="utf-8")
        with Terminal("run", str(plan), "--folder", str(folder), home=tmp_path) as terminal:
            assert terminal.shows("SHOE DEPTH"), terminal.text
            opened = wait_until(lambda: any(e["condition"] == "OPENING" for e in kinds(folder, "MeterChanged")), 10.0)
            assert opened
            terminal.keys("F9")
            assert terminal.shows("Stop recording?")
            terminal.keys("1")
            assert terminal.ended(2.0) == 0, "still running after two seconds"
        assert tally(tmp_path, "check", str(next(folder.glob("*.jsonl")))).returncode == 0


def test_ctrl_c_asks_before_it_ends_the_record(tmp_path: Path) -> None:
    folder = tmp_path / "sessions"
    plan = tmp_path / "plan.toml"
    plan.write_text(plan_text(str(tmp_path / "no-such-port")), encoding="utf-8")
    with Terminal("run", str(plan), "--folder", str(folder), home=tmp_path) as terminal:
        assert terminal.shows("SHOE DEPTH"), terminal.text
        terminal.keys("\x03")
        assert terminal.shows("Stop recording?")
        terminal.forget()
        terminal.keys("2222")  # what comes behind the answer belongs to the entry line, and is rubbed out below
        assert terminal.shows("joints in"), terminal.text
        # A port that is not there costs nothing but the meter.
        faults = wait_until(lambda: any(e["condition"] == "FAULT" for e in kinds(folder, "MeterChanged")), 10.0)
        assert faults
        saved(terminal, folder, "JointAdded", 1, "\x7f\x7f\x7f5.20\r")
        terminal.forget()
        terminal.keys("\x11")
        assert terminal.shows("Stop recording?")
        terminal.keys("1")
        assert terminal.ended(5.0) == 0, terminal.text[-2000:]


def test_keys_that_come_in_one_burst_act_in_the_order_in_which_they_were_typed(tmp_path: Path) -> None:
    """As over a slow link: an answer, the next, a letter and its question's answer, a mistake rubbed out."""
    folder = tmp_path / "sessions"
    plan = tmp_path / "plan.toml"
    plan.write_text(plan_text(str(tmp_path / "no-such-port")), encoding="utf-8")
    with Terminal("run", str(plan), "--folder", str(folder), home=tmp_path) as terminal:
        assert terminal.shows("SHOE DEPTH"), terminal.text
        terminal.keys("5.20\r5.1\x7f\x7f\x7f5.10\rh0.04\rs0.50\rnall on\rl1n2\x7f3 on rock\r")
        noted = wait_until(lambda: len(kinds(folder, "NoteWritten")) == 2, 20.0)
        assert noted, terminal.text[-2000:]
    assert [event["length_m"] for event in kinds(folder, "JointAdded")] == [5.2, 5.1]
    assert [event["typed"] for event in kinds(folder, "HookLoadRead")] == ["0.04 t"]
    assert [event["typed"] for event in kinds(folder, "StickUpRead")] == ["0.50 m"]
    assert [event["text"] for event in kinds(folder, "NoteWritten")] == ["all on", "3 on rock"]
    assert [event["on"] for event in kinds(folder, "CasingLanded")] == ["rock"]


def test_a_closed_terminal_loses_nothing_that_was_entered(tmp_path: Path) -> None:
    folder = tmp_path / "sessions"
    plan = tmp_path / "plan.toml"
    plan.write_text(plan_text(str(tmp_path / "no-such-port")), encoding="utf-8")
    with Terminal("run", str(plan), "--folder", str(folder), home=tmp_path) as terminal:
        assert terminal.shows("SHOE DEPTH"), terminal.text
        saved(terminal, folder, "JointAdded", 1, "5.20\r")
        terminal.process.terminate()
        assert terminal.ended(10.0) is not None
    (session,) = folder.glob("*.jsonl")
    assert tally(tmp_path, "check", str(session)).returncode == 0
    with Terminal("run", str(session), home=tmp_path) as again:
        assert again.shows("joints in"), again.text
        saved(again, folder, "JointAdded", 2, "5.10\r")
