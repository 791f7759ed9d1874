"""A Modbus device as a port: each read asks for one register and gives the packets that went over the wire.

The only module that uses pymodbus, imported when the first port is opened. RTU over any serial device and, on
`socket://host:port`, over a converter's TCP port; `tcp://host:port` is Modbus over TCP.
"""

import contextlib
import logging
import time
from collections.abc import Callable, Sequence
from typing import Any
from urllib.parse import urlsplit

from tally.meters.register import Register
from tally.meters.transport import READ_TIMEOUT_S, Port, PortFault, open_port

ANSWER_S = 0.25
"""A device that has not begun to answer by then will not."""


def modbus_opener(registers: Sequence[Register], every_s: float, bits: str = "8N1") -> Callable[[str, int], Port]:
    """What opens a port on which each of `registers` is asked for once in `every_s`."""

    def opener(url: str, baud: int) -> Port:
        return ModbusPort(url, baud, registers, every_s, bits)

    return opener


def is_tcp(url: str) -> bool:
    """True where the frames are those of Modbus over TCP."""
    return url.lower().startswith("tcp://")


class ModbusPort:
    """Asks for `registers` in turn. What is read is the packets in both directions, so that a raw log can be read."""

    def __init__(self, url: str, baud: int, registers: Sequence[Register], every_s: float, bits: str = "8N1") -> None:
        self._url = url
        self._bits = bits
        self._registers = tuple(registers)
        self._every_s = every_s
        self._next = 0
        self._due_s = time.monotonic()
        self._asked = self._answered = b""
        self._client = self._opened(url, baud)

    def _opened(self, url: str, baud: int) -> Any:
        logging.getLogger("pymodbus.logging").setLevel(logging.CRITICAL)  # what went wrong is told by the meter's state
        client = self._made(url, baud)
        try:
            there = bool(client.connect())
        except Exception as error:
            raise PortFault(f"cannot open {url!r}: {error}") from error
        if not there:
            client.close()
            # The library says only that it failed; opening the port without it finds the words.
            open_port(url.replace("tcp://", "socket://", 1), baud).close()
            raise PortFault(f"cannot open {url!r}: the device or converter does not take the connection")
        return client

    def _made(self, url: str, baud: int) -> Any:
        from pymodbus import FramerType
        from pymodbus.client import ModbusSerialClient, ModbusTcpClient

        common: dict[str, Any] = {"timeout": ANSWER_S, "retries": 0, "trace_packet": self._trace}
        if not url.lower().startswith(("socket://", "tcp://")):
            return ModbusSerialClient(
                url,
                baudrate=baud,
                bytesize=int(self._bits[0]),
                parity=self._bits[1],
                stopbits=int(self._bits[2]),
                **common,
            )
        try:
            parts = urlsplit(url)
            host, port = parts.hostname, parts.port
        except ValueError:
            host = port = None
        if not host or not port:
            raise PortFault(f"{url!r} names no address; give tcp://host:port or socket://host:port")
        return ModbusTcpClient(host, port=port, framer=FramerType.SOCKET if is_tcp(url) else FramerType.RTU, **common)

    def _trace(self, sending: bool, packet: bytes) -> bytes:
        """Keeps what goes over the wire; the library shows an answer again each time that more of it has come."""
        if sending:
            self._asked += packet
        else:
            self._answered = packet if packet.startswith(self._answered) else self._answered + packet
        return packet

    def read(self, max_bytes: int) -> bytes:
        wait_s = self._due_s - time.monotonic()
        if wait_s > 0:
            time.sleep(min(wait_s, READ_TIMEOUT_S))
            if wait_s > READ_TIMEOUT_S:
                return b""
        register = self._registers[self._next]
        self._next = (self._next + 1) % len(self._registers)
        if self._next == 0:
            self._due_s = max(self._due_s + self._every_s, time.monotonic() - self._every_s)
        return self.ask(register)

    def ask(self, register: Register) -> bytes:
        """The question for one register and whatever answered it, as they went over the wire."""
        self._asked = self._answered = b""
        self._exchange(register)
        return self._asked + self._answered

    def _exchange(self, register: Register) -> None:
        from pymodbus.exceptions import ConnectionException, ModbusException

        ask = self._client.read_holding_registers if register.bank == "holding" else self._client.read_input_registers
        try:
            ask(register.address, count=register.count, device_id=register.unit)
        except ConnectionException as error:
            raise PortFault(f"{self._url} has gone: check cable, plug and power") from error
        except ModbusException:
            return  # no answer, or none that can be read: the packets say which
        except OSError as error:
            raise PortFault(f"{self._url} has gone ({error}): check cable, plug and power") from error

    def write(self, data: bytes) -> None:
        raise PortFault(f"{self._url} is a Modbus port; nothing else is sent on it")

    def close(self) -> None:
        with contextlib.suppress(Exception):
            self._client.close()
