"""`tally start`, and `tally` alone in a terminal: asks which job, then does what was chosen."""

from __future__ import annotations

import argparse
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli.common import folder_option, looks, terminal, units_option
from tally.cli.fault import CommandFault

if TYPE_CHECKING:
    from tally.cli.common import Commands, Looks
    from tally.formats import Units
    from tally.screens.start import Choice


def add(commands: Commands) -> None:
    start = commands.add_parser("start", help="choose a job on a screen; `tally` alone does the same")
    folder_option(start)
    units_option(start)
    start.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    if not terminal():
        raise CommandFault("the start screen needs a terminal; `tally --help` lists the commands")
    ours = looks(options.units)
    said = ours.said
    from tally.record.fault import RecordFault
    from tally.record.folder import sessions, sessions_folder
    from tally.screens.start import StartApp

    folder = sessions_folder(options.folder)
    while True:
        app = StartApp(sessions(folder), folder, units=ours.units, theme=ours.theme, keymap=ours.keymap, said=said)
        choice = app.run()
        if choice is None:
            return app.return_code or 0
        ours = replace(ours, theme=choice.theme)
        try:
            code, said = _done(choice, folder, ours)
        except (CommandFault, RecordFault) as fault:
            code, said = None, str(fault)
        if code is not None:
            return code


def _done(choice: Choice, folder: Path, ours: Looks) -> tuple[int | None, str]:
    """The exit code, or None where the start screen comes back, saying the words beside it."""
    from tally.cli import demo, replay, run, watch

    if choice.what == "demonstration":
        return demo.demonstrated(folder, ours), ""
    assert choice.path is not None
    match choice.what:
        case "record":
            return run.recorded(choice.path, partial(run.begun, choice.path, folder), ours), ""
        case "go on":
            return run.recorded(choice.path, partial(run.taken_up, choice.path), ours), ""
        case "watch":
            watch.watched(choice.path, ours)
            return None, ""
        case "replay":
            replay.replayed(choice.path, ours)
            return None, ""
    return None, _report(choice.path, ours.units)


def _report(path: Path, units: Units | None) -> str:
    """Writes a report beside its session, under a name that is still free."""
    from tally.cli.report import SessionPaper
    from tally.live.loading import open_session

    try:
        beside = SessionPaper(path).write("pdf", units or open_session(path).state.plan.job.units)
    except CommandFault as fault:
        raise CommandFault(f"the report was not written: {fault}") from fault
    return f"The report was written to {beside}"
