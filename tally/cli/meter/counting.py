"""What a meter counts while a bucket fills."""

from __future__ import annotations

import argparse
import time
from typing import TYPE_CHECKING, Self

from tally.cli.fault import CommandFault
from tally.cli.meter import wiring
from tally.cli.meter.choosing import choice
from tally.cli.meter.verdict import Run, Tested

if TYPE_CHECKING:
    from types import TracebackType

    from tally.job.wired import Wired
    from tally.meters.reading import Reading

FIRST_LINES = 4
FIRST_WAIT_S = 20.0
FRESH_WAIT_S = 10.0
SHORT_S = 20.0
UNKNOWN_K = "1000000 pulses/L"
"""Stands in while pulses are counted whose K is what is looked for: so small that no count is a leap."""


class Counting:
    """A meter that is read in the background while somebody fills buckets."""

    def __init__(self, options: argparse.Namespace) -> None:
        self._options = options
        self._k_is_known = options.k_factor is not None or options.plan is not None
        self.tested = _described(options) or _looked_at(options)
        self.meter = self.tested.meter
        self.strokes = options.stroke_volume is not None
        factors = wiring.factors(self.meter)
        self.pulses = "pulses" in factors
        self._one_m3 = factors.get("pulses", 1.0)
        self._integrated = not factors.keys() & {"pulses", "total"}
        if self._integrated and not _adds_up(self.meter, factors):
            raise CommandFault("this meter gives no volume, no rate and no pulses; a bucket test needs a count")
        self.trouble = ""
        self._moved_m3 = 0.0

    def __enter__(self) -> Self:
        from tally.live.clock import SystemClock
        from tally.live.instruments import instrument

        self._source = instrument("bench", self.meter, SystemClock(), lambda *_: None)
        self._source.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._source.stop()

    @property
    def words(self) -> str:
        if self._integrated:
            return "it gives a rate, which is added up while it arrives"
        if not self.pulses:
            return "it shows a total"
        if self.strokes:
            return "it counts strokes"
        return "it counts pulses" + ("" if self._k_is_known else ", what one stands for is what the test finds")

    @property
    def unit(self) -> str:
        return "strokes" if self.strokes else "pulses"

    def begin(self) -> None:
        """From the first total that arrives from now on."""
        from tally.meters.counter import Counter

        self.trouble, self._moved_m3 = "", 0.0
        self._first_move_s = self._last_move_s = None
        self._counter, self._total_s = Counter(self.meter.modulus_m3), 0.0
        self._source.drain()
        if not self._take_until(time.monotonic()):
            raise CommandFault(f"no total comes from the meter: {self._source.status.why}")

    def end(self, true_m3: float) -> Run:
        """Up to the first total that arrives from now on."""
        if not self._take_until(time.monotonic()):
            self.trouble = f"no total came at its end: {self._source.status.why}"
        ended_m3 = self._moved_m3
        if not self._take_until(time.monotonic()):
            self.trouble = self.trouble or f"the meter fell silent: {self._source.status.why}"
        elif self._moved_m3 > ended_m3:
            self.trouble = self.trouble or "the meter still counts: stop the pump before the bucket is read"
        if not self.trouble and not ended_m3 > 0:
            self.trouble = "nothing was counted"
        first_s, last_s = self._first_move_s, self._last_move_s
        seconds = None if first_s is None or last_s is None else last_s - first_s
        counted = round(ended_m3 / self._one_m3) if self.pulses else ended_m3
        return Run(counted, true_m3, seconds)

    def run_words(self, run: Run) -> str:
        from tally.cli.meter.wording import volume

        shown = self._options.shown
        counted = f"{run.counted:,.0f} {self.unit}" if self.pulses else volume(run.counted, shown)
        short = run.seconds is not None and run.seconds < SHORT_S
        hint = f" in {run.seconds:.0f} s: short, 20 s or more say more" if short else ""
        return f"{counted} for {volume(run.true_m3, shown)}{hint}"

    def _take_until(self, from_s: float) -> bool:
        """Counts what comes until a total arrives at or after `from_s`; False where none does."""
        while time.monotonic() < from_s + FRESH_WAIT_S:
            fresh = False
            for reading in self._source.drain():
                if reading.quantity == "total_m3":
                    self._take(reading)
                    fresh = fresh or reading.mono_s >= from_s
            if fresh:
                return True
            time.sleep(0.02)
        return False

    def _take(self, reading: Reading) -> None:
        limit_m3 = wiring.jump_limit_m3(max(reading.mono_s - self._total_s, 0.0) if self._total_s else 0.0)
        self._counter, step = self._counter.take(reading.value, jump_limit_m3=limit_m3)
        self._total_s = reading.mono_s
        if step.kind not in ("normal", "rollover"):
            self.trouble = (
                f"the count made a {step.kind} in it" if step.kind != "backward" else "the count ran backward"
            )
        if step.increment_m3 > 0:
            self._moved_m3 += step.increment_m3
            self._first_move_s = self._first_move_s or reading.mono_s
            self._last_move_s = reading.mono_s

    _first_move_s: float | None = None
    _last_move_s: float | None = None


def _adds_up(meter: Wired, factors: dict[str, float]) -> bool:
    """Whether its rate, all that it gives, becomes a total."""
    from tally.live.instruments import counts_volume

    loop = meter.loop is not None and meter.loop.quantity == "rate_m3_s"
    return counts_volume(meter) and ("rate" in factors or loop)


def _with_k(options: argparse.Namespace, pulses: bool) -> argparse.Namespace:
    """The same with a stand-in for K, or for a pump's efficiency, where that is what the test is to find."""
    said = vars(options)
    if options.stroke_volume and not options.efficiency:
        return argparse.Namespace(**(said | {"efficiency": "100 %"}))
    if options.k_factor is None and not options.stroke_volume and pulses:
        return argparse.Namespace(**(said | {"k_factor": UNKNOWN_K}))
    return options


def _described(options: argparse.Namespace) -> Tested | None:
    """The meter as the options or a plan describe it, if they do."""
    counts = "(?P<pulses>" in (options.pattern or "") or options.source == "pulses"
    nameless = wiring.source_of(options) == "modbus" and not options.units
    asked = _with_k(options, counts or nameless)
    meter = wiring.resolved(asked)
    for name in ("port", "baud", "bits", "correction", "planned"):
        setattr(options, name, getattr(asked, name))
    if options.plan is not None:
        options.stroke_volume = options.planned.get("stroke_volume")
    if meter is None and wiring.source_of(options) == "modbus":
        raise CommandFault("Modbus: what does the register hold? --type and --units; tally meter listen PORT --shows")
    return None if meter is None else Tested(options.pattern or "", wiring.named_units(options.units), meter)


def _looked_at(options: argparse.Namespace) -> Tested:
    """The meter as its first lines tell."""
    from tally.meters.framing import Frame, LineFramer
    from tally.meters.transport import PortFault, open_port

    try:
        port = open_port(options.port, options.baud, bits=options.bits)
    except PortFault as fault:
        raise CommandFault(f"{fault}\n  which ports there are: tally meter ports") from fault
    framer, end_s = LineFramer(mid_line=True), time.monotonic() + FIRST_WAIT_S
    lines: list[str] = []
    try:
        while len(lines) < FIRST_LINES and time.monotonic() < end_s:
            lines += [
                one.data.decode("utf-8", "replace") for one in framer.feed(port.read(4096)) if isinstance(one, Frame)
            ]
    except PortFault as fault:
        raise CommandFault(str(fault)) from fault
    finally:
        port.close()
    found = choice(options, lines)
    if found is None or set(found.open) - {"pulses"}:
        raise CommandFault(
            "its lines do not say how they are read: tally meter listen PORT, then --pattern and --units"
        )
    units = {name: unit for name, unit in found.units.items() if name != "pulses"}
    return Tested(found.pattern, units, found.meter(_with_k(options, "pulses" in found.units)))
