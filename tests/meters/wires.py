"""Serial lines with two ends, each a device node, for a meter and its device in processes of their own."""

import os
import select
import shutil
import subprocess
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.meters.support import wait_until


@contextmanager
def joined_by_socat(folder: Path) -> Iterator[tuple[str, str]]:
    """By a general program that joins two pseudo-terminals, where the system has it; it is no part of the project."""
    socat = shutil.which("socat")
    if socat is None:
        pytest.skip("socat is not installed here")
    links = folder / "theirs", folder / "ours"
    process = subprocess.Popen([socat, *(f"pty,raw,echo=0,link={link}" for link in links)])
    try:
        assert wait_until(lambda: all(link.exists() for link in links), 20.0)
        yield str(links[0]), str(links[1])
    finally:
        process.kill()
        process.wait()


@contextmanager
def joined_terminals() -> Iterator[tuple[str, str]]:
    """Two pseudo-terminals; a thread carries what is written to one over to the other."""
    if os.name != "posix":
        pytest.skip("this system has no pseudo-terminals")
    import pty
    import tty

    pairs = [pty.openpty() for _ in range(2)]
    for _, slave in pairs:
        tty.setraw(slave)
    masters = [master for master, _ in pairs]
    ended = threading.Event()

    def carry() -> None:
        while not ended.is_set():
            for ready in select.select(masters, [], [], 0.1)[0]:
                os.write(masters[1 - masters.index(ready)], os.read(ready, 4096))

    thread = threading.Thread(target=carry, daemon=True)
    thread.start()
    try:
        yield os.ttyname(pairs[0][1]), os.ttyname(pairs[1][1])
    finally:
        ended.set()
        thread.join(20.0)
        for descriptor in (end for pair in pairs for end in pair):
            os.close(descriptor)
