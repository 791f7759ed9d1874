"""`tally meter ports`: the ports of this machine, and whether they can be opened now."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tally.cli.common import Commands

NOTHING = 1
"""Exit code where no port can be opened."""
_NONE = """\
The system lists no serial port. What to try next:
  - plug the converter in again, and look whether its lamp lights; another cable, another socket
  - on Linux, `dmesg | tail` right after plugging in says what the system made of it
  - on Windows, the device manager lists them under "Ports (COM & LPT)"; without its driver a converter is unknown there
  - a meter on the network is never listed: tally meter listen socket://ADDRESS:NUMBER
  - to learn without a meter: tally meter simulate"""


def add(commands: Commands) -> None:
    ports = commands.add_parser(
        "ports",
        help="the ports that the system knows, and whether they can be opened now",
        description="Lists the serial ports of this machine and tries each for a moment. Exit code 0 where at least "
        "one can be opened.",
    )
    ports.add_argument("port", nargs="*", metavar="PORT", help="try these instead of those that the system lists")
    ports.add_argument("--no-try", action="store_true", help="only list: opening a port restarts some converters")
    ports.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    from tally.formats import plain
    from tally.meters.transport import KnownPort, known_ports

    found = [KnownPort(url, "") for url in options.port] or known_ports()
    if not found:
        print(_NONE)
        return NOTHING
    opened = 0
    for port in found:
        trouble = "" if options.no_try else _trouble(port.url)
        opened += not trouble
        state = "not tried" if options.no_try else trouble or "can be opened"
        print(f"{plain(port.url)}  {plain(port.description)}".rstrip())
        print(f"    {plain(state)}")
    if opened and not options.no_try:
        print("next: tally meter listen PORT")
    return 0 if opened else NOTHING


def _trouble(url: str) -> str:
    """Why the port cannot be opened now; empty where it can."""
    from tally.meters.transport import PortFault, open_port

    try:
        open_port(url, 9600).close()
    except PortFault as fault:
        return str(fault)
    return ""
