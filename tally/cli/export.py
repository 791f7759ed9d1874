"""`tally export`: sessions as tables for an office."""

from __future__ import annotations

import argparse
import shutil
import sys
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from tally.cli.fault import CommandFault

if TYPE_CHECKING:
    from tally.cli.common import Commands
    from tally.office.table import Sink


def add(commands: Commands) -> None:
    export = commands.add_parser(
        "export",
        help="sessions as tables: jobs, joints, stages, samples, alarms",
        description="Writes sessions as tables: jobs, joints, stages, samples, alarms.",
    )
    export.add_argument("files", type=Path, nargs="+", metavar="SESSION.jsonl", help="or a folder: all that it holds")
    export.add_argument("-o", "--output", type=Path, required=True, metavar="FOLDER", help="a new or an empty folder")
    export.add_argument("--format", choices=("csv", "parquet"), default="csv", dest="kind",
                        help="csv (default): one file a table; parquet: parted by year and month")  # fmt: skip
    export.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    paths, folder = _paths(options.files), options.output
    partial = folder.with_name(folder.name + ".partial")
    _refuse(folder, partial)
    try:
        partial.mkdir(parents=True)
        sink = _sink(options.kind, partial)
        outcomes = Counter(_exported(path, sink) for path in paths)
        sink.close()
        if folder.exists():
            folder.rmdir()
        partial.rename(folder)
    except OSError as error:
        raise CommandFault(f"the export was not finished: {error}; what there is lies in {partial}") from error
    count = outcomes["whole"] + outcomes["damaged"]
    wrong = [f", {outcomes[outcome]} {outcome}" for outcome in ("damaged", "left out") if outcomes[outcome]]
    print(f"{count} session{'' if count == 1 else 's'} written to {folder}{''.join(wrong)}")
    return 1 if wrong else 0


def _paths(given: list[Path]) -> list[Path]:
    """Every session file, oldest first, so that one month follows the other."""
    from tally.record.folder import sessions

    found: list[Path] = []
    for path in given:
        within = sessions(path) if path.is_dir() else [path]
        if not within:
            raise CommandFault(f"there is no session in {path}; name a session file, or a folder that holds some")
        found += within
    return sorted(dict.fromkeys(found), key=lambda path: path.name)


def _refuse(folder: Path, partial: Path) -> None:
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise CommandFault(f"nothing was exported: {folder} is not an empty folder; name a new one")
    if partial.exists():
        raise CommandFault(f"nothing was exported: {partial} is left from an export that did not end; remove it first")


def _sink(kind: str, folder: Path) -> Sink:
    if kind == "csv":
        from tally.office.csv_files import CsvFiles

        return CsvFiles(folder)
    try:
        from tally.office.parquet import ParquetFiles
    except ImportError as error:
        shutil.rmtree(folder)
        raise CommandFault(
            "Parquet needs a library that is not here; `pip install 'tally[export]'` brings it, --format csv needs none"
        ) from error
    return ParquetFiles(folder)


def _exported(path: Path, sink: Sink) -> Literal["whole", "damaged", "left out"]:
    """How much of the session could be read; says what could not."""
    from tally.job.fold import NotAnOpening
    from tally.live.loading import Day
    from tally.office.export import export
    from tally.record.fault import RecordFault

    day = Day(path)
    try:
        export(day.entries(), sink, file=path.name, verdict=lambda: (day.extent.chain, len(day.problems)))
    except (RecordFault, NotAnOpening) as fault:
        print(f"tally: {path.name} is left out: {fault}", file=sys.stderr)
        return "left out"
    for problem in day.problems[:1]:
        more = f" (and {len(day.problems) - 1} more)" if len(day.problems) > 1 else ""
        print(f"tally: {path.name}: {problem}{more}", file=sys.stderr)
    return "damaged" if day.problems else "whole"
