"""Options and steps that several commands share."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli.fault import CommandFault

if TYPE_CHECKING:
    from tally.formats import Units
    from tally.job.plan import Plan

    Commands = argparse._SubParsersAction[argparse.ArgumentParser]


def folder_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--folder", type=Path, help="where sessions live (else TALLY_HOME, else a folder of your own)")


def units_option(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--units", choices=("metric", "us"), help="instead of those that the plan asks for")


def terminal() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty()


def read_plan(path: Path) -> Plan:
    from tally.planfile import read

    found = read(path)
    if isinstance(found, list):
        head = f"{path} has {len(found)} mistake{'s' if len(found) > 1 else ''}; nothing was started:"
        raise CommandFault("\n  ".join([head, *map(str, found)]))
    return found


def shown(options: argparse.Namespace, plan: Plan) -> Units:
    return options.units or plan.job.units


def warm() -> None:
    """Loads the units registry while the first screen is read: it takes longer than the screen does."""
    import threading

    from tally import units

    threading.Thread(target=units.warm, name="units", daemon=True).start()
