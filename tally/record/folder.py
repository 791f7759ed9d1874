"""Where sessions live, and what they are called."""

import os
import re
import unicodedata
from datetime import UTC, datetime
from pathlib import Path

from platformdirs import user_data_path

from tally.record.fault import RecordFault, fault
from tally.record.similar import SUFFIX
from tally.record.writer import fsync_folder

_MOST_LETTERS = 60
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}(?=-)")


def sessions_folder(explicit: Path | None = None) -> Path:
    """The folder that was asked for, else `TALLY_HOME`, else the user's own; it is there on return."""
    home = os.environ.get("TALLY_HOME", "").strip()
    folder = explicit or (Path(home) if home else user_data_path("tally", appauthor=False) / "sessions")
    try:
        folder = folder.expanduser()
        made = [each for each in (folder, *folder.parents) if not each.exists()]
        folder.mkdir(parents=True, exist_ok=True)
        for each in made:
            fsync_folder(each.parent)  # what is saved in it must not go with it
    except FileExistsError as error:
        raise RecordFault(f"sessions cannot be kept in {folder}: it is a file; name a folder") from error
    except OSError as error:
        raise fault("cannot make the folder for sessions", folder, error) from error
    except (ValueError, RuntimeError) as error:  # a path with a zero in it; a home that nobody has
        raise RecordFault(f"sessions cannot be kept in {str(folder)!r}: {error}; name a folder") from error
    return folder


def new_session_path(folder: Path, job_name: str, at: datetime) -> Path:
    """A name that is still free, such as `2026-06-01-hill-farm-well.jsonl`; a later one of that day gets -2, -3."""
    stem = f"{at.date().isoformat()}-{slug(job_name)}"
    path, number = folder / (stem + SUFFIX), 1
    while os.path.lexists(path):
        number += 1
        path = folder / f"{stem}-{number}{SUFFIX}"
    return path


def slug(text: str) -> str:
    """The text in small letters a to z, digits and single hyphens: a name that any file system and any mail carries.

    Other scripts are left out, since some sticks and programs spoil them; the job's full name stands in the file.
    """
    plain = unicodedata.normalize("NFKD", text[: 10 * _MOST_LETTERS]).casefold()
    bare = "".join(character for character in plain if not unicodedata.combining(character))
    return re.sub(r"[^a-z0-9]+", "-", bare)[:_MOST_LETTERS].strip("-") or "job"


def sessions(folder: Path) -> list[Path]:
    """The session files of a folder, newest first: by the day in the name, then by the last entry."""
    try:
        found = [path for path in folder.iterdir() if path.suffix == SUFFIX and not path.name.startswith(".")]
    except FileNotFoundError:
        return []
    except OSError as error:
        raise fault("cannot list", folder, error) from error
    return [path for _, path in sorted(((_age(path), path) for path in found if path.is_file()), reverse=True)]


def _age(path: Path) -> tuple[str, int]:
    """What sorts a session among others."""
    try:
        written_ns = path.stat().st_mtime_ns
        day = datetime.fromtimestamp(written_ns / 1e9, UTC).date().isoformat()
    except (OSError, ValueError, OverflowError):
        written_ns, day = 0, ""
    dated = _DATE.match(path.name)
    return dated[0] if dated else day, written_ns
