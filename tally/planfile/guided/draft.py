"""Answers to a guided plan that is not finished, kept on the disk after each one."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

NAME = "guided-plan.draft"
METER = "tried-meter.draft"
"""Of a meter that is tried without any job."""
LARGEST_BYTES = 1_000_000


def saved(folder: Path, answers: Mapping[str, str], name: str = NAME) -> str:
    """Writes the draft; empty, or why it could not be written."""
    path = folder / name
    fresh = path.with_name(name + ".new")
    try:
        with fresh.open("w", encoding="utf-8", newline="\n") as file:
            json.dump(answers, file, ensure_ascii=False, indent=0)
            file.flush()
            os.fsync(file.fileno())
        fresh.replace(path)
    except OSError as error:
        return f"the draft is not being kept: {path}: {error.strerror}"
    return ""


def read(folder: Path, name: str = NAME) -> dict[str, str]:
    """The answers of the draft; none where there is none, or none that can be read."""
    path = folder / name
    try:
        if path.stat().st_size > LARGEST_BYTES:
            return {}
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    if not isinstance(found, dict):
        return {}
    return {key: value for key, value in found.items() if isinstance(value, str) and len(value) <= 1_000}


def put_aside(folder: Path, name: str = NAME) -> None:
    """Under another name, for a new one to be begun: nothing that was answered is thrown away."""
    path, number = folder / name, 1
    while (aside := folder / f"{name}-{number}").exists():
        number += 1
    with suppress(OSError):
        path.replace(aside)


def done_with(folder: Path, name: str = NAME) -> None:
    """Once the answers stand in a plan file."""
    with suppress(OSError):
        (folder / name).unlink(missing_ok=True)
