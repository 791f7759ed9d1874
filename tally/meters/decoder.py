"""From raw bytes to readings, the same way live and from a raw log."""

from collections.abc import Sequence

from tally.meters.dialect import Dialect, Undecoded, shown
from tally.meters.framing import Frame, Garbage
from tally.meters.integral import Integral
from tally.meters.reading import Reading


class Decoder:
    """Frames and decodes one channel's bytes, and counts what came out.

    An empty chunk means that the port was opened: what was begun before it is never joined to what comes after.
    Where several instruments share a port, what is meant for one of the `others` is neither line nor garbage.
    """

    def __init__(self, channel: str, dialect: Dialect, others: Sequence[Dialect] = ()) -> None:
        self._channel = channel
        self._dialect = dialect
        self._others = tuple(others)
        self._framer = dialect.framer()
        self._integral = Integral() if getattr(dialect, "integrates", False) else None
        self.lines = 0
        self.garbage = 0
        self.last_trouble: Undecoded | None = None

    def feed(self, mono_s: float, data: bytes) -> list[Reading]:
        """The readings that `data` completes, all with its arrival time."""
        if not data:
            self._framer = self._dialect.framer()
            if self._integral is not None:
                self._integral.interrupted()
            return []
        return [reading for found in self._framer.feed(data) for reading in self.read(mono_s, found)]

    def read(self, mono_s: float, found: Frame | Garbage) -> list[Reading]:
        """The readings of what a framer cut out; none where it cannot be read, which is then the last trouble."""
        if isinstance(found, Frame):
            decoded = self._decoded(found.data, mono_s)
            if isinstance(decoded, Undecoded) and self._is_for_another(found.data):
                return []
        else:
            decoded = Undecoded(shown(found.data.decode("latin-1")), found.why)
        if isinstance(decoded, Undecoded):
            self.garbage += 1
            self.last_trouble = decoded
            return []
        self.lines += 1
        return self._with_total(decoded) if self._integral is not None else decoded

    def _is_for_another(self, frame: bytes) -> bool:
        return any(other.claims(frame) for other in self._others) and not self._dialect.claims(frame)

    def _with_total(self, readings: list[Reading]) -> list[Reading]:
        """Where a meter says its rate alone, the total that its rates add up to."""
        assert self._integral is not None
        found = []
        for reading in readings:
            found.append(reading)
            if reading.quantity == "rate_m3_s":
                total_m3 = self._integral.take(reading.mono_s, reading.value)
                found.append(Reading(reading.mono_s, reading.channel, "total_m3", total_m3))
        return found

    def _decoded(self, frame: bytes, mono_s: float) -> list[Reading] | Undecoded:
        try:
            return self._dialect.decode(frame, mono_s, self._channel)
        except Exception as error:  # a dialect's bug costs one line, never the channel
            return Undecoded(shown(frame.decode("latin-1")), f"the dialect failed: {error!r}"[:120])
