"""`tally replay`: a session shown again, as it was or as it would have been."""

from __future__ import annotations

import argparse
import math
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli import common, from_raw
from tally.cli.common import looks, terminal, units_option
from tally.cli.fault import CommandFault
from tally.cli.opening import shown

if TYPE_CHECKING:
    from tally.cli.common import Commands, Looks
    from tally.formats import Units
    from tally.job.events import Entry
    from tally.job.plan import Plan
    from tally.job.supposition import Supposition
    from tally.live.loading import Shelved
    from tally.live.player import Player
    from tally.screens.places import Work
    from tally.screens.preparing import Preparation

LEAST_FACTOR = 0.1
SAID_EVERY = 5_000


def add(commands: Commands) -> None:
    replay = commands.add_parser(
        "replay",
        help="show a session again, in the same screens",
        description="Shows a recorded session again, in the same screens; the file is not touched.",
    )
    replay.add_argument("file", type=Path, metavar="SESSION.jsonl")
    replay.add_argument("--text", action="store_true", help="as lines, without screens (so without a terminal too)")
    what_if = replay.add_argument_group("what if", "as the session would read; the file is not touched")
    what_if.add_argument("--allowance", type=_share(-0.9, 5.0), metavar="25%", help="another hole allowance")
    what_if.add_argument("--spread", type=_share(0.0, 2.0), metavar="20%", help="another spread of the allowance")
    what_if.add_argument("--tolerance", type=_share(0.0, 1.0), metavar="3%", help="another tolerance of the meter")
    what_if.add_argument("--k-factor", type=_factor, metavar="SET/TRUE",
                         help="pulses per litre as the meter was set and as they are, such as 50/48:"
                              " each metered litre then counts as 50/48 of one")  # fmt: skip
    from_raw.add_options(replay)
    units_option(replay)
    replay.set_defaults(command=_command)


def _command(options: argparse.Namespace) -> int:
    if options.from_raw or options.text or not terminal():
        return _lines(options)
    return replayed(options.file, looks(options.units), partial(_supposition, options))


def _lines(options: argparse.Namespace) -> int:
    from tally.live.loading import load, shelved
    from tally.report.replay import retold, supposed_retold

    if options.from_raw:
        return from_raw.told(options, load(options.file))
    loaded = shelved(options.file)
    units = common.shown(options, loaded.state.plan)
    if (what := _supposition(options, loaded.state.plan)) is not None:
        print(supposed_retold(loaded.entries, loaded.problems, what, units))
        return 1 if loaded.damaged else 0
    text, agrees = retold(loaded.entries, loaded.problems, units)
    print(text)
    return 0 if agrees and not loaded.damaged else 1


def replayed(path: Path, looks: Looks, supposing: Callable[[Plan], Supposition | None] | None = None) -> int:
    """The screens over a session that is past, as it was or as `supposing` has it; what is wrong in it is told last."""
    from tally.screens.opening import Frame

    problems: Sequence[str] = ()

    @contextmanager
    def playing(preparation: Preparation) -> Iterator[Work]:
        nonlocal problems
        from tally.live.loading import shelved

        loaded = shelved(path, heed=preparation.heed)
        plan, problems = loaded.state.plan, loaded.problems
        units = looks.units or plan.job.units
        player = _player(loaded, supposing(plan) if supposing else None, units, preparation)
        from tally.screens.places import Work

        yield Work(player, units=units, follow=True)

    try:
        return shown(path.name, Frame(f"reading {path.name} …", "REPLAY", entry=False), playing, looks)
    finally:
        for problem in problems:
            print(f"tally: {problem}", file=sys.stderr)


def _player(loaded: Shelved, what: Supposition | None, units: Units, preparation: Preparation) -> Player:
    from tally.live.player import Difference, Player

    if what is None:
        return Player(loaded.entries, loaded.extent.chain, survey=loaded.survey)
    from tally.job.supposition import against_recorded, supposed
    from tally.report.supposed import moved_words, supposition_words

    told = _told(supposed(loaded.entries, what), len(loaded.entries), preparation)
    altered, zone = tuple(told), loaded.state.plan.job.time_zone
    pairs = against_recorded(loaded.entries, altered)
    differences = [Difference(pair.place, moved_words(pair, zone)) for pair in pairs if pair.moved]
    return Player(altered, what_if=supposition_words(what, units), differences=differences)


def _told(entries: Iterator[Entry], count: int, preparation: Preparation) -> Iterator[Entry]:
    """The same; says how far it is, since a long day with its alarms may take a minute."""
    for place, entry in enumerate(entries):
        preparation.heed()
        if place % SAID_EVERY == 0:
            preparation.step(f"working the day out anew, entry {place} of {count} …")
        yield entry


def _supposition(options: argparse.Namespace, plan: Plan) -> Supposition | None:
    """What the options suppose; None where they suppose nothing."""
    from tally.job.supposition import Supposition

    what = Supposition(
        allowance_share=options.allowance,
        spread_share=options.spread,
        tolerance_share=options.tolerance,
        meter_factor=options.k_factor,
    )
    of_meter = what.tolerance_share is not None or what.meter_factor is not None
    if of_meter and plan.meter is None:
        raise CommandFault("--tolerance and --k-factor are of a meter, and this job had none: its volumes were typed")
    return None if what == Supposition() else what


def _share(low: float, high: float) -> Callable[[str], float]:
    def share(text: str) -> float:
        number, per_cent = text.strip().rstrip("%"), text.strip().endswith("%")
        value = _number(number) / 100
        if not per_cent or not low <= value <= high:
            words = f"given {text}; a share from {low * 100:g}% to {high * 100:g}% is accepted, such as 25%"
            raise argparse.ArgumentTypeError(words)
        return value

    return share


def _factor(text: str) -> float:
    set_to, _, true = text.partition("/")
    parts = _number(set_to), _number(true)
    if not all(part > 0 for part in parts) or not LEAST_FACTOR <= parts[0] / parts[1] <= 1 / LEAST_FACTOR:
        raise argparse.ArgumentTypeError(
            f"given {text}; two numbers such as 50/48 are accepted, neither more than ten times the other"
        )
    return parts[0] / parts[1]


def _number(text: str) -> float:
    """NaN for what is none."""
    try:
        value = float(text)
    except ValueError:
        return math.nan
    return value if math.isfinite(value) else math.nan
