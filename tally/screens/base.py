"""What both apps share, the one for choosing a job and the one for the job: style, light, size."""

from __future__ import annotations

from typing import TypeVar

from textual.app import App

from tally.screens import themes

Answer = TypeVar("Answer")


class OurApp(App[Answer]):
    CSS_PATH = "tally.tcss"
    ENABLE_COMMAND_PALETTE = False
    HORIZONTAL_BREAKPOINTS = [(0, "-narrow"), (72, "-normal"), (100, "-wide"), (130, "-widest")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-low"), (18, "-tall")]  # noqa: RUF012
    TITLE = "tally"

    def put_on(self, theme: str) -> None:
        """Makes our themes known, and `theme` the one that is seen."""
        for each in themes.ALL:
            self.register_theme(each)
        self.theme = theme

    def next_theme(self) -> None:
        names = [theme.name for theme in themes.ALL]
        self.theme = names[(names.index(self.theme) + 1) % len(names)]
