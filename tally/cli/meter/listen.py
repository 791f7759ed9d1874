"""`tally meter listen`: what a port sends, line by line, beside what it is read as."""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli.fault import CommandFault
from tally.cli.meter import bauds, wiring
from tally.cli.meter.choosing import Choice, choice

if TYPE_CHECKING:
    from tally.cli.common import Commands
    from tally.job.wired import MeterPlan
    from tally.meters.bench import Bench, Heard
    from tally.meters.transport import Port
    from tally.record.raw_log import RawLog

UNREAD = 1
"""Exit code where no line could be read."""
LOOK_AT = 5
"""Lines after which a pattern is proposed."""
_NOTHING_READ = """\
Nothing could be read. What to try next:
  - garbage or nothing but one long line: tally meter listen PORT --try-bauds, or --bits 7E1
  - silence: power, the two data wires (swap them); some meters speak only when they are asked
  - a Modbus meter is asked for registers, which the plan names: source = "modbus", see tally plan --example"""
MOST_A_SECOND = 10
"""Lines that are printed in a second; a faster meter is counted in full all the same."""
QUIET_S = 5.0
AGAIN_S = 0.5


def add(commands: Commands) -> None:
    listen = commands.add_parser(
        "listen",
        help="what a port sends, beside what it is read as; proposes the lines for the plan",
        description="Shows each line that arrives and what it is read as, counts what is garbage, and proposes a "
        "pattern for the plan from what it hears. Ctrl+C ends it with a summary. Needs no terminal.",
    )
    wiring.port_options(listen)
    wiring.reading_options(listen)
    wiring.shown_option(listen)
    listen.add_argument("--seconds", type=_seconds, help="listen so long (default: until Ctrl+C)")
    listen.add_argument("--try-bauds", action="store_true", help="try the usual baud rates and say which gives text")
    listen.add_argument("--keep", type=Path, metavar="FILE.raw", help="keep every byte with its time of arrival")
    listen.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    if options.try_bauds:
        return bauds.tried(options)
    listening = _Listening(options, wiring.asked_meter(options))
    port = _opened(options)
    try:
        listening.run(port)
    except KeyboardInterrupt:
        print()
    finally:
        listening.close()
    listening.sum_up()
    return 0 if listening.bench.read else UNREAD


def _opened(options: argparse.Namespace) -> Port:
    from tally.meters.transport import PortFault, open_port

    try:
        return open_port(options.port, options.baud, bits=options.bits)
    except PortFault as fault:
        raise CommandFault(f"{fault}\n  which ports there are: tally meter ports") from fault


class _Listening:
    """One sitting at one port: it may go and come back."""

    def __init__(self, options: argparse.Namespace, asked: MeterPlan | None) -> None:
        import tally.planfile.snippet  # takes its time, so before the first byte  # noqa: F401
        from tally.meters.bench import Bench

        self._options, self._meter = options, asked
        self._chosen: Choice | None = None
        dialect = wiring.dialect(asked) if asked else None
        self.bench: Bench = Bench(dialect, jump_limit_m3=wiring.jump_limit_m3)
        self._raw = _raw_log(options.keep)
        self._started_s = time.monotonic()
        self._second, self._printed, self._hidden = -1, 0, 0
        self._told_quiet = False
        self._look_at = LOOK_AT

    def run(self, port: Port) -> None:
        print(f"listening on {_plain(self._options.port)} at {self._options.baud} baud; Ctrl+C ends")
        for mono_s, data in self._chunks(port):
            if self._raw is not None:
                self._keep(mono_s, data)
            if not data:
                self.bench.opened()
            for heard in self.bench.feed(mono_s, data):
                self._show(heard)
            if self._meter is None and self._look_at <= self.bench.lines:
                self._choose()
                self._look_at = self.bench.lines + LOOK_AT

    def close(self) -> None:
        if self._raw is not None:
            self._raw.close()

    # --- what arrives ------------------------------------------------------------------------------------------------

    def _chunks(self, port: Port | None) -> Iterator[tuple[float, bytes]]:
        """Bytes with their time; none at all each time the port was opened."""
        from tally.meters.transport import PortFault, open_port

        while not self._over():
            try:
                port = port or open_port(self._options.port, self._options.baud, bits=self._options.bits)
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

        self._say(heard_line(heard, heard.mono_s - self._started_s, self._options.shown))

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
        if self._options.pattern is not None or self._options.k_factor is not None:
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


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = 0.0
    if not 0 < seconds <= 1e6:
        raise argparse.ArgumentTypeError(f"given {text}; a number of seconds above zero is accepted")
    return seconds
