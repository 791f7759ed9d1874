"""`tally meter calibrate`: with a meter on a pseudo-terminal and answers from a program, and by eye."""

import os
import tomllib
from pathlib import Path

import pytest

from tally.job import events as ev
from tally.job import intents as want
from tally.live.clock import SystemClock
from tally.live.instruments import grout_meter
from tally.live.loading import load
from tally.live.recorder import Recorder
from tally.meters.simulator_process import SimulatorProcess
from tally.planfile import read_text
from tally.planfile.snippet import read_meter
from tests.cli.program import Program
from tests.live.small_job import plan_text
from tests.meters.support import wait_until
from tests.test_cli import here

posix = pytest.mark.skipif(os.name != "posix", reason="needs pseudo-terminals")
RUNS = ("20 L=1973 pulses", "20 L=1981 pulses", "20 L=1977 pulses")


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path


def by_eye(home: Path, *more: str, runs: tuple[str, ...] = RUNS) -> str:
    done = here(home, "meter", "calibrate", *(part for run in runs for part in ("--run", run)), *more)
    assert done.stderr == ""
    return f"{done.returncode} {done.stdout}"


def session(home: Path, meter: str) -> Path:
    text = plan_text("none").partition("[meter]")[0] + meter
    found = read_text(text)
    assert not isinstance(found, list), found
    recorder = Recorder.opened(found, home, SystemClock(), grout_meter)
    recorder.stop()
    return recorder.path


# --- by eye ----------------------------------------------------------------------------------------------------------


def test_three_runs_by_eye_give_k_spread_and_the_line_for_the_plan(home: Path) -> None:
    # By hand in tests/engineering/test_bucket.py: K 98.85, 95 % ± 0.497, spread 0.40 %, tolerance 0.666 -> 0.7 %.
    said = by_eye(home, "--save", "k.toml")
    assert said.startswith("0 ")
    assert "K 98.85 pulses/L (95 % of the mean: 98.3532 to 99.3468)" in said
    assert "spread 0.40%" in said
    assert "ACCEPTED: the spread is no more than 1% (common practice" in said
    saved = (home / "k.toml").read_text(encoding="utf-8")
    assert tomllib.loads(saved)["meter"] == {"source": "pulses", "k": "98.85 pulses/L", "tolerance": "0.7 %"}
    assert "1,973 pulses for 20.00 L" in saved
    assert "nothing is written over" in here(home, "meter", "calibrate", "--run", "x", "--save", "k.toml").stderr


def test_runs_that_stray_are_refused_and_their_line_is_a_comment(home: Path) -> None:
    said = by_eye(home, "--save", "k.toml", runs=("20 L=20.3 L", "20 L=20.1 L", "20 L=20.9 L"))
    assert said.startswith("1 ")
    assert "REFUSED" in said
    assert tomllib.loads((home / "k.toml").read_text(encoding="utf-8")) == {}
    assert by_eye(home, "--limit", "5 %", runs=("20 L=20.3 L", "20 L=20.1 L", "20 L=20.9 L")).startswith("0 ")


def test_a_totaliser_gets_a_correction_of_true_over_shown(home: Path) -> None:
    # Dispensed 5000, displayed 4990: displayed over dispensed 0.9980, as an oval-gear meter's manual prints it (p 17).
    said = by_eye(home, runs=("5000 L=4990 L",) * 3)
    assert "shown over true 0.998 " in said
    assert "correction = 1.0020" in said  # 5000 / 4990 = 1.002004


def test_strokes_by_eye_give_the_pumps_efficiency(home: Path) -> None:
    # 20 strokes of 1.25 L sweep 25 L and 22.5 L are in the bucket: 90 %
    runs = ("22.5 L=20 strokes",) * 3
    said = by_eye(home, "--stroke-volume", "1.25 L", "--save", "k.toml", runs=runs)
    assert said.startswith("0 ")
    assert "one stroke delivers 1.125 L: 90 % of what it sweeps" in said
    found = tomllib.loads((home / "k.toml").read_text(encoding="utf-8"))["meter"]
    assert (found["source"], found["stroke_volume"], found["efficiency"]) == ("strokes", "1.25 L", "90 %")
    more = by_eye(home, "--stroke-volume", "1.0 L", runs=runs)  # 22.5 L out of 20 L swept
    assert more.startswith("1 ")
    assert "REFUSED: no pump delivers that share" in more


def test_few_pulses_are_called_few(home: Path) -> None:
    assert "few pulses" in by_eye(home, runs=("20 L=100 pulses",) * 3)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "name the meter's port"),
        (("--run", "20 L=5 pulses"), "at least three"),
        (("--run", "20 L"), "given '20 L'"),
        (("--run", "20=5 pulses"), "no unit"),
        (("--run", "0 L=5 pulses"), "more than nothing"),
        (("--run", "20 L=5.5 pulses"), "whole number"),
        (("--run", "1 L=5 pulses", "--run", "1 L=1 L", "--run", "1 L=1 L"), "one of them"),
        (("--run", "1 gal=5 pulses"), "which gallon"),
        (("--runs", "2"), "given 2"),
        (("--limit", "1"), "given 1"),
        (("/dev/no-such-port",), "there is no port"),
    ],
)
def test_what_is_wrong_is_told(home: Path, arguments: tuple[str, ...], words: str) -> None:
    done = here(home, "meter", "calibrate", *arguments)
    assert done.returncode == 2
    assert words in done.stderr


# --- on a port -------------------------------------------------------------------------------------------------------


def fill(rig: SimulatorProcess, program: Program, number: int, least_l: float) -> float:
    """One bucket, as a person fills it: Enter, pump, stop. What is in it [L]."""
    assert program.says("Enter when ready", times=number), program.text
    before = rig.tell()["pumped_l"]
    program.types("")
    assert program.says("  counting.", times=number), program.text
    rig.command("rate 60")
    assert wait_until(lambda: rig.tell()["pumped_l"] > before + least_l, 20.0)
    rig.command("stop")
    return rig.tell()["pumped_l"] - before


@posix
def test_a_pulse_counter_s_k_is_found(home: Path) -> None:
    rig = SimulatorProcess("--pty", "--line", "pulse", "--litres-per-pulse", "0.002", "--speed", "10")
    with rig, Program("meter", "calibrate", rig.port, "--save", "k.toml", home=home) as program:
        for number in (1, 2, 3):
            program.types(f"{fill(rig, program, number, 10.0):.3f} L")
        assert program.ended() == 0, program.text
    found = read_meter((home / "k.toml").read_text(encoding="utf-8"))
    assert not isinstance(found, list), found
    assert found.factors["pulses"] == pytest.approx(2e-6, rel=1e-3)  # one pulse of 10 L is 1 in 5000
    assert found.port == rig.port
    assert found.tolerance_share == pytest.approx(0.005, abs=0.0011)  # the bucket's own, rounded up
    assert "short, 20 s or more" in program.text


@posix
def test_a_totaliser_s_correction_goes_into_the_session_and_spoiled_runs_do_not_count(home: Path) -> None:
    path = session(home, '[meter]\nport = "none"\ndialect = "plain"\ncorrection = 0.9\n')
    rig = SimulatorProcess("--pty", "--speed", "10", "--start-total", "4000")
    with rig, Program("meter", "calibrate", rig.port, "--session", str(path), home=home) as program:
        fill(rig, program, 1, 1.0)
        program.types("x")
        assert program.says("left out"), program.text
        assert program.says("Enter when ready", times=2), program.text
        program.types("")
        assert program.says("  counting.", times=2), program.text
        rig.command("reset")
        rig.tell()
        program.types("5 L")
        assert program.says("does not count: the count made a reset"), program.text
        for number in (3, 4, 5):
            true_l = fill(rig, program, number, 6.0)
            program.types("a bucketful")
            assert program.says("what is in the bucket, such as", times=number - 2), program.text
            program.types(f"{0.97 * true_l:.3f} L")
        assert program.ended() == 0, program.text
    meter = load(path).state.plan.meter
    assert meter is not None
    # 0.97 of what the meter shows, and not of what the plan made of it; 6 L are 600 of its last digit
    assert meter.factors["total"] == pytest.approx(0.00097, rel=0.004)
    assert meter.factors["rate"] == pytest.approx(0.00097 / 60, rel=0.004)


def plan_with(home: Path, meter: str) -> str:
    (home / "plan.toml").write_text(plan_text("none").partition("[meter]")[0] + meter, encoding="utf-8")
    return str(home / "plan.toml")


@posix
def test_a_meter_of_a_plan_keeps_its_table_and_gets_the_line_that_changes(home: Path) -> None:
    # the plan takes 0.9 of what it shows, and 0.97 of that is in the bucket: 0.97 it is, not 0.97 / 0.9
    rig = SimulatorProcess("--pty", "--speed", "10", "--start-total", "4000")
    with rig:
        plan = plan_with(home, f'[meter]\nport = "{rig.port}"\ndialect = "plain"\ncorrection = 0.9\n')
        with Program("meter", "calibrate", "--plan", plan, "--save", "k.toml", home=home) as program:
            for number in (1, 2, 3):
                program.types(f"{0.97 * fill(rig, program, number, 6.0):.3f} L")
            assert program.ended() == 0, program.text
    found = tomllib.loads((home / "k.toml").read_text(encoding="utf-8"))["meter"]
    assert found.keys() == {"correction", "tolerance"}
    assert found["correction"] == pytest.approx(0.97, rel=0.004)


@posix
def test_strokes_on_a_port_give_the_pumps_efficiency(home: Path) -> None:
    # each pulse is 2 mL, and the plan says that a stroke sweeps 2.5 mL: 80 %
    rig = SimulatorProcess("--pty", "--line", "pulse", "--litres-per-pulse", "0.002", "--speed", "10")
    with rig:
        strokes = 'source = "strokes"\nstroke_volume = "2.5 mL"\nefficiency = "95 %"\n'
        plan = plan_with(home, f'[meter]\nport = "{rig.port}"\n{strokes}')
        with Program("meter", "calibrate", "--plan", plan, "--save", "k.toml", home=home) as program:
            for number in (1, 2, 3):
                program.types(f"{fill(rig, program, number, 8.0):.3f} L")
            assert program.ended() == 0, program.text
    assert "it counts strokes" in program.text
    found = tomllib.loads((home / "k.toml").read_text(encoding="utf-8"))["meter"]
    assert found.keys() == {"efficiency", "tolerance"}
    assert float(found["efficiency"].removesuffix(" %")) == pytest.approx(80.0, rel=2e-3)


@posix
def test_answers_that_end_early_save_nothing(home: Path) -> None:
    rig = SimulatorProcess("--pty", "--speed", "10")
    with rig, Program("meter", "calibrate", rig.port, "--save", "k.toml", home=home) as program:
        assert program.says("Enter when ready")
        assert program.ended() == 2
        assert "the answers ended before the runs did" in program.text
    assert not (home / "k.toml").exists()


# --- into a session --------------------------------------------------------------------------------------------------


def test_an_accepted_k_goes_into_the_register_that_counts(home: Path) -> None:
    registers = '{reads = "pulses", address = 3, k = "100 pulses/L"}, {reads = "density", address = 9, units = "kg/L"}'
    path = session(home, f'[meter]\nport = "none"\nsource = "modbus"\nregister = [{registers}]\n')
    assert "the plan now has it" in by_eye(home, "--session", str(path))
    meter = load(path).state.plan.meter
    assert meter is not None
    # 1973 + 1981 + 1977 pulses for 60 L: 98.85 a litre; the density is none of it
    assert [one.factor for one in meter.registers] == pytest.approx([1e-3 / 98.85, 1000.0], rel=1e-4)


def test_an_accepted_k_amends_the_plan_of_the_session(home: Path) -> None:
    path = session(home, '[meter]\nport = "none"\nsource = "pulses"\nk = "100 pulses/L"\n')
    said = by_eye(home, "--session", str(path))
    assert "the plan now has it" in said
    loaded = load(path)
    assert loaded.problems == ()
    meter = loaded.state.plan.meter
    assert meter is not None
    assert meter.factors["pulses"] == pytest.approx(1 / 98_850)
    assert meter.tolerance_share == pytest.approx(0.00666, abs=1e-5)
    amended = [entry.event for entry in loaded.entries if isinstance(entry.event, ev.PlanAmended)]
    assert "K 98.85 pulses/L, spread 0.40%, accepted" in amended[0].reason


def test_what_does_not_fit_or_was_refused_is_a_note(home: Path) -> None:
    path = session(home, '[meter]\nport = "none"\ndialect = "plain"\n')
    assert "as a note" in by_eye(home, "--session", str(path))  # K, but the session's meter shows a total
    by_eye(home, "--session", str(path), runs=("20 L=20 L", "20 L=21 L", "20 L=22 L"))
    loaded = load(path)
    notes = [entry.event.text for entry in loaded.entries if isinstance(entry.event, ev.NoteWritten)]
    assert ["accepted" in note for note in notes] == [True, False]
    assert loaded.state.plan.meter is not None
    assert loaded.state.plan.meter.factors["total"] == 0.001


def test_a_session_that_was_signed_off_stays_closed(home: Path) -> None:
    found = read_text(plan_text("none"))
    assert not isinstance(found, list)
    recorder = Recorder.opened(found, home, SystemClock(), grout_meter)
    recorder.start()
    recorder.submit(want.CloseSession("done")).result(20.0)
    recorder.stop()
    before = recorder.path.read_bytes()
    assert "is signed off" in by_eye(home, "--session", str(recorder.path))
    assert recorder.path.read_bytes() == before


def test_a_session_that_is_being_recorded_is_left_alone(home: Path) -> None:
    found = read_text(plan_text("none"))
    assert not isinstance(found, list)
    recorder = Recorder.opened(found, home, SystemClock(), grout_meter)
    before = recorder.path.read_bytes()
    try:
        said = by_eye(home, "--session", str(recorder.path))
        assert "not entered: " in said
        assert "press n and type: bucket test, 3 runs: K 98.85 pulses/L" in said
        assert recorder.path.read_bytes() == before
    finally:
        recorder.stop()
