"""A Modbus device asked for registers of which nobody has said yet what they hold."""

from dataclasses import dataclass
from typing import Self

from tally.meters.framing import Frame
from tally.meters.modbus import QUESTION_BYTES, TCP_QUESTION_BYTES, ModbusFramer, words_in
from tally.meters.modbus_port import ModbusPort, is_tcp
from tally.meters.register import Bank, Register, Type

TRIES = 3
_BY_COUNT: dict[int, Type] = {1: "uint16", 2: "uint32", 4: "uint64"}
SILENT = "no answer: check power, the unit id, baud rate and parity, and the two data wires (swap them)"


@dataclass(frozen=True, slots=True)
class Answer:
    """Registers from `first` on, or why there are none; `packets` is what went over the wire, question first."""

    first: int
    words: tuple[int, ...] = ()
    why: str = ""
    packets: bytes = b""
    heard: bool = True
    """False where nothing answered that could be read."""


class Probe:
    """One device at `url`, asked now and then. Raises `PortFault` where the port cannot be opened or has gone."""

    def __init__(self, url: str, baud: int, *, bits: str = "8N1", unit: int = 1, bank: Bank = "holding") -> None:
        self._unit, self._bank, self._tcp = unit, bank, is_tcp(url)
        self._port = ModbusPort(url, baud, (Register("total", 0, 1.0, unit, bank),), 1.0, bits)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._port.close()

    def ask(self, first: int) -> Answer:
        """As many registers from `first` on as the device gives, four at most: a map may end anywhere."""
        answer = Answer(first, why=SILENT, heard=False)
        for count in sorted(_BY_COUNT, reverse=True):
            if first + count > 65_536:
                continue
            answer = self._answered(first, count)
            if answer.words or not answer.heard:
                return answer
        return answer

    def _answered(self, first: int, count: int) -> Answer:
        register = asking(first, count, self._unit, self._bank)
        packets, why = b"", SILENT
        for _ in range(TRIES):
            packets = self._port.ask(register)
            frames = [found for found in ModbusFramer(tcp=self._tcp).feed(packets) if isinstance(found, Frame)]
            if frames:
                words = words_in(frames[0].data)
                if isinstance(words, str):
                    return Answer(first, why=words, packets=packets)
                return Answer(first, words, packets=packets)
            if len(packets) > (TCP_QUESTION_BYTES if self._tcp else QUESTION_BYTES):
                why = "the answer is no Modbus packet: check baud rate, parity and wiring"
        return Answer(first, why=why, packets=packets, heard=False)


def asking(first: int, count: int, unit: int, bank: Bank) -> Register:
    """What asks for one, two or four registers, whatever they hold."""
    return Register("total", first, 1.0, unit, bank, _BY_COUNT[count])
