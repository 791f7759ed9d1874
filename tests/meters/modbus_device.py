"""A Modbus device in a process of its own: `python -m tests.meters.modbus_device tcp|rtu-tcp|PORT WORD WORD ...`.

Unit 1 holds the words from address 100 on, as holding registers. It says `ready PORT` once it answers.
"""

import asyncio
import contextlib
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

FIRST = 100


async def _serve(where: str, words: list[int]) -> None:
    from pymodbus import FramerType
    from pymodbus.server import ModbusSerialServer, ModbusTcpServer
    from pymodbus.simulator import DataType, SimData, SimDevice

    device = SimDevice(1, [SimData(FIRST, values=words, datatype=DataType.REGISTERS)])
    if where not in ("tcp", "rtu-tcp"):
        server: ModbusSerialServer | ModbusTcpServer = ModbusSerialServer(device, port=where, baudrate=115_200)
        await server.serve_forever(background=True)
        said = where
    else:
        framer = FramerType.SOCKET if where == "tcp" else FramerType.RTU
        server = ModbusTcpServer(device, framer=framer, address=("127.0.0.1", 0))
        await server.serve_forever(background=True)
        listening: Any = server.transport
        said = str(listening.sockets[0].getsockname()[1])
    print("ready", said, flush=True)
    while os.getppid() != 1:
        await asyncio.sleep(0.2)


@contextlib.contextmanager
def modbus_device(where: str, words: list[int]) -> Iterator[str]:
    """The device, while it runs; what it said behind `ready`: its TCP port, or the port that it was given."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.meters.modbus_device", where, *map(str, words)],
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


def shows(port: str, words: list[int]) -> None:
    """Has the device on that TCP port hold other words from now on, as one that counts does."""
    from pymodbus.client import ModbusTcpClient

    client: Any = ModbusTcpClient("127.0.0.1", port=int(port))
    assert client.connect()
    assert not client.write_registers(FIRST, words, device_id=1).isError()
    client.close()


if __name__ == "__main__":
    asyncio.run(_serve(sys.argv[1], [int(word) for word in sys.argv[2:]]))
