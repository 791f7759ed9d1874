"""The simulator as a process: what it prints, what it obeys, and that it never outlives its parent."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tally.meters.simulator_process import SimulatorFault, SimulatorProcess
from tests.meters.support import wait_until

ROOT = Path(__file__).parents[2]
SOCKET = ("--listen", "127.0.0.1:0")
posix = pytest.mark.skipif(os.name != "posix", reason="needs pseudo-terminals and signals")


def has_ended(pid: int) -> bool:
    """True once no such process runs; one that has ended but was not waited for has ended too."""
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
    stat = Path(f"/proc/{pid}/stat")
    try:
        return stat.read_text().rpartition(")")[2].split()[0] == "Z"
    except OSError:
        return not Path("/proc/self").exists()


def test_a_script_runs_in_simulated_time(tmp_path: Path) -> None:
    script = tmp_path / "rig.txt"
    script.write_text("at 1 rate 120\nat 11 stop\n")
    with SimulatorProcess(*SOCKET, "--speed", "50", "--rate-noise", "0", "--script", str(script)) as simulator:
        assert wait_until(lambda: simulator.tell()["time_s"] > 15)
        told = simulator.tell()
    assert told["pumped_l"] == pytest.approx(20.0)  # 120 L/min for 10 s
    assert told["rate_l_min"] == 0.0


def test_it_answers_a_wrong_command_and_goes_on() -> None:
    with SimulatorProcess(*SOCKET) as simulator:
        simulator.command("dance")
        simulator.command("rate 30")
        assert simulator.tell()["rate_l_min"] == 30.0


@pytest.mark.parametrize(
    "arguments", [("--listen", "nowhere"), ("--script", "/no/such/script"), ("--speed", "0"), ("--line", "morse")]
)
def test_wrong_arguments_are_told(arguments: tuple[str, ...]) -> None:
    with pytest.raises(SimulatorFault, match=arguments[0][2:] if arguments[0] != "--script" else "No such file"):
        SimulatorProcess(*arguments).start()


def test_it_ends_with_its_client_object() -> None:
    simulator = SimulatorProcess(*SOCKET)
    assert simulator.start().startswith("socket://127.0.0.1:")
    pid = simulator.pid
    assert pid is not None
    simulator.stop()
    simulator.stop()
    assert has_ended(pid)
    with pytest.raises(SimulatorFault, match="not running"):
        simulator.command("stop")


def test_quit_ends_it() -> None:
    with SimulatorProcess(*SOCKET) as simulator:
        pid = simulator.pid
        assert pid is not None
        simulator.command("quit")
        assert wait_until(lambda: has_ended(pid))


@posix
def test_it_ends_when_its_parent_is_killed() -> None:
    code = (
        "import time\n"
        "from tally.meters.simulator_process import SimulatorProcess\n"
        "s = SimulatorProcess('--pty'); s.start(); print(s.pid, flush=True); time.sleep(60)\n"
    )
    parent = subprocess.Popen([sys.executable, "-c", code], cwd=ROOT, stdout=subprocess.PIPE)
    assert parent.stdout is not None
    with parent.stdout as out:
        pid = int(out.readline())
    assert not has_ended(pid)
    parent.send_signal(signal.SIGKILL)
    parent.wait()
    assert wait_until(lambda: has_ended(pid))


@posix
def test_the_link_goes_with_the_plug_and_with_the_process(tmp_path: Path) -> None:
    link = tmp_path / "meter"
    with SimulatorProcess("--pty", "--link", str(link)) as simulator:
        assert simulator.port == str(link)
        assert link.exists()
        simulator.command("unplug")
        simulator.tell()
        assert not link.is_symlink()
        simulator.command("replug")
        simulator.tell()
        assert link.exists()
    assert not link.is_symlink()


@posix
def test_nothing_is_echoed_and_old_lines_are_not_kept_for_a_late_client() -> None:
    with SimulatorProcess("--pty", "--speed", "100", "--rate", "60") as simulator:
        assert wait_until(lambda: simulator.tell()["total_l"] > 30)  # some 150 lines of 28 bytes
        client = os.open(simulator.port, os.O_RDWR | os.O_NOCTTY)
        try:
            os.write(client, b"hello\r\n")
            data = os.read(client, 65536)
        finally:
            os.close(client)
    assert b"hello" not in data
    first = float(data.split(b"T ")[1].split()[0])
    assert first > 10  # no line from the first minutes
