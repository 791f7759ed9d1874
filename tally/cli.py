"""The commands. The only place where the rooms are wired together; each command loads only what it needs."""

from __future__ import annotations

import argparse
import io
import json
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from tally import __version__

if TYPE_CHECKING:
    from tally.formats import Units
    from tally.job.plan import Plan

WRONG = 2
"""Exit code for what the user has to mend."""


class CommandFault(Exception):
    """A command cannot do what was asked; the text says why and what to do next."""


def main(arguments: Sequence[str] | None = None) -> int:
    _set_streams()
    options = _parser().parse_args(arguments)
    from tally.record.fault import RecordFault

    try:
        code = int(options.command(options))
        sys.stdout.flush()
    except (CommandFault, RecordFault) as fault:
        print(f"tally: {fault}", file=sys.stderr)
        return WRONG
    except BrokenPipeError:
        # Whoever read the output has had enough; nothing may be left to be written when the program ends.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    return code


def _set_streams() -> None:
    """UTF-8 with plain line ends into files and pipes on every system; no letter that a terminal lacks is a fault."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        if sys.stdout.isatty():
            sys.stdout.reconfigure(errors="replace")
        else:
            sys.stdout.reconfigure(encoding="utf-8", newline="\n")
    if isinstance(sys.stderr, io.TextIOWrapper):
        sys.stderr.reconfigure(errors="backslashreplace")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="tally",
        description="The casing and grouting record that a water-well crew keeps beside the rig.",
        epilog="A number here is an estimate. The local code, the makers' ratings and the licensed contractor decide.",
    )
    parser.add_argument("--version", action="version", version=f"tally {__version__}")
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")

    demo = commands.add_parser("demo", help="a live job on a simulated meter; nothing needs to be set up")
    demo.add_argument("--speed", type=_speed, default=20.0, help="times the wall clock, 1 to 60 (default 20)")
    _folder(demo)
    demo.set_defaults(command=_demo)

    plan = commands.add_parser("plan", help="work a plan file out: volumes, mixes, loads, margins, returns")
    plan.add_argument("file", nargs="?", type=Path, metavar="PLAN.toml")
    plan.add_argument("--json", action="store_true", help="the same in SI, with the unit in every key")
    plan.add_argument("--example", action="store_true", help="print a complete plan to copy and change")
    _units(plan)
    plan.set_defaults(command=_plan)

    run = commands.add_parser("run", help="record a job: from a plan, or go on with a session")
    run.add_argument("file", nargs="?", type=Path, metavar="PLAN.toml or SESSION.jsonl",
                     help="without it, the newest session that is not signed off")  # fmt: skip
    run.add_argument("--port", help="the meter's port, where it differs from the plan")
    _folder(run)
    _units(run)
    run.set_defaults(command=_run)

    replay = commands.add_parser("replay", help="show a session again, in the same screens")
    replay.add_argument("file", type=Path, metavar="SESSION.jsonl")
    replay.add_argument("--text", action="store_true", help="as lines, without screens (so without a terminal too)")
    _units(replay)
    replay.set_defaults(command=_replay)

    report = commands.add_parser("report", help="the day as Markdown")
    report.add_argument("file", type=Path, metavar="SESSION.jsonl")
    report.add_argument("-o", "--output", type=Path, metavar="FILE", help="instead of standard output")
    _units(report)
    report.set_defaults(command=_report)

    check = commands.add_parser("check", help="whether a session file is whole: every line against its digest")
    check.add_argument("file", type=Path, metavar="SESSION.jsonl")
    check.add_argument("--digest", default="", metavar="HEX",
                       help="as a report or a copy shows it: whether the file still reaches it")  # fmt: skip
    check.set_defaults(command=_check)
    return parser


def _folder(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--folder", type=Path, help="where sessions live (else TALLY_HOME, else a folder of your own)")


def _units(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--units", choices=("metric", "us"), help="instead of those that the plan asks for")


def _speed(text: str) -> float:
    try:
        speed = float(text)
    except ValueError:
        speed = 0.0
    if not 1.0 <= speed <= 60.0:
        raise argparse.ArgumentTypeError(f"given {text}; a number from 1 to 60 is accepted")
    return speed


def _terminal() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty()


def _read_plan(path: Path) -> Plan:
    from tally.planfile import read

    found = read(path)
    if isinstance(found, list):
        head = f"{path} has {len(found)} mistake{'s' if len(found) > 1 else ''}; nothing was started:"
        raise CommandFault("\n  ".join([head, *map(str, found)]))
    return found


def _shown(options: argparse.Namespace, plan: Plan) -> Units:
    return options.units or plan.job.units


def _warm() -> None:
    """Loads the units registry while the first screen is read: it takes longer than the screen does."""
    import threading

    from tally import units

    threading.Thread(target=units.warm, name="units", daemon=True).start()


def _demo(options: argparse.Namespace) -> int:
    if not _terminal():
        raise CommandFault("the demonstration needs a terminal; `tally replay --text` shows a session without one")
    from tally.demo.demo import demonstration
    from tally.record.folder import sessions_folder
    from tally.screens.app import TallyApp

    folder = sessions_folder(options.folder) / "demo"
    with demonstration(sessions_folder(folder), options.speed) as (recorder, feed):
        _warm()
        TallyApp(feed, units=recorder.snapshot.state.plan.job.units, follow=True).run()
        path = recorder.path
    print(f"Recorded in {path}\n  see it again   tally replay {path}\n  its report     tally report {path}")
    return 0


def _plan(options: argparse.Namespace) -> int:
    from tally.planfile import example

    if options.example:
        print(example(), end="")
        return 0
    if options.file is None:
        raise CommandFault("name a plan file, or begin with `tally plan --example > plan.toml`")
    plan = _read_plan(options.file)
    from tally.job.view.planned import planned
    from tally.report import planned as told

    view = planned(plan)
    if options.json:
        print(json.dumps(told.as_json(view), indent=2, ensure_ascii=False, allow_nan=False))
    else:
        print(told.text(view, _shown(options, plan)))
    return 0


def _run(options: argparse.Namespace) -> int:
    if not _terminal():
        raise CommandFault("recording needs a terminal")
    from tally.job import intents as want
    from tally.live.clock import SystemClock
    from tally.live.instruments import grout_meter
    from tally.live.loading import open_session
    from tally.live.recorder import Recorder
    from tally.record.folder import sessions_folder

    folder = sessions_folder(options.folder)
    path = options.file or _newest(folder)
    if path.suffix.lower() == ".toml":
        plan = _with_port(_read_plan(path), options.port)
        recorder = Recorder.opened(plan, folder, SystemClock(), grout_meter)
    else:
        if options.port:
            _with_port(open_session(path).state.plan, options.port)  # refused before the session is touched
        recorder = Recorder.resumed(path, SystemClock(), grout_meter)
        if options.port:
            amended = _with_port(recorder.snapshot.state.plan, options.port)
            recorder.submit(want.AmendPlan(amended, f"the meter is on {options.port}"))
    recorder.start()
    try:
        from tally.screens.app import TallyApp  # takes its time, and the record runs meanwhile

        _warm()
        state = recorder.snapshot.state
        place = "casing" if state.string.landed_on is None else "grout"
        app = TallyApp(recorder, units=_shown(options, state.plan), place=place)
        app.run()
    finally:
        recorder.stop()
    if trouble := recorder.snapshot.trouble:
        print(f"tally: at the end not everything was saved: {trouble}", file=sys.stderr)
    print(
        f"Saved in {recorder.path}\n  go on      tally run {recorder.path}\n  report     tally report {recorder.path}"
    )
    return app.return_code or 0


def _with_port(plan: Plan, port: str | None) -> Plan:
    if port is None:
        return plan
    if plan.meter is None:
        raise CommandFault("--port was given, but the plan has no [meter]; add one to the plan file")
    return plan.model_copy(update={"meter": plan.meter.model_copy(update={"port": port})})


def _newest(folder: Path) -> Path:
    from tally.live.loading import open_session
    from tally.record.fault import RecordFault
    from tally.record.folder import sessions
    from tally.record.reader import Line, iterate

    for path in sessions(folder):
        try:
            begun = any(isinstance(found, Line) for found in iterate(path))
        except RecordFault:
            continue  # nothing was ever saved in it, or it is no session
        if begun and not open_session(path).state.closed:
            return path
    raise CommandFault(
        f"no session to go on with in {folder}; begin one with `tally run PLAN.toml`"
        " (`tally plan --example > plan.toml` writes a plan to change)"
    )


def _replay(options: argparse.Namespace) -> int:
    from tally.live.loading import load

    loaded = load(options.file)
    units = _shown(options, loaded.state.plan)
    if options.text or not _terminal():
        from tally.report.replay import retold

        text, agrees = retold(loaded.entries, loaded.problems, units)
        print(text)
        return 0 if agrees and not loaded.damaged else 1
    from tally.live.player import Player
    from tally.screens.app import TallyApp

    for problem in loaded.problems:
        print(f"tally: {problem}", file=sys.stderr)
    TallyApp(Player(loaded.entries, loaded.extent.chain), units=units, follow=True).run()
    return 0


def _report(options: argparse.Namespace) -> int:
    from tally.job.alarms.replay import disagreements
    from tally.job.view.report import report
    from tally.live.loading import entries, open_session
    from tally.report.markdown import markdown

    opened = open_session(options.file)
    view = report(
        opened.state,
        digest=opened.extent.chain,
        program=__version__,
        problems=opened.problems,
        disagreements=disagreements(entries(options.file)),
    )
    text = markdown(view, _shown(options, opened.state.plan))
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


def _check(options: argparse.Namespace) -> int:
    from tally.record.verify import verify

    verdict = verify(options.file, options.digest)
    for problem in verdict.problems:
        print(f"line {problem.line}: {problem.what}")
    print(f"{verdict.lines} lines, digest {verdict.chain}, {'whole' if verdict.whole else 'NOT WHOLE'}")
    if not options.digest:
        return 0 if verdict.whole else 1
    if verdict.reached is None:
        print("the digest given is never reached: the end was cut off, or it is of another session")
        return 1
    after = verdict.last - verdict.reached
    print(f"the digest given is reached at line {verdict.reached}, {f'{after} more follow' if after else 'the last'}")
    return 0 if verdict.whole else 1
