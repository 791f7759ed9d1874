"""`tally meter`: a meter looked at, tried and calibrated by itself, without any job."""

from __future__ import annotations

from argparse import ArgumentParser, RawDescriptionHelpFormatter
from typing import TYPE_CHECKING

from tally.cli.meter import calibrate, listen, ports, simulate

if TYPE_CHECKING:
    from tally.cli.common import Commands

PARTS = (ports, listen, calibrate, simulate)
_ORDER = """\
A meter that nobody has tried yet, in this order:

  tally meter ports                 which ports there are, and whether they can be opened
  tally meter listen PORT           what the meter says, how it is read, and the lines for the plan
  tally meter calibrate PORT        bucket test: what it counts against what was in the bucket

Without a meter at hand:

  tally meter simulate              a simulated rig, with everything that goes wrong on one
"""


def add(commands: Commands) -> None:
    meter = commands.add_parser(
        "meter",
        help="look at a meter, try it and calibrate it; no job is needed",
        description=_ORDER,
        formatter_class=RawDescriptionHelpFormatter,
    )
    meter.set_defaults(command=lambda _: _told(meter))
    parts = meter.add_subparsers(title="what to do", metavar="WHAT")
    for part in PARTS:
        part.add(parts)


def _told(meter: ArgumentParser) -> int:
    """`tally meter` alone says what there is."""
    meter.print_help()
    return 0
