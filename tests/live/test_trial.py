"""One port listened to without a job: real pseudo-terminals, sockets and devices in processes of their own."""

import os
import socket
import struct
from collections.abc import Iterator
from pathlib import Path

import pytest

from tally.job.wired import MeterPlan, Register, Wired, Wiring
from tally.live import trial as rooms
from tally.live.picture import Row
from tally.live.trial import Trial
from tally.meters.simulator_process import SimulatorProcess
from tally.meters.transport import PortFault, open_port
from tests.cli.program import PtyMeter
from tests.meters.modbus_device import FIRST, modbus_device
from tests.meters.support import wait_until
from tests.meters.wires import joined_terminals

pytestmark = pytest.mark.skipif(os.name != "posix", reason="needs pseudo-terminals")

PATTERN = r"VOL (?P<total>[0-9.]+) L"
FLOAT = struct.unpack(">2H", struct.pack(">f", 1234.5))


@pytest.fixture
def trial() -> Iterator[Trial]:
    found = Trial()
    yield found
    found.stop()


def shown(row: Row) -> list[str]:
    return [f"{one.name} {one.number:.9g} {one.kind or ''}".strip() for one in row.values]


def fills(meter: PtyMeter, trial: Trial, text: str, lines: int) -> bool:
    """Sends a line again and again until so many have come."""

    def sent() -> bool:
        meter.send(text)
        return trial.picture.lines >= lines

    return wait_until(sent)


def test_a_line_stands_beside_what_it_is_read_as(trial: Trial) -> None:
    with PtyMeter() as meter:
        trial.listen(Wiring(meter.port))
        assert fills(meter, trial, "VOL 100.50 L\r\n", 3)
        assert trial.picture.rows[-1] == Row("VOL 100.50 L")
        assert trial.picture.texts[-1] == "VOL 100.50 L"
        # A pattern alone gives the number as printed; with its unit it is a volume. The same lines are read anew.
        trial.listen(Wiring(meter.port, pattern=PATTERN))
        assert wait_until(lambda: trial.picture.read >= 2)
        assert shown(trial.picture.rows[-1]) == ["total 100.5"]
        wired = MeterPlan(port=meter.port, pattern=PATTERN, factors={"total": 1e-3})
        trial.listen(Wiring(meter.port, wired=wired, pattern=PATTERN))
        assert wait_until(lambda: trial.picture.setting is not None and trial.picture.setting.wired is not None)
        assert shown(trial.picture.rows[-1]) == ["total 0.1005 volume"]


def test_what_does_not_fit_says_so(trial: Trial) -> None:
    with PtyMeter() as meter:
        trial.listen(Wiring(meter.port, pattern=PATTERN))
        assert fills(meter, trial, "FLOW 3\r\n", 2)
        assert trial.picture.trouble == "lines come, but none can be read like that"
        assert trial.picture.rows[-1].why == "the line does not fit the pattern"


def test_a_count_is_shown_before_anybody_knows_what_one_of_it_is(trial: Trial) -> None:
    with PtyMeter() as meter:
        trial.listen(Wiring(meter.port, pattern=r"P\s+(?P<pulses>\S+)"))
        assert fills(meter, trial, "P 0138004\r\n", 2)
        assert shown(trial.picture.rows[-1]) == ["count 138004"]


def test_a_current_is_shown_before_its_range_is_known_and_its_limits_hold(trial: Trial) -> None:
    with PtyMeter() as meter:
        trial.listen(Wiring(meter.port, pattern=r"I\s+(?P<current>\S+)\s+mA"))
        assert fills(meter, trial, "I 12.00 mA\r\nI 3.20 mA\r\n", 4)
        rows = {row.raw: row for row in trial.picture.rows}
        assert shown(rows["I 12.00 mA"]) == ["mA 12"]
        assert "below 3.6: a broken wire" in rows["I 3.20 mA"].why


def test_the_port_is_taken_meanwhile_and_free_afterwards(trial: Trial) -> None:
    with PtyMeter() as meter:
        trial.listen(Wiring(meter.port))
        assert wait_until(lambda: trial.picture.state == "open")
        with pytest.raises(PortFault, match="in use"):
            open_port(meter.port, 9600)
        trial.stop()
        open_port(meter.port, 9600).close()


def test_nothing_wanted_frees_it_too(trial: Trial) -> None:
    with PtyMeter() as meter:
        trial.listen(Wiring(meter.port))
        assert wait_until(lambda: trial.picture.state == "open")
        trial.listen(None)
        assert wait_until(lambda: trial.picture.state == "idle")
        open_port(meter.port, 9600).close()


def test_a_busy_port_says_so_and_is_taken_when_it_is_free(trial: Trial, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rooms, "AGAIN_S", 0.02)
    with PtyMeter() as meter:
        other = open_port(meter.port, 9600)
        trial.listen(Wiring(meter.port))
        assert wait_until(lambda: trial.picture.state == "fault")
        assert "in use by another program" in trial.picture.trouble
        other.close()
        assert fills(meter, trial, "VOL 1 L\r\n", 1)


def test_a_port_that_is_not_there_and_one_that_goes(trial: Trial, tmp_path: Path) -> None:
    trial.listen(Wiring(str(tmp_path / "none")))
    assert wait_until(lambda: "there is no port" in trial.picture.trouble)
    with PtyMeter() as meter:
        trial.listen(Wiring(meter.port))
        assert fills(meter, trial, "VOL 1 L\r\n", 1)
    assert wait_until(lambda: trial.picture.state == "fault")


def test_silence_and_garbage_are_told_apart(trial: Trial, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(rooms, "QUIET_S", 0.0)
    with PtyMeter(baud=9600) as meter:
        trial.listen(Wiring(meter.port, 9600))
        assert wait_until(lambda: "nothing arrives" in trial.picture.trouble)
        trial.listen(Wiring(meter.port, 19_200))
        assert wait_until(lambda: (meter.send("VOL 1 L\r\n" * 80), "garbage" in trial.picture.trouble)[1])  # type: ignore[func-returns-value]


def test_hostile_bytes_are_shown_as_text(trial: Trial) -> None:
    with PtyMeter() as meter:
        trial.listen(Wiring(meter.port))
        assert fills(meter, trial, "\n[red]x[/] \x9b31m \u00e9\n\x1b[2J\x07\n", 4)
        assert all(row.raw.isprintable() for row in trial.picture.rows)
        assert any("1b 5b 32 4a" in row.raw for row in trial.picture.rows)


def test_a_flood_leaves_a_picture_of_the_last(trial: Trial) -> None:
    with PtyMeter() as meter:
        trial.listen(Wiring(meter.port))
        assert fills(meter, trial, "".join(f"VOL {n} L\r\n" for n in range(50)), 2000)
        assert len(trial.picture.rows) == rooms.ROWS
        assert len(trial.picture.texts) == rooms.TEXTS


def test_the_simulator_by_socket(trial: Trial) -> None:
    with SimulatorProcess("--listen", "127.0.0.1:0", "--rate", "60", "--hz", "20") as simulator:
        trial.listen(Wiring(simulator.port, pattern="plain"))
        assert wait_until(lambda: trial.picture.read >= 3)
        assert [one.name for one in trial.picture.rows[-1].values] == ["total", "rate"]


# --- Modbus ----------------------------------------------------------------------------------------------------------


def registers(url: str, order: str) -> Wired:
    one = Register.model_validate({"reads": "total", "address": FIRST, "order": order, "factor": 1e-3})
    return MeterPlan(port=url, pattern="", factors={}, registers=(one,), every_s=0.05)


@pytest.mark.parametrize("kind", ["tcp", "rtu-tcp"])
def test_a_device_is_asked_for_the_register_in_question(trial: Trial, kind: str) -> None:
    with modbus_device(kind, [*FLOAT, 0, 7]) as port:
        url = f"{'tcp' if kind == 'tcp' else 'socket'}://127.0.0.1:{port}"
        trial.listen(Wiring(url, modbus=True, address=FIRST))
        assert wait_until(lambda: FIRST in trial.picture.registers)
        assert trial.picture.registers[FIRST] == (*FLOAT, 0, 7)
        assert trial.picture.rows[-1].raw == f"register {FIRST}: 449A 5000 0000 0007"
        trial.listen(Wiring(url, modbus=True, wired=registers(url, "ABCD")))
        assert wait_until(lambda: trial.picture.read >= 2)
        assert trial.picture.rows[-1].values[0].number == pytest.approx(1.2345)


def test_a_device_on_a_serial_line(trial: Trial) -> None:
    with joined_terminals() as (theirs, ours), modbus_device(theirs, [*FLOAT]):
        trial.listen(Wiring(ours, 115_200, modbus=True, address=FIRST))
        assert wait_until(lambda: trial.picture.registers.get(FIRST) == FLOAT)
        trial.stop()
        open_port(ours, 115_200).close()


def test_a_register_that_is_not_there_and_a_device_that_is_not(trial: Trial) -> None:
    with modbus_device("tcp", [1]) as port:
        trial.listen(Wiring(f"tcp://127.0.0.1:{port}", modbus=True, address=9))
        assert wait_until(lambda: "no such register" in trial.picture.trouble)
        trial.listen(Wiring(f"tcp://127.0.0.1:{port}", modbus=True, address=FIRST, unit=9))
        assert wait_until(lambda: bool(trial.picture.trouble) and "register" not in trial.picture.trouble)
    with socket.socket() as none:
        none.bind(("127.0.0.1", 0))
        trial.listen(Wiring(f"tcp://127.0.0.1:{none.getsockname()[1]}", modbus=True, address=FIRST))
        assert wait_until(lambda: "nothing answers" in trial.picture.trouble)
