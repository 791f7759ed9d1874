"""What is made ready in a thread while the first frame stands: told step by step, given up when the crew leaves.

Nothing is begun by halves: what the thread enters is left again, by the thread itself or by `end`.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, ExitStack, contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tally.screens.places import Work

PATIENCE_S = 0.7
"""How long the end waits for the thread: what it reads may hang on a disk, and whoever leaves wants to be gone."""
TOUCHING_S = 1.5
"""The same while it writes: what was begun should be ended too, as long as the disk answers at all."""


class Left(Exception):
    """The crew has left while something was made ready; whatever was begun is to be undone."""


class Preparation:
    """`make` runs once, in a thread, from `start` on; the context that it gives is left by `end`."""

    def __init__(self, make: Callable[[Preparation], AbstractContextManager[Work]], name: str) -> None:
        self.name = name
        """What is made ready: mostly a file's name."""
        self.words = ""
        """What the thread is at, for the crew to read."""
        self.work: Work | None = None
        """What was made ready, once it is."""
        self.fault: BaseException | None = None
        """Why it could not be."""
        self._make = make
        self._told: Callable[[], object] = bool
        self._left = threading.Event()
        self._touching = False
        self._gate = threading.Lock()
        """Between `touching` and `leave`: whoever leaves knows whether anything is being written."""
        self._undo = ExitStack()
        # A daemon: what hangs on a disk must not keep the program from ending.
        self._thread = threading.Thread(target=self._run, name="preparation", daemon=True)

    def start(self, told: Callable[[], object]) -> None:
        """`told` is called in the thread whenever there is something new to read here."""
        self._told = told
        self._thread.start()

    def leave(self) -> None:
        """Has the thread give up at its next step."""
        with self._gate:
            self._left.set()

    def end(self) -> None:
        """Gives up what is still being made ready, and undoes what is. To be called whatever became of the screens."""
        self.leave()
        if self._thread.ident is not None:
            self._thread.join(TOUCHING_S if self._touching else PATIENCE_S)
        if not self._thread.is_alive():
            self._undo.close()

    # --- for the thread ----------------------------------------------------------------------------------------------

    def step(self, words: str, name: str = "") -> None:
        """Says what comes next; raises `Left` where nobody wants it any more."""
        self.heed()
        self.words, self.name = words, name or self.name
        self._told()

    def heed(self) -> None:
        """Raises `Left` once the crew has left. To be called in whatever takes long."""
        if self._left.is_set():
            raise Left

    @contextmanager
    def touching(self) -> Iterator[None]:
        """Around whatever writes; never entered once the crew has left."""
        with self._gate:
            self.heed()
            self._touching = True
        try:
            yield
        finally:
            self._touching = False

    def wait(self, seconds: float) -> None:
        """The same after so many seconds, or at once when the crew leaves."""
        self._left.wait(seconds)
        self.heed()

    def _run(self) -> None:
        try:
            self.work = self._undo.enter_context(self._make(self))
        except Left:
            return
        except BaseException as fault:
            # It is raised where the command was given, once the terminal is free for its words.
            self.fault = fault
        self._told()
