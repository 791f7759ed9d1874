"""`tally run`: a job recorded, or gone on with."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli.common import folder_option, looks, read_plan, terminal, units_option
from tally.cli.fault import CommandFault
from tally.cli.opening import NOTHING, shown

if TYPE_CHECKING:
    from tally.cli.common import Commands, Looks
    from tally.job.plan import Plan
    from tally.live.mirror import Mirror
    from tally.live.recorder import Recorder
    from tally.screens.places import Work
    from tally.screens.preparing import Preparation

LATELY = timedelta(days=2)
"""A job that nobody went on with for longer is not the one that was cut off."""


def add(commands: Commands) -> None:
    run = commands.add_parser(
        "run",
        help="record a job: from a plan, or go on with a session",
        description="Records a job: a new one from a plan, or goes on with a session.",
    )
    run.add_argument("file", nargs="?", type=Path, metavar="PLAN.toml or SESSION.jsonl",
                     help="without it, the newest session that is not signed off")  # fmt: skip
    run.add_argument("--port", help="the meter's port, where it differs from the plan")
    run.add_argument("--mirror", type=Path, metavar="FOLDER",
                     help="a folder on another disk, such as a stick, where a copy is kept up to date")  # fmt: skip
    run.add_argument("--new", action="store_true",
                     help="a second session of a job of which one was left open within two days")  # fmt: skip
    folder_option(run)
    units_option(run)
    run.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    if not terminal():
        raise CommandFault("recording needs a terminal: open one and give the command there, nothing piped in or out")
    return recorded(options.file, partial(_recorder, options), looks(options.units), options.mirror)


def _recorder(options: argparse.Namespace, preparation: Preparation) -> Recorder:
    """What the command names, opened."""
    from tally.record.folder import sessions_folder

    folder = sessions_folder(options.folder)
    path = options.file or _newest(folder, preparation)
    own = folder if path.suffix.lower() == ".toml" else path.parent
    if options.mirror and options.mirror.expanduser().resolve() == own.resolve():
        raise CommandFault(f"--mirror names {own}, where the session itself is; name a folder on another disk")
    if path.suffix.lower() == ".toml":
        return begun(path, folder, preparation, options.port, alone=not options.new)
    return taken_up(path, preparation, options.port)


def mirrored(recorder: Recorder, folder: Path) -> Mirror:
    """Has `recorder` keep a second copy in `folder`, which need not be there yet and is never made."""
    from tally.live.mirror import Mirror

    mirror = Mirror(folder.expanduser())
    recorder.copy_to(mirror)
    return mirror


def _copy_words(mirror: Mirror, path: Path) -> str:
    if not mirror.complete:
        return f"  copy       NOT COMPLETE in {mirror.folder}: {mirror.why or 'it is behind'}"
    try:
        same = mirror.folder.stat().st_dev == path.parent.stat().st_dev
    except OSError:  # pulled out already, whole
        same = False
    return f"  copy       {mirror.folder / path.name}{', on the same disk as the session' if same else ''}"


def _reading(path: Path | None) -> str:
    if path is None:
        return "looking for the session to go on with …"
    return f"{'reading the plan' if path.suffix.lower() == '.toml' else 'opening the session'} {path.name} …"


def begun(
    path: Path, folder: Path, preparation: Preparation, port: str | None = None, *, alone: bool = False
) -> Recorder:
    """A new session from the plan in `path`; with `alone` refused where one of the same job was left open."""
    preparation.step(_reading(path), path.name)
    plan = _with_port(read_plan(path), port)
    if alone:
        _refuse_a_second(plan, folder, preparation)
    preparation.step(f"opening a session for {plan.job.name} …")
    from tally.live.clock import SystemClock
    from tally.live.instruments import grout_meter
    from tally.live.recorder import Recorder

    with preparation.touching():
        return Recorder.opened(plan, folder, SystemClock(), grout_meter)


def taken_up(path: Path, preparation: Preparation, port: str | None = None) -> Recorder:
    """A session gone on with, its meter on another port where one is named."""
    preparation.step(_reading(path), path.name)
    from tally.job import intents as want
    from tally.live.clock import SystemClock
    from tally.live.instruments import grout_meter
    from tally.live.loading import open_session
    from tally.live.recorder import Recorder

    if port:
        _with_port(open_session(path, heed=preparation.heed).state.plan, port)  # refused before it is touched
    with preparation.touching():
        recorder = Recorder.resumed(path, SystemClock(), grout_meter, preparation.heed)
    if port:
        amended = _with_port(recorder.snapshot.state.plan, port)
        recorder.submit(want.AmendPlan(amended, f"the meter is on {port}"))
    return recorder


def recorded(
    path: Path | None, opened: Callable[[Preparation], Recorder], looks: Looks, copy_to: Path | None = None
) -> int:
    """The screens over what `opened` makes of `path`, recording until the crew leaves; a second copy in `copy_to`."""
    from tally.screens.opening import Frame

    recorder: Recorder | None = None
    mirror: Mirror | None = None

    @contextmanager
    def recording(preparation: Preparation) -> Iterator[Work]:
        nonlocal recorder, mirror
        recorder = opened(preparation)
        try:
            mirror = mirrored(recorder, copy_to) if copy_to else None
            recorder.start()
            from tally.cli.report import SessionPaper
            from tally.screens.places import Work  # takes its time, and the record runs meanwhile

            state = recorder.snapshot.state
            yield Work(
                recorder,
                units=looks.units or state.plan.job.units,
                place="casing" if state.string.landed_on is None else "grout",
                paperwork=SessionPaper(recorder.path),
            )
        finally:
            recorder.stop()

    code = shown(path.name if path else "the newest session", Frame(_reading(path)), recording, looks)
    if recorder is None:
        print(NOTHING)
    else:
        _tell(recorder, mirror)
    return code


def _tell(recorder: Recorder, mirror: Mirror | None) -> None:
    """Where it was saved, and what can be done with it."""
    if trouble := recorder.snapshot.trouble:
        print(f"tally: at the end not everything was saved: {trouble}", file=sys.stderr)
    print(
        f"Saved in {recorder.path}\n  go on      tally run {recorder.path}\n  report     tally report {recorder.path}"
    )
    if mirror is not None:
        print(_copy_words(mirror, recorder.path))


def _with_port(plan: Plan, port: str | None) -> Plan:
    if port is None:
        return plan
    if plan.meter is None:
        raise CommandFault("--port was given, but the plan has no [meter]; add one to the plan file")
    old = plan.meter.port
    instruments = tuple(one.model_copy(update={"port": port}) if one.port == old else one for one in plan.instruments)
    return plan.model_copy(update={"meter": plan.meter.model_copy(update={"port": port}), "instruments": instruments})


def _refuse_a_second(plan: Plan, folder: Path, preparation: Preparation) -> None:
    """After a power cut the same command is soon given again: a job's rest must not go into a record of its own."""
    from tally import formats
    from tally.live.loading import open_session
    from tally.record.fault import RecordFault
    from tally.record.folder import sessions, slug

    for path in sessions(folder):
        if slug(plan.job.name) not in path.stem:
            continue
        preparation.step(f"looking at {path.name} …")
        try:
            touched = datetime.fromtimestamp(path.stat().st_mtime, UTC)
            if datetime.now(UTC) - touched > LATELY:
                continue  # only what may be the one is opened: that takes its time
            state = open_session(path, heed=preparation.heed).state
        except (OSError, RecordFault):
            continue
        entered = state.string.joints or state.grout.batches or state.grout.stages
        lately = datetime.now(UTC) - state.at < LATELY
        if state.plan.job.name == plan.job.name and entered and lately and not state.closed:
            zone = state.plan.job.time_zone
            last = f"{formats.day(state.at, zone)} {formats.clock(state.at, zone)}"
            raise CommandFault(
                f"{plan.job.name} is open in {path}, last entry {last}\n"
                f"  go on      tally run {path}\n"
                "  or begin a second session of it with --new"
            )


def _newest(folder: Path, preparation: Preparation) -> Path:
    from tally.live.loading import open_session
    from tally.record.fault import RecordFault
    from tally.record.folder import sessions
    from tally.record.reader import Line, iterate

    for path in sessions(folder):
        preparation.step(f"looking at {path.name} …")
        try:
            begun = any(isinstance(found, Line) for found in iterate(path))
        except RecordFault:
            continue  # nothing was ever saved in it, or it is no session
        if begun and not open_session(path, heed=preparation.heed).state.closed:
            return path
    raise CommandFault(
        f"no session to go on with in {folder}; begin one with `tally run PLAN.toml`"
        " (`tally plan --example > plan.toml` writes a plan to change)"
    )
