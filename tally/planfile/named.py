"""A file that a plan names: by its whole path, beside the plan file, or in the working folder."""

from __future__ import annotations

from pathlib import Path

from tally.formats import plain


def located(name: str | Path, folder: Path) -> Path | None:
    """The file in `folder`, that of the plan, else in the working folder; a whole path as it is. None where none is."""
    return next((path for path in _places(name, folder) if _is_file(path)), None)


def nowhere(name: str | Path, folder: Path) -> str:
    """What is said of a file that is not there: where it was looked for."""
    looked = " and for ".join(dict.fromkeys(plain(str(path.absolute())) for path in _places(name, folder)))
    return f"{plain(str(name))}, which is no file: looked for {looked}"


def lasting(name: str, folder: Path) -> str:
    """What a plan in `folder` calls the file that is `name` from the working folder, so that it is found from any."""
    if Path(name).is_absolute():
        return name
    file, home = Path(name).resolve(), folder.resolve()
    return file.relative_to(home).as_posix() if file.is_relative_to(home) else str(file)


def _places(name: str | Path, folder: Path) -> tuple[Path, Path]:
    return folder / name, Path(name)


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # a name that is longer than any may be
        return False
