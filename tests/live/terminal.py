"""The program in a terminal of its own: keys go in as bytes, and what it drew is read back as words."""

import fcntl
import os
import pty
import re
import signal
import struct
import subprocess
import sys
import termios
import threading
from pathlib import Path
from types import TracebackType
from typing import Self

from tests.meters.support import wait_until

ROOT = Path(__file__).resolve().parents[2]
KEYS = {
    "F2": b"\x1bOQ", "F3": b"\x1bOR", "F4": b"\x1bOS", "F5": b"\x1b[15~", "F6": b"\x1b[17~", "F9": b"\x1b[20~",
    "Enter": b"\r",
}  # fmt: skip
_SEQUENCE = re.compile(
    rb"\x1b\][^\x07\x1b]*(?:\x07|\x1b\\)|\x1bP.*?\x1b\\|\x1b\[[0-?]*[ -/]*[@-~]|\x1b[()][0-9A-B]|\x1b[=>78]",
    re.DOTALL,
)


def environment(home: Path) -> dict[str, str]:
    """What a program started by a test sees: a home folder of its own, an ordinary terminal, no animation."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("TALLY", "TEXTUAL", "NO_COLOR"))}
    return kept | {
        "HOME": str(home),
        "TALLY_HOME": str(home / "sessions"),
        "PYTHONPATH": str(ROOT),
        "TERM": "xterm-256color",
        "LANG": "C.UTF-8",
        "TEXTUAL_ANIMATIONS": "none",
        "PYTHONDONTWRITEBYTECODE": "1",
    }


_LEAVES = b"\x1b[?1049l"
"""Back from the screen of a program to that of the shell."""


class Terminal:
    """`python -m tally` with `arguments` on a pseudo-terminal of 80 by 24."""

    def __init__(self, *arguments: str, home: Path, columns: int = 80, rows: int = 24) -> None:
        self._master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        self._written = bytearray()
        self._lock = threading.Lock()
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tally", *arguments],
            stdin=slave,
            stdout=slave,
            stderr=slave,
            cwd=home,
            env=environment(home),
            start_new_session=True,
        )
        os.close(slave)
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        while True:
            try:
                data = os.read(self._master, 65_536)
            except OSError:  # nobody holds the other end any more
                return
            if not data:
                return
            with self._lock:
                self._written += data

    @property
    def text(self) -> str:
        """Everything drawn so far, in the order in which it was drawn, without control sequences."""
        with self._lock:
            written = bytes(self._written)
        return _SEQUENCE.sub(b"", written).decode("utf-8", "replace")

    @property
    def left(self) -> str:
        """What was written since the program left its screens; nothing while it is on them."""
        with self._lock:
            _, left, after = bytes(self._written).rpartition(_LEAVES)
        return _SEQUENCE.sub(b"", after).decode("utf-8", "replace") if left else ""

    def forget(self) -> None:
        """What was drawn up to now is not looked at again."""
        with self._lock:
            self._written.clear()

    def keys(self, *keys: str) -> None:
        """Types each, a named key or plain text."""
        for key in keys:
            os.write(self._master, KEYS.get(key) or key.encode("utf-8"))

    def shows(self, words: str, deadline_s: float = 20.0) -> bool:
        return wait_until(lambda: words in self.text, deadline_s)

    def kill(self) -> None:
        self.process.send_signal(signal.SIGKILL)
        self.process.wait(10.0)

    def ended(self, deadline_s: float) -> int | None:
        """Its exit code, or None if it has not ended by the deadline."""
        try:
            return self.process.wait(deadline_s)
        except subprocess.TimeoutExpired:
            return None

    def settled(self) -> None:
        """Waits until all that an ended program wrote has been read."""
        self._reader.join(5.0)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.process.poll() is None:
            self.kill()
        self._reader.join(5.0)
        os.close(self._master)
