"""A second copy of the session, kept up to date by a thread of its own: a stick that hangs never stops the record."""

from __future__ import annotations

import threading
from pathlib import Path

from tally.record.copy import Copy, Missing
from tally.record.fault import RecordFault, fault

LOOK_EVERY_S = 1.0
CLOSE_LINES = 3
"""So many lines behind are the copying itself, not worth a word."""


class Mirror:
    """Copies what is saved to `folder`; `saved` is told by the recorder, `words` is what a screen says."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.why = ""
        """Why it is not copied just now, in plain words."""
        self._copy: Copy | None = None
        self._saved = (0, 0)
        """Bytes and lines of the session that are on its disk."""
        self._copied = (0, 0)
        self._missing = False
        self._wake, self._ended = threading.Event(), threading.Event()
        self._thread = threading.Thread(target=self._run, name="mirror", daemon=True)

    def start(self, session: Path) -> None:
        self._copy = Copy(session, self.folder)
        self._thread.start()

    def saved(self, length: int, lines: int) -> None:
        """Never waits."""
        self._saved = (length, lines)
        self._wake.set()

    @property
    def words(self) -> str:
        behind = self._saved[1] - self._copied[1]
        if self._missing:
            return "copy missing"
        return f"copy {behind} behind" if behind > CLOSE_LINES or self.why else "copied"

    @property
    def complete(self) -> bool:
        return self._copied == self._saved and not self.why

    def stop(self, timeout_s: float = 1.0) -> None:
        """Copies what is left, if that goes quickly."""
        self._ended.set()
        self._wake.set()
        if self._thread.is_alive():
            self._thread.join(timeout_s)

    def step(self) -> None:
        """Copies what is saved by now."""
        copy, saved = self._copy, self._saved
        assert copy is not None
        try:
            copy.bring(saved[0])
        except OSError as error:
            self._failed(copy, str(fault("not copied to", copy.path, error)))
        except RecordFault as wrong:
            self._failed(copy, f"not copied: {wrong}", missing=isinstance(wrong, Missing))
        else:
            self._copied, self._missing, self.why = (copy.length, copy.lines), False, ""

    def _failed(self, copy: Copy, why: str, *, missing: bool = False) -> None:
        copy.close()
        self._missing, self.why = missing, why

    def _run(self) -> None:
        while True:
            ending = self._ended.is_set()
            try:
                self.step()
            except Exception as bug:  # the second copy is not worth the first
                self.why = f"an error in the program, please report it: {type(bug).__name__}: {bug}"
            if ending:
                break
            self._wake.wait(LOOK_EVERY_S)
            self._wake.clear()
        if self._copy is not None:
            self._copy.close()
