"""Which file was meant by a name that none has."""

from __future__ import annotations

import os
from difflib import get_close_matches
from pathlib import Path

SUFFIX = ".jsonl"
"""Of every session's file."""
_MOST = 3
_NEAR = 0.75
"""Share of letters in common: two jobs of one day have the day's."""
_PART = 4
"""Letters from which on a part of a name tells one from others."""


def meant(path: Path, suffix: str = SUFFIX) -> str:
    """ "did you mean …?" with the files of that folder whose names are nearest; empty where none is near."""
    try:
        names = [entry.name for entry in os.scandir(path.parent) if entry.name.endswith(suffix) and entry.is_file()]
    except (OSError, ValueError):
        return ""
    named = {name.casefold(): name for name in sorted(names) if name.isprintable() and not name.startswith(".")}
    asked = path.name.casefold()
    stem = asked.removesuffix(suffix)
    part = [each for each in named if len(stem) >= _PART and stem in each]
    near = list(dict.fromkeys([*get_close_matches(asked, named, _MOST, _NEAR), *part]))[:_MOST]
    told = " or ".join(str(path.with_name(named[each])) for each in near)
    return f"did you mean {told}?" if told else ""
