"""A module of this program in a process of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

_ROOT = Path(__file__).resolve().parents[1]


def started(module: str, *arguments: str, errors: int) -> subprocess.Popen[bytes]:
    """`module` run by this interpreter with pipes for its input and output; raises `OSError` where that cannot be.

    Its input ends when this program does, however that ends.
    """
    environment = dict(os.environ)
    environment["PYTHONPATH"] = os.pathsep.join(filter(None, [str(_ROOT), environment.get("PYTHONPATH", "")]))
    return subprocess.Popen(
        [
            sys.executable or "",
            "-P",
            "-m",
            module,
            *arguments,
        ],  # -P: nothing is loaded from the folder we happen to be in
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=errors,
        env=environment,
        start_new_session=True,  # Ctrl+C is for this program, which then ends the other itself
    )
