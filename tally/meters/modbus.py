"""Modbus packets to readings: the same for what a live port exchanges and for what a raw log kept of it.

The stream holds whole packets in turn, question and answer, as they were on the wire: RTU frames with their check, or
with `tcp` the frames of Modbus over TCP. A question without its answer gives nothing; an answer without its question
cannot be read, since it does not say which register it is about.
"""

import struct
from collections.abc import Sequence
from dataclasses import dataclass

from tally.meters.current import CurrentLoop
from tally.meters.dialect import DialectFault, Undecoded, quantity_of, shown, si_value
from tally.meters.framing import Frame, Framer, Garbage
from tally.meters.reading import Reading
from tally.meters.register import Register, number

READ = (3, 4)
_REFUSED = 0x80
_TCP_HEADER = 6
_LONGEST = 260
QUESTION_BYTES, TCP_QUESTION_BYTES = 8, 12
"""What a question takes on the wire."""
_EXCEPTIONS = {
    1: "the device does not know this kind of read: try the other of holding and input",
    2: "the device has no such register: a manual's 40001 is address 0",
    3: "the device does not give that many registers at once",
    4: "the device has failed",
    5: "the device is at it still",
    6: "the device is busy",
    10: "the gateway has no path to the device",
    11: "the device behind the gateway does not answer",
}


def crc16(data: bytes) -> bytes:
    """The check of an RTU frame, low byte first: polynomial A001 reflected, beginning at FFFF (Modbus over Serial Line
    Specification and Implementation Guide V1.02, 6.2.2)."""
    crc = 0xFFFF
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = (crc >> 1) ^ 0xA001 if crc & 1 else crc >> 1
    return struct.pack("<H", crc)


@dataclass(frozen=True, slots=True)
class _Question:
    unit: int
    function: int
    address: int
    count: int
    packet: bytes


class ModbusFramer:
    """Pairs of question and answer out of a stream of packets; a frame is the question's six bytes and the answer."""

    def __init__(self, *, tcp: bool = False) -> None:
        self._tcp = tcp
        self._kept = bytearray()
        self._asked: _Question | None = None

    def feed(self, data: bytes) -> list[Frame | Garbage]:
        found: list[Frame | Garbage] = []
        stray = bytearray()
        self._kept += data
        while self._kept:
            size = self._next(found)
            if size is None:
                break
            if size == 0:
                stray.append(self._kept.pop(0))
            else:
                del self._kept[:size]
        if stray:
            found.append(Garbage(bytes(stray[:80]), "no Modbus packet: check baud rate, parity and wiring"))
        return found

    def _next(self, found: list[Frame | Garbage]) -> int | None:
        """How many bytes the packet at the start takes; 0 where none begins there, None where more must come."""
        answer, answer_size = self._answer()
        if answer is not None and self._asked is not None:
            found.append(Frame(self._asked.packet + answer))
            self._asked = None
            return answer_size
        question, question_size = self._question()
        if question is not None:
            unit, function, address, count = struct.unpack(">BBHH", question)
            self._asked = _Question(unit, function, address, count, question)
            return question_size
        return None if (answer_size or question_size) and len(self._kept) < _LONGEST else 0

    def _answer(self) -> tuple[bytes | None, int]:
        """The answer at the start without its wrapping, and its size in the stream; (None, size) where it is not
        whole yet, (None, 0) where it is none."""
        asked = self._asked
        if asked is None:
            return None, 0
        start = _TCP_HEADER if self._tcp else 0
        if len(self._kept) < start + 3:
            return None, start + 5
        unit, function, length = self._kept[start : start + 3]
        if unit != asked.unit or function not in (asked.function, asked.function | _REFUSED):
            return None, 0
        if function == asked.function and length != 2 * asked.count:
            return None, 0
        return self._whole(3 if function & _REFUSED else 3 + length)

    def _question(self) -> tuple[bytes | None, int]:
        start = _TCP_HEADER if self._tcp else 0
        if len(self._kept) >= start + 2 and self._kept[start + 1] not in READ:
            return None, 0
        return self._whole(6)

    def _whole(self, length: int) -> tuple[bytes | None, int]:
        """A packet of `length` bytes at the start, checked."""
        if self._tcp:
            size = _TCP_HEADER + length
            if len(self._kept) >= _TCP_HEADER:
                _, protocol, said = struct.unpack(">HHH", self._kept[:_TCP_HEADER])
                if protocol != 0 or said != length:
                    return None, 0
            if len(self._kept) < size:
                return None, size
            return bytes(self._kept[_TCP_HEADER:size]), size
        size = length + 2
        if len(self._kept) < size:
            return None, size
        body = bytes(self._kept[:length])
        return (body, size) if crc16(body) == bytes(self._kept[length:size]) else (None, 0)


def words_in(frame: bytes) -> tuple[int, ...] | str:
    """The registers that a frame of `ModbusFramer` holds, or in words why the device refused them."""
    answer = frame[6:]
    if answer[1] & _REFUSED:
        return _EXCEPTIONS.get(answer[2], f"the device answers with error {answer[2]}")
    return struct.unpack(f">{answer[2] // 2}H", answer[3:])


class ModbusDialect:
    """The registers of one port's devices, each as a value in SI."""

    def __init__(
        self,
        registers: Sequence[Register],
        *,
        tcp: bool = False,
        loop: CurrentLoop | None = None,
        integrates: bool = False,
    ) -> None:
        if not registers:
            raise DialectFault("no register is given; accepted is one or more")
        names = [register.name for register in registers]
        if {"total", "pulses"} <= set(names) or len(set(names)) < len(names):
            raise DialectFault(f"registers for {', '.join(names)}; accepted is one of each, total or pulses")
        if ("current" in names) != (loop is not None):
            raise DialectFault("a current needs its range, the values at 4 and at 20 mA, and a range needs a current")
        self.registers = tuple(registers)
        self._tcp, self._loop = tcp, loop
        self.integrates = integrates and not {"total", "pulses"} & set(names)

    def framer(self) -> Framer:
        return ModbusFramer(tcp=self._tcp)

    def claims(self, frame: bytes) -> bool:
        return bool(self._answering(frame))

    def _answering(self, frame: bytes) -> list[Register]:
        """The registers that the frame's question asked for."""
        asked = struct.unpack(">BBHH", frame[:6])
        return [one for one in self.registers if (one.unit, one.function, one.address, one.count) == asked]

    def decode(self, frame: bytes, mono_s: float, channel: str) -> list[Reading] | Undecoded:
        unit, _, address, _ = struct.unpack(">BBHH", frame[:6])
        asked = f"unit {unit}, register {address}"
        words = words_in(frame)
        if isinstance(words, str):
            return Undecoded(shown(asked), words)
        found: list[Reading] = []
        for register in self._answering(frame):
            value = si_value(register.name, number(words, register.type, register.order), register.factor, self._loop)
            if isinstance(value, str):
                return Undecoded(shown(f"{asked}: {' '.join(f'{word:04X}' for word in words)}"), value)
            found.append(Reading(mono_s, channel, quantity_of(register.name, self._loop), value))
        return found or Undecoded(shown(asked), "an answer to a question that the plan does not ask")
