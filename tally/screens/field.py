"""A field that takes keys in the order in which they were typed.

The library's own field puts a letter in at once, but sends editing keys and Enter round by the app: of keys that come
in one burst (a slow link, a scanner, fast fingers) the letters behind an Enter would slip in before it.
"""

from __future__ import annotations

from textual import events
from textual.app import App
from textual.widgets import Input


class Field(Input):
    """Editing keys act at once; while a question stands over the screen, keys go there."""

    async def _on_key(self, event: events.Key) -> None:
        if self.screen is not self.app.screen:
            pass_on(self.app, event)
        elif not self.took(event):
            await super()._on_key(event)

    def took(self, event: events.Key) -> bool:
        """Whether the key was one that acts on the field, or on what it belongs to."""
        match event.key:
            case "backspace":
                self.action_delete_left()
            case "delete":
                self.action_delete_right()
            case "left":
                self.action_cursor_left()
            case "right":
                self.action_cursor_right()
            case "home":
                self.action_home()
            case "end":
                self.action_end()
            case _:
                return False
        consume(event)
        return True


def consume(event: events.Key) -> None:
    """Has nobody else act on `event`."""
    event.stop()
    event.prevent_default()


def pass_on(app: App[object], event: events.Key) -> None:
    """Has whatever has the focus now act on `event`, which came to a screen that is no longer, or not yet, in front."""
    consume(event)
    (app.focused or app.screen)._forward_event(events.Key(event.key, event.character))
