"""`tally settings`: where the crew's own settings are, what they may say, and what of them was not taken."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tally.cli.common import Commands
    from tally.screens.keys import Key


def add(commands: Commands) -> None:
    settings = commands.add_parser(
        "settings",
        help="where the settings file is, and a commented example of it",
        description="Says where your settings file is and prints a commented example of it.",
    )
    settings.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    from tally import settings
    from tally.screens import keys

    found = settings.read()
    _, clashes = keys.remapped(found.keys)
    problems = [*found.problems, *clashes]
    place = settings.place()
    print(f"# {place}{'' if place.exists() else ' (not there; save this under that name to begin one)'}")
    print(settings.EXAMPLE.format(keys="\n".join(_rows(keys.SCREENS))))
    for problem in problems:
        print(f"tally: {problem}", file=sys.stderr)
    return 1 if problems else 0


def _rows(screens: dict[str, tuple[Key, ...]]) -> list[str]:
    """Every action whose key can be changed, once, with its key now."""
    seen: dict[str, Key] = {}
    for table in screens.values():
        for key in table:
            if key.changeable:
                seen.setdefault(key.action, key)
    return [f'# {key.action} = "{key.key}"'.ljust(27) + f"# {key.help}" for key in seen.values()]
