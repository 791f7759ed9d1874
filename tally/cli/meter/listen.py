"""`tally meter listen`: what a port sends, line by line or packet by packet, beside what it is read as."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli.meter import bauds, known, wiring
from tally.cli.meter import options as given

if TYPE_CHECKING:
    from tally.cli.common import Commands

UNREAD = 1
"""Exit code where no line could be read, or what was read is not what the display shows."""
_ABOUT = """\
Shows each line that arrives, or each question to a Modbus device with its
answer, beside what it is read as; counts what cannot be read; and proposes the
table for the plan. No job is needed. Ctrl+C ends it with a summary.

  lines, looked at first, then a pattern is proposed:
    tally meter listen PORT
  a pulse counter, a pump's strokes, 4 to 20 mA:
    tally meter listen PORT --k-factor "812 pulses/L"
    tally meter listen PORT --stroke-volume "1.2 L" --efficiency "90 %"
    tally meter listen PORT --at-4 "0 bar" --at-20 "250 bar" --channel pressure
  Modbus: the packets, and which type and order read what the display shows:
    tally meter listen PORT --address 100
    tally meter listen PORT --address 100 --shows "1234.5 L"
  as a plan has it, its meter or another of its instruments:
    tally meter listen --plan plan.toml
    tally meter listen --plan plan.toml --instrument NAME"""


def add(commands: Commands) -> None:
    listen = commands.add_parser(
        "listen",
        help="what a port sends, beside what it is read as; proposes the lines for the plan",
        description=_ABOUT,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    given.port_options(listen)
    given.reading_options(listen)
    given.shown_option(listen)
    listen.add_argument("--shows", metavar="READING", help='what the meter\'s own display shows, such as "1234.5 L": '
                        "says whether that is read, and of Modbus which type and order read it")  # fmt: skip
    listen.add_argument("--seconds", type=_seconds, help="listen so long (default: until Ctrl+C)")
    listen.add_argument(
        "--try-bauds", action="store_true", help="try the usual baud rates: which gives text, or an answer"
    )
    listen.add_argument("--keep", type=Path, metavar="FILE.raw", help="keep every byte with its time of arrival")
    listen.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    options.correction, options.planned = 1.0, {}
    asked = wiring.resolved(options)
    if options.try_bauds:
        return bauds.tried(options)
    modbus = bool(asked.registers) if asked else wiring.source_of(options) == "modbus"
    if options.shows and modbus:
        return known.checked(options, asked if options.plan else None)
    from tally.cli.meter.listening import Listening

    listening = Listening(options, asked, modbus)
    port = listening.opened()
    try:
        listening.run(port)
    except KeyboardInterrupt:
        print()
    finally:
        listening.close()
    listening.sum_up()
    return 0 if listening.bench.read and listening.agrees else UNREAD


def _seconds(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = 0.0
    if not 0 < seconds <= 1e6:
        raise argparse.ArgumentTypeError(f"given {text}; a number of seconds above zero is accepted")
    return seconds
