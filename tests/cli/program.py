"""A command as a shell starts it, without a terminal, and a meter made of a pseudo-terminal."""

import os
import signal
import struct
import subprocess
import sys
import threading
from pathlib import Path
from types import TracebackType
from typing import Self

from tests.live.terminal import environment
from tests.meters.support import wait_until

DEADLINE_S = 30.0
UNREAD_BYTES = 1000


def _hears_ctrl_c() -> None:
    """A suite that a shell runs in the background passes on that an interrupt is to be ignored."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


class Program:
    """`python -m tally` with `arguments`; what it prints is read as it comes, what it asks is answered by `types`."""

    def __init__(self, *arguments: str, home: Path) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "tally", *arguments],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            cwd=home,
            env=environment(home) | {"PYTHONUNBUFFERED": "1"},
            preexec_fn=_hears_ctrl_c,
        )
        self._printed: list[str] = []
        self._thread = threading.Thread(target=self._read, daemon=True)
        self._thread.start()

    def _read(self) -> None:
        assert self.process.stdout is not None
        with self.process.stdout as out:
            while data := os.read(out.fileno(), 65_536):
                self._printed.append(data.decode("utf-8", "replace"))

    @property
    def text(self) -> str:
        return "".join(self._printed)

    def says(self, words: str, times: int = 1) -> bool:
        return wait_until(lambda: self.text.count(words) >= times or self._thread_ended(), DEADLINE_S) and (
            self.text.count(words) >= times
        )

    def _thread_ended(self) -> bool:
        return not self._thread.is_alive()

    def types(self, line: str) -> None:
        assert self.process.stdin is not None
        self.process.stdin.write(line.encode() + b"\n")
        self.process.stdin.flush()

    def interrupt(self) -> None:
        self.process.send_signal(signal.SIGINT)

    def ended(self) -> int:
        """Its exit code; what it printed is complete."""
        if self.process.stdin is not None:
            self.process.stdin.close()
        code = self.process.wait(DEADLINE_S)
        self._thread.join(DEADLINE_S)
        return code

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait(DEADLINE_S)
        self._thread.join(DEADLINE_S)


class PtyMeter:
    """A meter that says what it is told to; with `baud`, whoever listens at another rate gets noise instead."""

    def __init__(self, baud: int | None = None) -> None:
        import pty
        import termios
        import tty

        self._master, self._slave = pty.openpty()
        tty.setraw(self._slave)
        self.port = os.ttyname(self._slave)
        self._speed = None if baud is None else getattr(termios, f"B{baud}")

    def send(self, text: str) -> None:
        data = text.encode("latin-1")
        if self._speed is not None and self._speed != self._asked():
            data = bytes((byte ^ 0xA5) | 0x80 for byte in data[::2])  # what another rate samples
        os.write(self._master, data)

    def offer(self, text: str) -> None:
        """Sends it unless much is still unread, so that the line never fills: a wire keeps nothing either.

        What is on the line is never dropped from this side: whoever was just told that there is something to read
        would find nothing, which is how a port that has gone looks.
        """
        if self._unread() < UNREAD_BYTES:
            self.send(text)

    def _unread(self) -> int:
        import fcntl
        import termios

        count: int
        (count,) = struct.unpack("i", fcntl.ioctl(self._slave, termios.FIONREAD, bytes(4)))
        return count

    def _asked(self) -> int:
        import termios

        speed: int = termios.tcgetattr(self._slave)[5]
        return speed

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        os.close(self._master)
        os.close(self._slave)


class Talking:
    """Sends `lines` again and again, so many a second or so, until the end of `with`."""

    def __init__(self, meter: PtyMeter, *lines: str, every_s: float = 0.02) -> None:
        self._meter, self._lines, self._every_s = meter, lines, every_s
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._talk, daemon=True)

    def _talk(self) -> None:
        count = 0
        while not self._stop.wait(self._every_s):
            self._meter.offer(self._lines[count % len(self._lines)])
            count += 1

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._stop.set()
        self._thread.join(DEADLINE_S)
