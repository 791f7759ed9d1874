"""The simulated Modbus device, asked by a general client over a pseudo-terminal and a socket, and by hand."""

import os
import struct

import pytest

from tally.meters.meter import Meter
from tally.meters.modbus import ModbusDialect, crc16
from tally.meters.modbus_port import modbus_opener
from tally.meters.register import Register
from tally.meters.simulated_device import Device
from tally.meters.simulated_rig import Rig
from tally.meters.simulator_process import SimulatorProcess
from tests.meters.support import wait_until

# The classic published pair: read two holding registers of unit 1 from 0.
ASK = bytes.fromhex("01 03 00 00 00 02 C4 0B")


def test_a_question_is_answered_with_the_total_as_ieee_754_has_it() -> None:
    # 123456.0 is 47F1 2000 (IEEE 754)
    answer = Device(Rig(line="modbus", total_m3=123.456)).answers(ASK)
    assert answer[:-2] == bytes.fromhex("01 03 04 47 F1 20 00")
    assert answer[-2:] == crc16(answer[:-2])


def test_it_answers_byte_by_byte_behind_noise_and_only_for_itself() -> None:
    device = Device(Rig(line="modbus"))
    assert b"".join(device.answers(bytes([byte])) for byte in b"\x00\xff" + ASK)[:3] == b"\x01\x03\x04"
    other = b"\x02" + ASK[1:6]
    assert device.answers(other + crc16(other)) == b""
    for question, code in ((struct.pack(">BBHH", 1, 6, 0, 1), 1), (struct.pack(">BBHH", 1, 4, 3, 2), 2)):
        assert device.answers(question + crc16(question))[2] == code


@pytest.mark.parametrize("where", [("--pty",), ("--listen", "127.0.0.1:0")], ids=["pty", "socket"])
def test_a_general_client_reads_what_was_pumped(where: tuple[str, ...]) -> None:
    if os.name != "posix" and where == ("--pty",):
        pytest.skip("needs pseudo-terminals")
    register = Register("total", 0, 1e-3, 1, "holding", "float32", "ABCD")
    with SimulatorProcess(*where, "--line", "modbus", "--speed", "20", "--start-total", "500") as rig:
        opener = modbus_opener((register,), 0.1)
        meter = Meter("in", rig.port, 9600, ModbusDialect((register,)), opener=opener)
        meter.start()
        try:
            rig.command("rate 60")
            assert wait_until(lambda: rig.tell()["pumped_l"] > 5)
            rig.command("stop")
            total_l, totals = rig.tell()["total_l"], [0.0]
            assert wait_until(
                lambda: (
                    totals.extend(one.value * 1000 for one in meter.drain())  # type: ignore[func-returns-value]
                    or totals[-1] == pytest.approx(total_l, abs=1e-3)
                ),
                20.0,
            ), (totals[-3:], total_l, meter.status)
        finally:
            meter.stop()
