"""Real ports: a flood of lines with the program running, a plug pulled and put back, quitting while all is still.

A length of time that is allowed stands where other benches have a baseline.
"""

import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path

from tally.job import intents as want
from tally.job.plan import Plan
from tally.live.clock import SystemClock
from tally.live.instruments import grout_meter
from tally.live.recorder import Recorder
from tally.meters.dialect import PLAIN_FACTORS, PLAIN_PATTERN
from tally.meters.simulator_process import SimulatorProcess
from tests.bench.row import Bench, Row
from tests.scenario import plan

ROOT = Path(__file__).resolve().parents[2]
LINES_A_SECOND, AT_ONCE = 1_000, 10
SHORT_S, MINUTE_S = 5, 60
PROGRAM = """
import json, os, sys, tempfile, threading, time
from pathlib import Path
from tests.bench.meters import planned
from tally.live.clock import SystemClock
from tally.live.instruments import grout_meter
from tally.live.recorder import Recorder
from tally.screens.app import TallyApp
with tempfile.TemporaryDirectory() as folder:
    recorder = Recorder.opened(planned(sys.argv[1]), Path(folder), SystemClock(), grout_meter)
    recorder.start()
    app = TallyApp(recorder, place="grout")
    def obey():
        for _ in range(2):
            sys.stdin.readline()
            status = recorder._session._listener._ears[0].source.status
            told = {"cpu_s": time.process_time(), "lines": status.lines, "garbage": status.garbage}
            os.write(1, json.dumps(told).encode() + b"\\n")
        app.call_from_thread(app.exit)
    threading.Thread(target=obey, daemon=True).start()
    app.run(headless=True, size=(80, 24))
    recorder.stop()
"""


def planned(port: str) -> Plan:
    meter = {"port": port, "pattern": PLAIN_PATTERN, "factors": dict(PLAIN_FACTORS)}
    return plan(meter=meter, alarms={"gone_s": 0.5})


def flood(seconds: int) -> Iterator[Row]:
    import pty
    import tty

    master, slave = pty.openpty()
    tty.setraw(slave)
    program = subprocess.Popen(
        [sys.executable, "-c", PROGRAM, os.ttyname(slave)],
        cwd=ROOT,
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert program.stdin is not None and program.stdout is not None
    try:
        time.sleep(8.0)  # the program is up, and idle
        begun = _told(program)
        started_s = time.monotonic()
        _send(master, seconds)
        time.sleep(max(started_s + seconds + 1.0 - time.monotonic(), 0.0))
        ended, passed_s = _told(program), time.monotonic() - started_s
    finally:
        program.kill()
        program.wait()
        os.close(master)
        os.close(slave)
    sent = seconds * LINES_A_SECOND
    lost = sent - (ended["lines"] - begun["lines"])
    what = f"{sent:,} lines at 1,000 a second"
    yield Row(f"{what}: those lost, in their seconds / all", lost / LINES_A_SECOND, float(seconds), 0.0)
    yield Row(f"{what}, program running: CPU / wall", ended["cpu_s"] - begun["cpu_s"], passed_s, 0.35)


def _told(program: "subprocess.Popen[str]") -> dict[str, float]:
    assert program.stdin is not None and program.stdout is not None
    program.stdin.write("\n")
    program.stdin.flush()
    found: dict[str, float] = json.loads(program.stdout.readline())
    return found


def _send(master: int, seconds: int) -> None:
    """Every line, in time: a write waits where the reader is behind."""
    started_s = time.monotonic()
    for place in range(0, seconds * LINES_A_SECOND, AT_ONCE):
        lines = (f"T {number / 1000:011.3f} L R 60.00 L/min\r\n" for number in range(place, place + AT_ONCE))
        data = "".join(lines).encode()
        while data:
            data = data[os.write(master, data) :]
        time.sleep(max(started_s + (place + AT_ONCE) / LINES_A_SECOND - time.monotonic(), 0.0))


def plug() -> Iterator[Row]:
    with tempfile.TemporaryDirectory() as folder:
        link = str(Path(folder) / "meter")
        with SimulatorProcess("--pty", "--link", link, "--rate", "60") as simulator:
            recorder = Recorder.opened(planned(link), Path(folder), SystemClock(), grout_meter)
            recorder.start()
            try:
                recorder.submit(want.StartStage(sure=True)).result(20.0)
                _until(lambda: recorder.snapshot.state.flow.metered_m3 > 0)
                simulator.command("unplug")
                yield Row(
                    "meter unplugged to alarm / 3 s", _until(partial(_standing, recorder, "meter-gone")), 3.0, 1.0
                )
                simulator.command("replug")
                _until(Path(link).exists)
                before_m3 = recorder.snapshot.state.flow.metered_m3
                back_s = _until(lambda: recorder.snapshot.state.flow.metered_m3 > before_m3)
                yield Row("its port back to counting / 2 s", back_s, 2.0, 1.0)
                simulator.command("silent 60")
                time.sleep(1.0)
                begun_s = time.monotonic()
            finally:
                recorder.stop()
            yield Row("to quit with a silent port / 2 s", time.monotonic() - begun_s, 2.0, 1.0)


def _standing(recorder: Recorder, name: str) -> bool:
    return any(alarm.alarm == name and alarm.active for alarm in recorder.snapshot.state.alarms)


def _until(condition: Callable[[], bool]) -> float:
    """Seconds until it comes true."""
    begun_s = time.monotonic()
    while not condition():
        if time.monotonic() - begun_s > 30.0:
            raise TimeoutError("it did not happen within 30 s")
        time.sleep(0.01)
    return time.monotonic() - begun_s


BENCHES: dict[str, Bench] = {"flood": partial(flood, SHORT_S), "plug": plug}
LONG: dict[str, Bench] = {"flood-minute": partial(flood, MINUTE_S)}
