"""Modbus devices in a process of their own: `python -m tests.meters.modbus_device tcp|rtu-tcp|PORT WORD WORD ...`.

Unit 1 holds the words from address 100 on, as holding registers; behind a `/` stand those of unit 2, and so on. It says
`ready PORT` once it answers.
"""

import asyncio
import contextlib
import logging
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

FIRST = 100


async def _serve(where: str, units: list[list[int]]) -> None:
    from pymodbus import FramerType
    from pymodbus.server import ModbusSerialServer, ModbusTcpServer
    from pymodbus.simulator import DataType, SimData, SimDevice

    logging.getLogger("pymodbus.logging").setLevel(logging.CRITICAL)
    device = [
        SimDevice(unit, [SimData(FIRST, values=words, datatype=DataType.REGISTERS)])
        for unit, words in enumerate(units, start=1)
    ]

    def silent(sending: bool, packet: bytes) -> bytes:
        """A unit that is not there says nothing; the library answers in its place."""
        unit = packet[6 if where == "tcp" else 0] if packet else 0
        return packet if not sending or unit <= len(units) else b""

    if where not in ("tcp", "rtu-tcp"):
        server: ModbusSerialServer | ModbusTcpServer = ModbusSerialServer(
            device, port=where, baudrate=115_200, trace_packet=silent
        )
        await server.serve_forever(background=True)
        said = where
    else:
        framer = FramerType.SOCKET if where == "tcp" else FramerType.RTU
        server = ModbusTcpServer(device, framer=framer, address=("127.0.0.1", 0), trace_packet=silent)
        await server.serve_forever(background=True)
        listening: Any = server.transport
        said = str(listening.sockets[0].getsockname()[1])
    print("ready", said, flush=True)
    while os.getppid() != 1:
        await asyncio.sleep(0.2)


@contextlib.contextmanager
def modbus_device(where: str, words: list[int], *others: list[int]) -> Iterator[str]:
    """The device, while it runs; what it said behind `ready`: its TCP port, or the port that it was given."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.meters.modbus_device", where, *_said(words, *others)],
        stdout=subprocess.PIPE,
        stdin=subprocess.DEVNULL,
        cwd=Path(__file__).resolve().parents[2],
        text=True,
    )
    try:
        assert process.stdout is not None
        head, _, said = process.stdout.readline().strip().partition(" ")
        assert head == "ready", "the device did not start"
        yield said
    finally:
        process.kill()
        process.wait()
        if process.stdout is not None:
            process.stdout.close()


def _said(*units: list[int]) -> list[str]:
    return " / ".join(" ".join(map(str, words)) for words in units).split()


def shows(port: str, words: list[int], *, rtu: bool = False) -> None:
    """Has the device on that TCP port hold other words from now on, as one that counts does."""
    from pymodbus import FramerType
    from pymodbus.client import ModbusTcpClient

    client: Any = ModbusTcpClient("127.0.0.1", port=int(port), framer=FramerType.RTU if rtu else FramerType.SOCKET)
    assert client.connect()
    assert not client.write_registers(FIRST, words, device_id=1).isError()
    client.close()


if __name__ == "__main__":
    asyncio.run(
        _serve(sys.argv[1], [[int(word) for word in part.split()] for part in " ".join(sys.argv[2:]).split("/")])
    )
