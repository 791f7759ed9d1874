"""What both apps share, the one for choosing a job and the one for the job: style, light, size."""

from __future__ import annotations

from types import MappingProxyType
from typing import TypeVar

from textual.app import App

from tally.screens import keys, themes
from tally.screens.keys import Keymap

NO_CHANGE: Keymap = MappingProxyType({})
Answer = TypeVar("Answer")


class OurApp(App[Answer]):
    CSS_PATH = "tally.tcss"
    ENABLE_COMMAND_PALETTE = False
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (72, "-normal"), (100, "-wide"), (130, "-widest")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-low"), (18, "-tall")]  # noqa: RUF012
    TITLE = "tally"

    keymap: Keymap = NO_CHANGE
    """Keys that stand for others here."""

    def put_on(self, theme: str) -> None:
        """Makes our themes known, and `theme` the one that is seen."""
        for each in themes.ALL:
            self.register_theme(each)
        self.theme = theme
        self.set_keymap({**self.keymap, **{f"replay-{action}": key for action, key in self.keymap.items()}})

    def face(self, action: str) -> str:
        """The key that stands for `action`, as it is printed."""
        tables = (table for table in keys.SCREENS.values())
        found = next(key for table in tables for key in table if key.action == action)
        return keys.mapped([found], self.keymap)[0].face

    def next_theme(self) -> None:
        names = [theme.name for theme in themes.ALL]
        self.theme = names[(names.index(self.theme) + 1) % len(names)]
