"""`tally meter calibrate`: a meter against a bucket of known volume, in three runs or more."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli.fault import CommandFault
from tally.cli.meter import options as given

if TYPE_CHECKING:
    from tally.cli.common import Commands
    from tally.cli.meter.counting import Counting
    from tally.cli.meter.verdict import Result, Run

REFUSED = 1
"""Exit code where the runs stray too far to be taken."""
MOST_RUNS = 20
_ABOUT = """\
Bucket test. Put a bucket or tank of known volume under the hose (weighed, or struck level at a mark), pump into it at
the rate of the job, and type what is in it. At least three runs, each of 20 s or more; with the fluid of the job if
you can, since water and grout may read differently. Answers may come from a file or another program as well: an empty
line when a run may begin, its true volume when it is done.

Any meter that gives a total, a count or a rate: of lines, pulses, a pump's strokes (--stroke-volume; their efficiency
comes of it), a current (--at-4, --at-20), Modbus (--address, --type, --units), or one of a plan (--plan).

Wet cement burns: gloves and goggles. Bleed the line before you break it."""
_RUN = "TRUE=COUNTED"
_COUNTED = {"pulses": "pulses", "pulse": "pulses", "p": "pulses", "strokes": "strokes", "stroke": "strokes"}


def add(commands: Commands) -> None:
    calibrate = commands.add_parser(
        "calibrate",
        help="bucket test: the meter's factor, its spread, and whether to take it",
        description=_ABOUT,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    given.port_options(calibrate)
    given.reading_options(calibrate)
    given.shown_option(calibrate)
    calibrate.add_argument("--runs", type=_runs, default=3, help="how many (default and least 3)")
    calibrate.add_argument("--run", action="append", default=[], metavar=_RUN,
                           help='made by eye: "20.05 L=1973 pulses", "20 L=20.3 L" or "20 L=17 strokes"')  # fmt: skip
    calibrate.add_argument("--volume", metavar="VOLUME", help="of the bucket; an empty answer then means that")
    calibrate.add_argument("--bucket-error", type=_share, default=0.005, metavar="SHARE",
                           help='what the bucket\'s own volume may be off (default "0.5 %%")')  # fmt: skip
    calibrate.add_argument("--limit", type=_share, default=None, metavar="SHARE",
                           help='largest spread that is taken (default "1 %%", common practice)')  # fmt: skip
    calibrate.add_argument("--save", type=Path, metavar="FILE.toml", help="keep the result as lines for the plan")
    calibrate.add_argument("--session", type=Path, metavar="SESSION.jsonl",
                           help="enter the result into this session too, where nobody records it now")  # fmt: skip
    calibrate.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    from tally.cli.meter import verdict

    options.correction, options.planned = 1.0, {}
    if options.save is not None and options.save.exists():
        raise CommandFault(f"{options.save} is there already, and nothing is written over; give --save another name")
    if options.run:
        result = _by_eye(options)
    elif options.port is not None or options.plan is not None:
        result = _on_the_port(options)
    else:
        raise CommandFault('name the meter\'s port, a plan, or give runs made by eye: --run "20.05 L=1973 pulses"')
    print("\n".join(verdict.words(result)))
    table = verdict.for_the_plan(result, options)
    print("\n" + table)
    if options.save is not None:
        _save(options.save, table)
    if options.session is not None:
        from tally.cli.meter.entering import entered

        print(entered(options.session, result))
    return 0 if result.accepted else REFUSED


def _save(path: Path, text: str) -> None:
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except OSError as error:
        raise CommandFault(f"the result was not saved: {path}: {error.strerror}; it stands above") from error
    print(f"saved in {path}")


# --- runs ------------------------------------------------------------------------------------------------------------


def _by_eye(options: argparse.Namespace) -> Result:
    from tally.cli.meter.verdict import Run, result

    runs, kinds = [], set()
    for text in options.run:
        true, sign, counted = text.partition("=")
        if not sign:
            raise CommandFault(f'--run: given {text!r}; accepted: "20.05 L=1973 pulses", "20.05 L=20.3 L"'
                               ' or "20.05 L=17 strokes"')  # fmt: skip
        number, _, word = counted.strip().partition(" ")
        if number and not word and number.isdecimal():
            raise CommandFault(f'--run: given {text!r}; say what {number} counts: "{number} pulses" or "{number} L"')
        kind = _COUNTED.get(word.strip().casefold(), "volume")
        count = _volume(options, counted, "--run") if kind == "volume" else _count(number)
        kinds.add(kind)
        runs.append(Run(count, _volume(options, true, "--run")))
    if len(kinds) > 1:
        raise CommandFault(f"--run: some runs give {' and some '.join(sorted(kinds))}; a meter shows one of them")
    if len(runs) < 3:
        raise CommandFault(f"--run: {len(runs)} given; a bucket test takes at least three")
    kind = kinds.pop()
    if kind == "strokes" and not options.stroke_volume:
        raise CommandFault('--run counts strokes: what does one sweep? --stroke-volume "1.2 L"')
    return result(options, runs, pulses=kind != "volume")


def _on_the_port(options: argparse.Namespace) -> Result:
    from tally.cli.meter.counting import Counting
    from tally.cli.meter.verdict import result

    if options.volume is not None:
        _volume(options, options.volume, "--volume")
    with Counting(options) as counting:
        print(f"reading {options.port}: {counting.words}")
        runs: list[Run] = []
        while len(runs) < options.runs:
            run = _run(options, counting, len(runs) + 1)
            if run is not None:
                runs.append(run)
        return result(options, runs, pulses=counting.pulses, tested=counting.tested)


def _run(options: argparse.Namespace, counting: Counting, number: int) -> Run | None:
    """One filled bucket; None where it does not count and is made again."""
    _answer(f"\nrun {number} of {options.runs}: bucket empty, pump stopped. Enter when ready ")
    counting.begin()
    print("  counting. Fill the bucket, stop the pump, then type what is in it; x to leave the run out")
    answer = _answer(f"  true volume{_usual(options)}: ")
    while (true_m3 := _true(options, answer)) is None and answer != "x":
        answer = _answer("  what is in the bucket, such as 20.05 L; x to leave the run out: ")
    run = counting.end(true_m3 or 0.0)
    if answer == "x":
        print("  left out")
        return None
    trouble = counting.trouble
    if trouble:
        print(f"  this run does not count: {trouble}")
        return None
    print(f"  {counting.run_words(run)}")
    return run


def _usual(options: argparse.Namespace) -> str:
    return f" (Enter for {options.volume})" if options.volume else ""


def _true(options: argparse.Namespace, answer: str) -> float | None:
    """The volume that was typed; None where it is none, which has then been told."""
    if answer == "x":
        return None
    try:
        return _volume(options, answer or options.volume or "", "the bucket")
    except CommandFault as fault:
        print(f"  {fault}")
        return None


def _answer(question: str) -> str:
    print(question, end="", flush=True)
    line = sys.stdin.readline()
    if not line:
        raise CommandFault("the answers ended before the runs did; nothing was saved")
    if not sys.stdin.isatty():
        print()  # what was typed does not show where it came from a program
    return line.strip()


def _volume(options: argparse.Namespace, text: str, what: str) -> float:
    from tally import units
    from tally.job.view.quantity import Kind

    try:
        value = units.quantity(text.strip(), Kind.VOLUME, gallon=options.gallons)
    except units.UnitFault as fault:
        raise CommandFault(f"{what}: {fault}") from fault
    if value <= 0:
        raise CommandFault(f"{what}: given {text.strip()}; accepted: more than nothing")
    return value


def _count(text: str) -> float:
    number = text.replace(",", "")
    if not number.isdecimal() or int(number) == 0:
        raise CommandFault(f"--run: given a count of {text}; a whole number above zero is accepted")
    return float(number)


def _runs(text: str) -> int:
    if not text.isdecimal() or not 3 <= int(text) <= MOST_RUNS:
        raise argparse.ArgumentTypeError(f"given {text}; a whole number from 3 to {MOST_RUNS} is accepted")
    return int(text)


def _share(text: str) -> float:
    """ "0.5 %" as 0.005."""
    number = text.strip().removesuffix("%").strip()
    try:
        value = float(number) / 100 if text.strip().endswith("%") else -1.0
    except ValueError:
        value = -1.0
    if not 0 <= value <= 0.2:
        raise argparse.ArgumentTypeError(f'given {text}; a share such as "0.5 %" is accepted, at most 20 %')
    return value
