"""A meter on the bench: every line or packet beside what it was read as, and what all of them come to."""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Callable
from dataclasses import dataclass, replace

from tally.meters import counter
from tally.meters.decoder import Decoder
from tally.meters.dialect import Dialect
from tally.meters.framing import Frame, Garbage, LineFramer
from tally.meters.modbus import QUESTION_BYTES, TCP_QUESTION_BYTES, ModbusFramer, words_in
from tally.meters.reading import Reading

_KEPT = 500
_NO_ANSWER = "no answer: check the unit id, baud rate, parity and the two data wires"


@dataclass(frozen=True, slots=True)
class Heard:
    """One line or answer, or what should have been one: its bytes, and what it was read as or why it was not."""

    mono_s: float
    data: bytes
    is_text: bool
    readings: tuple[Reading, ...] = ()
    why: str = ""
    step: counter.Step | None = None
    """What its total adds to the one before."""
    asked: bytes = b""
    """The packet that it answers."""
    words: tuple[int, ...] = ()
    """The registers of an answer."""


class Bench:
    """Reads lines with a dialect that may be put on later, and counts.

    `jump_limit_m3` gives the most that can have flowed in so many seconds [m3 of s].
    """

    def __init__(
        self,
        dialect: Dialect | None,
        *,
        jump_limit_m3: Callable[[float], float],
        modulus_m3: float | None = None,
    ) -> None:
        self._decoder = Decoder("bench", dialect) if dialect else None
        self._jump_limit_m3 = jump_limit_m3
        self._framer = LineFramer(mid_line=True)
        self._counter = counter.Counter(modulus_m3)
        self._total_s: float | None = None
        self._first_s: float | None = None
        self._last_s = 0.0
        self._kept: deque[tuple[float, bytes]] = deque(maxlen=_KEPT)
        self.garbage_heard: deque[bytes] = deque(maxlen=3)
        self.lines = 0
        """Text lines, read or not."""
        self.read = 0
        self.garbage = 0
        self.bytes = 0
        self.moved_m3 = 0.0
        self.doubtful_m3 = 0.0
        self.breaks: Counter[str] = Counter()

    @property
    def texts(self) -> list[str]:
        """The last lines that are text, read or not."""
        return [data.decode("utf-8", "replace") for _, data in self._kept]

    @property
    def last_total_m3(self) -> float | None:
        return self._counter.last_m3

    @property
    def lines_a_second(self) -> float | None:
        """Over all that was heard; None before the second line."""
        passed_s = self._last_s - (self._first_s or 0.0)
        return (self.lines + self.garbage - 1) / passed_s if self._first_s is not None and passed_s > 0 else None

    def read_with(self, dialect: Dialect, modulus_m3: float | None = None) -> None:
        """Reads with `dialect` from now on, and the last lines before it as well: what they count is counted anew."""
        self._decoder = Decoder("bench", dialect)
        self._counter = counter.Counter(modulus_m3)
        self._total_s = None
        self.read, self.moved_m3, self.doubtful_m3 = 0, 0.0, 0.0
        self.breaks.clear()
        for mono_s, data in self._kept:
            self._read(mono_s, data)

    def opened(self) -> None:
        """The port was opened anew: what was begun before is not joined to what comes."""
        self._framer = LineFramer(mid_line=True)
        if self._decoder is not None:
            self._decoder.feed(0.0, b"")

    def feed(self, mono_s: float, data: bytes) -> list[Heard]:
        """The lines that `data` completes."""
        self.bytes += len(data)
        return [self._heard(mono_s, found) for found in self._framer.feed(data)]

    def _heard(self, mono_s: float, found: Frame | Garbage) -> Heard:
        self._note(mono_s)
        if isinstance(found, Garbage):
            self.garbage += 1
            self.garbage_heard.append(found.data)
            return Heard(mono_s, found.data, False, why=found.why)
        self.lines += 1
        self._kept.append((mono_s, found.data))
        return self._read(mono_s, found.data)

    def _read(self, mono_s: float, line: bytes) -> Heard:
        if self._decoder is None:
            return Heard(mono_s, line, True)
        readings = self._decoder.read(mono_s, Frame(line))
        if not readings:
            trouble = self._decoder.last_trouble
            return Heard(mono_s, line, True, why=trouble.why if trouble else "nothing was read")
        self.read += 1
        return Heard(mono_s, line, True, tuple(readings), step=self._counted(mono_s, readings))

    def _note(self, mono_s: float) -> None:
        self._first_s = mono_s if self._first_s is None else self._first_s
        self._last_s = mono_s

    def _counted(self, mono_s: float, readings: list[Reading]) -> counter.Step | None:
        total = next((reading.value for reading in readings if reading.quantity == "total_m3"), None)
        if total is None:
            return None
        passed_s = 0.0 if self._total_s is None else max(mono_s - self._total_s, 0.0)
        self._counter, step = self._counter.take(total, jump_limit_m3=self._jump_limit_m3(passed_s))
        self._total_s = mono_s
        self.moved_m3 += step.increment_m3
        self.doubtful_m3 += step.doubtful_m3
        if step.kind != "normal":
            self.breaks[step.kind] += 1
        return step


class PacketBench(Bench):
    """The same for a Modbus device: each question with its answer. `lines` counts the answers, `garbage` what should
    have been one; without a dialect the words of the registers are all that is told."""

    def __init__(
        self,
        dialect: Dialect | None,
        *,
        tcp: bool,
        jump_limit_m3: Callable[[float], float],
        modulus_m3: float | None = None,
    ) -> None:
        super().__init__(dialect, jump_limit_m3=jump_limit_m3, modulus_m3=modulus_m3)
        self._tcp = tcp
        self.unanswered = 0
        self.refused = 0

    @property
    def questions(self) -> int:
        return self.lines + self.garbage + self.unanswered

    @property
    def questions_a_second(self) -> float | None:
        """Over all that was asked; None before the second."""
        passed_s = self._last_s - (self._first_s or 0.0)
        return (self.questions - 1) / passed_s if self._first_s is not None and passed_s > 0 else None

    def feed(self, mono_s: float, data: bytes) -> list[Heard]:
        """What came of one question: `data` is its packet and whatever answered it."""
        if not data:
            return []
        self.bytes += len(data)
        self._note(mono_s)
        size = TCP_QUESTION_BYTES if self._tcp else QUESTION_BYTES
        asked, answer = data[:size], data[size:]
        frames = [found for found in ModbusFramer(tcp=self._tcp).feed(data) if isinstance(found, Frame)]
        if not frames:
            return [self._unread(mono_s, asked, answer)]
        self.lines += 1
        words = words_in(frames[0].data)
        if isinstance(words, str):
            self.refused += 1
            return [Heard(mono_s, answer, False, why=words, asked=asked)]
        if self._decoder is None:
            self.read += 1
            return [Heard(mono_s, answer, False, asked=asked, words=words)]
        heard = self._read(mono_s, frames[0].data)
        return [replace(heard, data=answer, is_text=False, asked=asked, words=words)]

    def _unread(self, mono_s: float, asked: bytes, answer: bytes) -> Heard:
        if not answer:
            self.unanswered += 1
            return Heard(mono_s, answer, False, why=_NO_ANSWER, asked=asked)
        self.garbage += 1
        self.garbage_heard.append(answer)
        return Heard(mono_s, answer, False, why="no Modbus packet: check baud rate, parity and wiring", asked=asked)
