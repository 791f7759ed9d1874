"""`tally report`: the day as a document."""

from __future__ import annotations

import argparse
import gc
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from tally import __version__
from tally.cli.common import units_option
from tally.cli.fault import CommandFault

if TYPE_CHECKING:
    from tally.cli.common import Commands
    from tally.formats import Units
    from tally.job.view.report import ReportView
    from tally.live.loading import Opened

Format = Literal["md", "pdf", "csv", "json"]
SUFFIXES: dict[str, Format] = {".md": "md", ".pdf": "pdf", ".csv": "csv", ".json": "json"}


def add(commands: Commands) -> None:
    report = commands.add_parser(
        "report",
        help="the day as PDF, Markdown, CSV tables or JSON",
        description="Writes the report of a session, or of one day of it: PDF to sign, Markdown to read, CSV and JSON"
        " for other programs (SI, the unit in every name).",
        epilog="examples: tally report day.jsonl -o day.pdf | tally report day.jsonl -o day.csv (writes day-joints.csv,"
        " day-batches.csv ...) | tally report day.jsonl --day 2026-05-20",
    )
    report.add_argument("file", type=Path, metavar="SESSION.jsonl")
    report.add_argument(
        "-o", "--output", type=Path, metavar="FILE", help="instead of standard output; its ending says the format"
    )
    report.add_argument("--format", choices=tuple(SUFFIXES.values()), help="whatever FILE is called; otherwise md")
    report.add_argument(
        "--day", type=_date, metavar="YYYY-MM-DD", help="one day of the session, by the job's own clock"
    )
    units_option(report)
    report.set_defaults(command=_command)


def _date(text: str) -> date:
    try:
        return datetime.strptime(text, "%Y-%m-%d").date()
    except ValueError:
        raise argparse.ArgumentTypeError(f"given {text!r}; accepted: a date such as 2026-05-20") from None


def _command(options: argparse.Namespace) -> int:
    with _uncollected():
        made = made_from(options.file, _format(options), options.units, options.day)
    if options.output is None:
        sys.stdout.flush()
        for content in made.values():
            sys.stdout.buffer.write(content)
        return 0
    _write(options.output, made)
    return 0


@contextmanager
def _uncollected() -> Iterator[None]:
    """A report refers to nothing that refers back to it; to look for such takes an eighth of the time."""
    collects = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collects:
            gc.enable()


def _format(options: argparse.Namespace) -> Format:
    """By --format, else by the file's ending. Refuses what could not be used, before any work is done."""
    output: Path | None = options.output
    if output is not None and (output.suffix.lower() == ".jsonl" or output.resolve() == options.file.resolve()):
        raise CommandFault(f"the report was not written: {output} is named like a session; name it .pdf or .md")
    ending = "" if output is None else output.suffix.lower()
    if ending not in ("", *SUFFIXES) and options.format is None:
        known = ", ".join(SUFFIXES)
        raise CommandFault(
            f"the report was not written: given {output}; accepted: a name that ends in {known}, or --format too"
        )
    form: Format = options.format or SUFFIXES.get(ending, "md")
    if output is None and form == "csv":
        raise CommandFault(
            "CSV is a file a table: give -o day.csv, and day-joints.csv, day-batches.csv ... are written"
        )
    if output is None and form == "pdf" and sys.stdout.isatty():
        raise CommandFault("a PDF is nothing for a terminal: give -o day.pdf")
    return form


@dataclass(frozen=True, slots=True)
class SessionPaper:
    """The report of one session's file, for a screen that shows it."""

    path: Path

    def told(self, units: Units) -> list[str]:
        from tally.report.told import told

        return told(_Read.of(self.path).view(), units)

    def ruled(self, units: Units) -> list[str]:
        from tally.report.ruled import looked_through

        return looked_through(_Read.of(self.path).view().rules, units)

    def write(self, form: Format, units: Units) -> Path:
        """Beside the session, under a name that is still free."""
        ((ending, content),) = made_from(self.path, form, units).items()
        beside, number = self.path.with_suffix(ending), 1
        while beside.exists():
            number += 1
            beside = self.path.with_name(f"{self.path.stem}-{number}{ending}")
        try:
            beside.write_bytes(content)
        except OSError as error:
            raise CommandFault(f"{beside}: {error.strerror}") from error
        return beside


def made_from(path: Path, form: Format, units: Units | None, day: date | None = None) -> dict[str, bytes]:
    """The report in a format: endings of file names to what belongs into each."""
    if form == "pdf":
        return {".pdf": _printed(path, units, day)}
    from tally.report.document import document

    read = _Read.of(path, day)
    return document(read.view(), form, units or read.units)


def _printed(path: Path, units: Units | None, day: date | None) -> bytes:
    from tally.report.draughtsman import Draughtsman

    with Draughtsman() as draughtsman:  # gets ready while the session is read, and draws while the view is made
        read = _Read.of(path, day)
        from tally.job.view.charted import charts

        draughtsman.ask(charts(read.opened.state), units or read.units)
        from tally.report.pdf import pdf

        return pdf(read.view(), units or read.units, draughtsman.drawings())


@dataclass(frozen=True, slots=True)
class _Read:
    """A session as it was read, or one day of it."""

    opened: Opened
    disagreements: list[str]
    since: datetime | None

    @classmethod
    def of(cls, path: Path, day: date | None = None) -> _Read:
        from tally.live.loading import open_checked

        opened, disagreements = open_checked(path)
        opened, since = (opened, None) if day is None else _of_day(opened, day)
        return cls(opened, disagreements, since)

    @property
    def units(self) -> Units:
        return self.opened.state.plan.job.units

    def view(self) -> ReportView:
        from tally.job.view.report import report

        return report(
            self.opened.state,
            digest=self.opened.extent.chain,
            program=__version__,
            problems=self.opened.problems,
            disagreements=self.disagreements,
            since=self.since,
        )


def _of_day(opened: Opened, day: date) -> tuple[Opened, datetime]:
    """What the session came to by the end of a day, and when that day began."""
    from tally import formats
    from tally.live.loading import open_session

    zone = opened.state.plan.job.time_zone
    begins, ends = formats.day_span(day, zone)
    first, last = opened.state.entries[0].entry.at, opened.state.at
    if last < begins or first >= ends:
        days = f"{formats.day(first, zone)} to {formats.day(last, zone)}"
        raise CommandFault(f"no entry is of {day}: the session runs from {days}")
    return open_session(opened.path, until=ends), begins


def _write(output: Path, made: dict[str, bytes]) -> None:
    """One document goes where it was told to; several stand beside each other, named after it."""
    files = {output: next(iter(made.values()))}
    if len(made) > 1:
        files = {output.with_name(output.stem + ending): content for ending, content in made.items()}
    for file, content in files.items():
        try:
            file.write_bytes(content)
        except OSError as error:
            raise CommandFault(f"the report was not written: {file}: {error.strerror}; choose another file") from error
    print(f"written to {', '.join(map(str, files))}" if len(files) == 1 else _told(list(files)))


def _told(files: list[Path]) -> str:
    return "written to " + "\n           ".join(map(str, files))
