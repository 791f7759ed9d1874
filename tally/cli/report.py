"""`tally report`: the day as a document."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from tally import __version__
from tally.cli.common import units_option
from tally.cli.fault import CommandFault

if TYPE_CHECKING:
    from tally.cli.common import Commands
    from tally.formats import Units


def add(commands: Commands) -> None:
    report = commands.add_parser("report", help="the day as Markdown")
    report.add_argument("file", type=Path, metavar="SESSION.jsonl")
    report.add_argument("-o", "--output", type=Path, metavar="FILE", help="instead of standard output")
    units_option(report)
    report.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    text = reported(options.file, options.units)
    if options.output is None:
        sys.stdout.write(text)
        return 0
    if options.output.suffix.lower() == ".jsonl" or options.output.resolve() == options.file.resolve():
        raise CommandFault(f"the report was not written: {options.output} is named like a session; name it .md")
    try:
        options.output.write_text(text, encoding="utf-8", newline="\n")
    except OSError as error:
        raise CommandFault(
            f"the report was not written: {options.output}: {error.strerror}; choose another file"
        ) from error
    print(f"written to {options.output}")
    return 0


def reported(path: Path, units: Units | None) -> str:
    """The day as Markdown."""
    from tally.job.alarms.replay import disagreements
    from tally.job.view.report import report
    from tally.live.loading import entries, open_session
    from tally.report.markdown import markdown

    opened = open_session(path)
    view = report(
        opened.state,
        digest=opened.extent.chain,
        program=__version__,
        problems=opened.problems,
        disagreements=disagreements(entries(path)),
    )
    return markdown(view, units or opened.state.plan.job.units)
