"""`tally replay --from-raw`: the meter's bytes read again, and what would have changed."""

from __future__ import annotations

import argparse
import math
from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli.common import shown
from tally.cli.fault import CommandFault

if TYPE_CHECKING:
    from collections.abc import Callable

    from tally.job.wired import MeterPlan
    from tally.live.loading import Loaded
    from tally.live.reread import Reread

AS_PLANNED = "as the plan says"
DIFFERS = 1
"""Exit code where nothing was asked to change and the record still does not come out again."""


def add_options(replay: argparse.ArgumentParser) -> None:
    raw = replay.add_argument_group(
        "from the raw bytes", "decoded again from the log beside the session; always as lines"
    )
    raw.add_argument("--from-raw", action="store_true", help="read what the meter sent once more, and compare")
    raw.add_argument("--raw", type=Path, metavar="FILE.raw", help="instead of the log beside the session")
    raw.add_argument("--pattern", help="another pattern for the lines, such as '(?P<total>[0-9.]+) L'")
    raw.add_argument("--pattern-units", metavar="NAME=UNIT,…", default="", help="its units, such as total=L,rate=L/min")
    raw.add_argument("--pulse-is", metavar="K", help='another K: "98.5 pulses/L" or "0.0102 L/pulse"')
    raw.add_argument("--gallons", choices=("US", "imperial"), help="which ones, where a unit only says gal")
    raw.add_argument("--scale", type=_scale, help="each volume times this, such as 1.02")


def told(options: argparse.Namespace, loaded: Loaded) -> int:
    """Prints what the bytes come to now, beside what was recorded."""
    from tally.job import fold
    from tally.job.supposition import Supposition, against_recorded, supposed
    from tally.live.reread import readings, reread
    from tally.record.raw_log import raw_log_path, read_raw
    from tally.report.reread import alarms_words, volumes_words
    from tally.report.supposed import supposition_words

    if loaded.state.plan.meter is None:
        raise CommandFault("this job had no meter: its volumes were typed, and there are no bytes to read again")
    path = options.raw or raw_log_path(options.file)
    if not path.is_file():
        raise CommandFault(f"{path}: there is no raw log; name it with --raw")
    change, words = _change(options)
    units = shown(options, loaded.state.plan)
    found = reread(loaded.entries, read_raw(path), change)
    what = Supposition(
        allowance_share=options.allowance,
        spread_share=options.spread,
        tolerance_share=options.tolerance,
        meter_factor=options.k_factor if options.k_factor is not None else options.scale,
    )
    again = tuple(supposed(found.entries, what))
    state, recorded = fold.folded(again), readings(loaded.entries)
    agrees = found.agrees(loaded.entries)
    words = " and ".join(filter(None, [words, supposition_words(what, units)])) or AS_PLANNED
    print(f"{path.name} read again: {words}; the files are as they were")
    print(_lines_words(found))
    print(f"{found.readings} readings{', as recorded' if agrees else f' (recorded {recorded})'}")
    print(*volumes_words(loaded.state, state, units), sep="\n")
    print(*alarms_words(against_recorded(loaded.entries, again), loaded.state, units), sep="\n")
    return 0 if agrees or words != AS_PLANNED else DIFFERS


def _lines_words(found: Reread) -> str:
    from tally.formats import plain

    rows = [f"{found.chunks} pieces, {found.lines} lines read, {found.unread} not understood"]
    rows += [f"    {plain(trouble.text)}  ({trouble.why})" for trouble in found.troubles]
    return "\n".join(rows)


def _change(options: argparse.Namespace) -> tuple[Callable[[MeterPlan], MeterPlan], str]:
    """What becomes of each planned meter, and that in words."""
    from tally.cli.meter import wiring

    if options.scale is not None and options.k_factor is not None:
        raise CommandFault("--scale and --k-factor say the same in two ways: give one of them")
    said = ""
    update: dict[str, object] = {}
    if options.pattern is not None:
        asked = argparse.Namespace(baud=9600, k_factor=options.pulse_is, gallons=options.gallons, port="none")
        meter = wiring.meter(asked, options.pattern, wiring.named_units(options.pattern_units))
        wiring.dialect(meter)  # refused before anything is read
        update = {name: getattr(meter, name) for name in ("pattern", "factors", "registers", "loop")}
        said = "another pattern"
    elif options.pulse_is is not None:
        said = f"K {options.pulse_is}"

    def change(meter: MeterPlan) -> MeterPlan:
        if options.pattern is None and options.pulse_is is not None:
            if "pulses" not in meter.factors:
                raise CommandFault("--pulse-is: this meter counts no pulses; --scale changes a totaliser")
            volume_m3 = wiring.pulse_m3(options.pulse_is, options.gallons, "--pulse-is")
            return meter.model_copy(update={"factors": {**meter.factors, "pulses": volume_m3}})
        return meter.model_copy(update=update)

    return change, said


def _scale(text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not 0.1 <= value <= 10:
        raise argparse.ArgumentTypeError(f"given {text}; a number from 0.1 to 10 is accepted")
    return value
