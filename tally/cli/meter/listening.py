"""One sitting at one port: what it sends, told as it comes, and what all of it comes to."""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli.fault import CommandFault
from tally.cli.meter import known, wiring
from tally.cli.meter.choosing import Choice, choice

if TYPE_CHECKING:
    from tally.job.wired import Wired
    from tally.meters.bench import Bench, Heard
    from tally.meters.transport import Port
    from tally.record.raw_log import RawLog

LOOK_AT = 5
"""Lines after which a pattern is proposed."""
_NOTHING_READ = """\
Nothing could be read. What to try next:
  - garbage or nothing but one long line: tally meter listen PORT --try-bauds, or --bits 7E1
  - silence: power, the two data wires (swap them); some meters speak only when they are asked
  - a Modbus meter is asked for registers: --address N (see its manual), and --shows what its display shows"""
_UNANSWERED = """\
No register could be read. What to try next:
  - no answer: power, --unit-id, --baud and --bits (often 8E1), the two data wires (swap them)
  - refused: the other --bank, or the address less one: a manual's 40001 is --address 0"""
MOST_A_SECOND = 10
"""Lines that are printed in a second; a faster meter is counted in full all the same."""
MOST_QUESTIONS = 20
QUIET_S = 5.0
AGAIN_S = 0.5


class Listening:
    """One sitting at one port: it may go and come back."""

    def __init__(self, options: argparse.Namespace, asked: Wired | None, modbus: bool) -> None:
        import tally.planfile.snippet  # takes its time, so before the first byte  # noqa: F401
        from tally.meters.bench import Bench, PacketBench
        from tally.meters.modbus_port import is_tcp

        self._options, self._meter, self._modbus = options, asked, modbus
        self._chosen: Choice | None = None
        dialect = wiring.dialect(asked) if asked else None
        modulus_m3 = asked.modulus_m3 if asked else None
        self.bench: Bench = (
            PacketBench(dialect, tcp=is_tcp(options.port), jump_limit_m3=wiring.jump_limit_m3, modulus_m3=modulus_m3)
            if modbus
            else Bench(dialect, jump_limit_m3=wiring.jump_limit_m3, modulus_m3=modulus_m3)
        )
        self._known = known.known(options, options.shows) if options.shows else None
        self.agrees = True
        """False once a reading differs from what the display was said to show."""
        self._compared = False
        self._asked: set[bytes] = set()
        self._raw = _raw_log(options.keep)
        self._started_s = time.monotonic()
        self._second, self._printed, self._hidden = -1, 0, 0
        self._told_quiet = False
        self._look_at = LOOK_AT

    def run(self, port: Port) -> None:
        tcp = self._modbus and self._options.port.lower().startswith("tcp://")
        pace = "" if tcp else f" at {self._options.baud} baud"
        print(f"{'asking' if self._modbus else 'listening on'} {_plain(self._options.port)}{pace}; Ctrl+C ends")
        for mono_s, data in self._chunks(port):
            if self._raw is not None:
                self._keep(mono_s, data)
            if not data:
                self.bench.opened()
            for heard in self.bench.feed(mono_s, data):
                self._show(heard)
                self._compare(heard)
            if self._meter is None and not self._modbus and self._look_at <= self.bench.lines:
                self._choose()
                self._look_at = self.bench.lines + LOOK_AT

    def opened(self) -> Port:
        """The port for the first time: where it cannot be opened, that is the end."""
        from tally.meters.transport import PortFault

        try:
            return self._open()
        except PortFault as fault:
            raise CommandFault(f"{fault}\n  which ports there are: tally meter ports") from fault

    def _open(self) -> Port:
        from tally.live.instruments import opener
        from tally.meters.transport import open_port

        options = self._options
        if self._meter is not None:
            return opener(self._meter)(options.port, options.baud)
        if self._modbus:
            return wiring.words_port(options)
        return open_port(options.port, options.baud, bits=options.bits)

    def close(self) -> None:
        if self._raw is not None:
            self._raw.close()

    # --- what arrives ------------------------------------------------------------------------------------------------

    def _chunks(self, port: Port | None) -> Iterator[tuple[float, bytes]]:
        """Bytes with their time; none at all each time the port was opened."""
        from tally.meters.transport import PortFault

        while not self._over():
            try:
                port = port or self._open()
                yield time.monotonic(), b""
                while not self._over():
                    if data := port.read(4096):
                        yield time.monotonic(), data
                    else:
                        self._quiet()
            except PortFault as fault:
                self._say(f"!! {fault}; trying again")
                if not self._over():
                    time.sleep(AGAIN_S)
            finally:
                if port is not None:
                    port.close()
                port = None

    def _over(self) -> bool:
        limit_s = self._options.seconds
        return limit_s is not None and time.monotonic() - self._started_s >= limit_s

    def _quiet(self) -> None:
        if not self._told_quiet and not self.bench.bytes and time.monotonic() - self._started_s > QUIET_S:
            self._told_quiet = True
            self._say(
                "!! nothing has arrived yet: check power, the two data wires (swap them), and whether it must be asked"
            )

    def _keep(self, mono_s: float, data: bytes) -> None:
        from datetime import UTC, datetime

        assert self._raw is not None
        self._raw.write("grout", mono_s, datetime.now(UTC), data)

    # --- what is shown -----------------------------------------------------------------------------------------------

    def _show(self, heard: Heard) -> None:
        second = int(heard.mono_s - self._started_s)
        if second != self._second:
            if self._hidden:
                self._say(f"       … {self._hidden} more in that second")
            self._second, self._printed, self._hidden = second, 0, 0
        if self._printed >= MOST_A_SECOND:
            self._hidden += 1
            return
        self._printed += 1
        from tally.cli.meter.wording import heard_line
        from tally.meters.modbus import TCP_QUESTION_BYTES

        question = heard.asked[-6:] if len(heard.asked) == TCP_QUESTION_BYTES else heard.asked  # TCP numbers each one
        if question and question not in self._asked and len(self._asked) < MOST_QUESTIONS:
            self._asked.add(question)
            self._say(f"   asks   {heard.asked.hex(' ')}")
        self._say(heard_line(heard, heard.mono_s - self._started_s, self._options.shown))

    def _compare(self, heard: Heard) -> None:
        """Holds the first reading of what the display shows against it."""
        if self._known is None or self._compared:
            return
        for reading in heard.readings:
            if reading.quantity == self._known.quantity:
                value = replace(reading, value=reading.value / self._options.correction)
                said = known.compared(self._known, value)
                self.agrees, self._compared = not said.startswith("NOT"), True
                self._say(f"-- {said}")
                return

    def _say(self, text: str) -> None:
        print(text, flush=True)

    def _choose(self) -> None:
        """Puts on the dialect that takes what came so far, if one does and nothing in it is open."""
        found = choice(self._options, self.bench.texts)
        if found is None or found.open:
            return
        self._meter, self._chosen = found.meter(self._options), found
        self.bench.read_with(wiring.dialect(self._meter))
        self._say(f"-- reads them as {_plain(found.pattern) or 'the plain dialect'}")

    # --- what it comes to --------------------------------------------------------------------------------------------

    def sum_up(self) -> None:
        from tally.cli.meter.wording import summary
        from tally.meters import proposal

        passed_s = time.monotonic() - self._started_s
        print("\n".join(summary(self.bench, passed_s, self._options.shown)))
        if self._raw is not None:
            print(f"kept in {self._options.keep}" + (f"; {self._raw.fault}" if self._raw.fault else ""))
        if self._known is not None and not self._compared:
            self.agrees = False
            print(f"nothing came to be held against the {self._known.words} of the display")
        if self._options.plan is not None:
            return
        if self._modbus and self._meter is None:
            print(_UNANSWERED if not self.bench.read else "What do they hold? --shows what the display shows finds it")
        elif self._meter is not None and self._chosen is None:
            self._paste(self._options.pattern or "", wiring.named_units(self._options.units))
        elif (found := self._chosen or choice(self._options, self.bench.texts)) is not None:
            if found.open:
                print(f"\nA pattern proposed from what came; it takes {found.takes} of the last {found.of} lines:")
            self._paste(found.pattern, found.units)
        elif proposal.decimal_comma(self.bench.texts):
            print("\nThe numbers seem to have a decimal comma. A plan reads points: set the meter to print them.")
        elif not self.bench.read:
            print(_NOTHING_READ)

    def _paste(self, pattern: str, units: dict[str, str]) -> None:
        from tally.cli.meter.wording import for_the_plan

        print("\n" + for_the_plan(self._options, pattern, units))


def _raw_log(path: Path | None) -> RawLog | None:
    if path is None:
        return None
    if path.exists():
        raise CommandFault(f"{path} is there already, and nothing is written over; give --keep another name")
    from tally.record.raw_log import RawLog

    log = RawLog(path)
    if log.fault:
        raise CommandFault(log.fault)
    return log


def _plain(text: str) -> str:
    from tally.formats import plain

    return plain(text)
