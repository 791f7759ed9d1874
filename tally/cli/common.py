"""Options and steps that several commands share."""

from __future__ import annotations

import argparse
import os
import sys
from dataclasses import dataclass
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
    from tally.record.similar import meant

    found = read(path)
    if isinstance(found, list):
        head = f"{path} has {len(found)} mistake{'s' if len(found) > 1 else ''}; nothing was started:"
        other = "" if path.exists() else meant(path, ".toml")
        raise CommandFault("\n  ".join([head, *map(str, found), *filter(None, [other])]))
    return found


def shown(options: argparse.Namespace, plan: Plan) -> Units:
    return options.units or plan.job.units


@dataclass(frozen=True, slots=True)
class Looks:
    """The crew's own settings, as the screens take them."""

    units: Units | None
    theme: str
    keymap: dict[str, str]
    muted: bool
    said: str
    """What of the settings was not taken, and why."""


def looks(units: Units | None = None) -> Looks:
    """The settings, `units` before theirs; what is wrong in them is told, and stops nothing."""
    from tally import settings

    found = settings.read()
    if found.fps is not None:
        os.environ.setdefault("TEXTUAL_FPS", str(found.fps))  # read when the library is loaded
    from tally.screens import keys, themes

    keymap, clashes = keys.remapped(found.keys)
    problems = [*found.problems, *clashes]
    for problem in problems:
        print(f"tally: {problem}", file=sys.stderr)
    theme = {"dark": themes.DUSK, "sunlight": themes.SUNLIGHT, "plain": themes.PLAIN}[found.theme]
    said = f"settings: {problems[0]}" if problems else ""
    if len(problems) > 1:
        said += f" (and {len(problems) - 1} more; `tally settings` tells all)"
    return Looks(units or found.units, theme.name, keymap, found.mute, said)
