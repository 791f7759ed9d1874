"""The report's drawings made in a process of its own, which loads the drawing library while the session is read.

A program that records all day never loads that library, and its screen never waits for it.
"""

from __future__ import annotations

import contextlib
import json
import os
import pickle
import subprocess
import sys
from types import TracebackType
from typing import TYPE_CHECKING, Any

from tally import child

if TYPE_CHECKING:
    from tally.formats import Units
    from tally.job.view.charted import Charts


class Draughtsman:
    """Gets ready as soon as it is there. Where no process can be had, or it fails, it draws in this one."""

    def __init__(self) -> None:
        self._asked: tuple[Charts, Units] | None = None
        self._process: subprocess.Popen[bytes] | None
        try:
            self._process = child.started(__name__, errors=subprocess.DEVNULL)
        except OSError:
            self._process = None

    def ask(self, view: Charts, units: Units) -> None:
        """Has drawings made, once. Does not wait for them."""
        self._asked = view, units
        if self._process is not None and self._process.stdin is not None:
            try:
                self._process.stdin.write(pickle.dumps(self._asked))
                self._process.stdin.close()
            except OSError:
                self._dismiss()

    def drawings(self) -> list[list[dict[str, Any]]]:
        """What was asked for, as `tally.report.charts.drawings` makes it."""
        assert self._asked is not None, "ask first"
        if self._process is not None and self._process.stdout is not None:
            drawn = self._process.stdout.read()
            if self._process.wait() == 0:
                rows: list[list[dict[str, Any]]] = json.loads(drawn)
                return rows
        from tally.report import charts

        return charts.drawings(*self._asked)

    def __enter__(self) -> Draughtsman:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._dismiss()

    def _dismiss(self) -> None:
        process, self._process = self._process, None
        if process is not None:
            process.kill()
            for pipe in (process.stdin, process.stdout):
                if pipe is not None:
                    with contextlib.suppress(OSError):  # what nobody is left to read
                        pipe.close()
            process.wait()


def _draw() -> None:
    from tally.report import charts

    charts.get_ready()
    try:
        view, units = pickle.load(sys.stdin.buffer)
    except EOFError:  # nobody wants any
        return
    sys.stdout.write(json.dumps(charts.drawings(view, units)))
    sys.stdout.flush()
    os._exit(0)  # somebody waits for the end, and there is nothing to tidy


if __name__ == "__main__":
    _draw()
