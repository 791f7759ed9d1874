"""The simulated meter as a Modbus RTU device: it says nothing unless it is asked.

Unit 1, holding and input registers alike: 0 and 1 the total in litres, 2 and 3 the rate in litres a minute, each a
float of 32 bits with its high word first.
"""

import struct

from tally.meters.modbus import READ, crc16
from tally.meters.simulated_rig import L_M3, L_MIN_M3_S, Rig

UNIT = 1
_QUESTION = 8
_NO_SUCH_FUNCTION, _NO_SUCH_REGISTER = 1, 2


class Device:
    """Answers whole questions of its own unit; everything else it lets pass, as a device on a shared wire does."""

    def __init__(self, rig: Rig) -> None:
        self._rig = rig
        self._kept = b""

    def answers(self, data: bytes) -> bytes:
        """What is sent back for what has arrived."""
        self._kept += data
        sent = b""
        while len(self._kept) >= _QUESTION:
            packet = self._kept[:_QUESTION]
            if crc16(packet[:-2]) != packet[-2:]:
                self._kept = self._kept[1:]  # noise before a question
                continue
            self._kept = self._kept[_QUESTION:]
            if packet[0] == UNIT:
                sent += self._answer(*struct.unpack(">BHH", packet[1:-2]))
        return sent

    def _answer(self, function: int, address: int, count: int) -> bytes:
        words = self._words()
        if function not in READ:
            body = bytes([UNIT, function | 0x80, _NO_SUCH_FUNCTION])
        elif not 1 <= count <= len(words) - address:
            body = bytes([UNIT, function | 0x80, _NO_SUCH_REGISTER])
        else:
            asked = words[address : address + count]
            body = bytes([UNIT, function, 2 * count]) + struct.pack(f">{count}H", *asked)
        return body + crc16(body)

    def _words(self) -> tuple[int, ...]:
        values = struct.pack(">ff", self._rig.total_m3 / L_M3, self._rig.shown_rate_m3_s / L_MIN_M3_S)
        return struct.unpack(">4H", values)
