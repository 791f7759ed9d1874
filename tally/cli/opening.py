"""From a command to the screens of a job: the first frame is painted before anything is loaded."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tally.cli.common import Looks
    from tally.screens.opening import Frame
    from tally.screens.places import Work
    from tally.screens.preparing import Preparation

    Make = Callable[[Preparation], AbstractContextManager[Work]]

NOTHING = "Left before anything was recorded."


def shown(name: str, frame: Frame, make: Make, looks: Looks) -> int:
    """The exit code of the screens over what `make` opens, and keeps open until the crew leaves.

    `make` runs in a thread behind the first frame. What it raises is raised here, once the terminal is free again.
    Where the crew leaves before it is done, it is given up.
    """
    from tally.screens.opening import OpeningApp
    from tally.screens.preparing import Preparation

    preparation = Preparation(make, name)
    app = OpeningApp(
        frame, preparation, theme=looks.theme, keymap=looks.keymap, muted=looks.muted, said=looks.said
    )  # fmt: skip
    try:
        app.run()
    finally:
        preparation.end()
    if preparation.fault is not None:
        raise preparation.fault
    return app.return_code or 0
