"""A text over the screen: to be read, scrolled and left."""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from tally.screens import words
from tally.screens.words import line


class ReadScreen(ModalScreen[bool]):
    """True for Enter, False for Esc."""

    AUTO_FOCUS = ""
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,f6,f9", "leave(False)", show=False),
        Binding("enter", "leave(True)", show=False),
        Binding("up", "scroll(-1)", show=False),
        Binding("down", "scroll(1)", show=False),
        Binding("pageup", "scroll(-10)", show=False),
        Binding("pagedown", "scroll(10)", show=False),
    ]

    def __init__(self, title: str, told: Sequence[Content | str], hint: str = "↑↓ scroll   Esc back") -> None:
        """A line of `told` that is plain text is folded to the width there is."""
        super().__init__()
        self._title, self._told, self._hint = title, tuple(told), hint
        self._left = False

    def compose(self) -> ComposeResult:
        with Vertical(id="read"):
            yield Static(line((self._title, "bold reverse")))
            yield VerticalScroll(Static(id="read-text"), id="options", can_focus=False)
            yield Static(line(self._hint), id="hint")

    def on_mount(self) -> None:
        self._draw()

    def on_resize(self) -> None:
        self._draw()

    def _draw(self) -> None:
        width = max(min(self.app.size.width * 95 // 100, 100) - 6, 20)
        rows: list[Content] = []
        for told in self._told:
            rows += [told] if isinstance(told, Content) else [line(part) for part in words.folded(told, width)]
        self.query_one("#read-text", Static).update(words.lines(rows))
        # frame, title and hint; without a height of its own a long text would push the hint out of its frame
        self.set_class(len(rows) + 4 > self.app.size.height * 9 // 10, "-long")

    def action_leave(self, taken: bool) -> None:
        if not self._left:
            self._left = True
            self.dismiss(taken)

    def action_scroll(self, step: int) -> None:
        self.query_one("#options", VerticalScroll).scroll_relative(y=step, animate=False)
