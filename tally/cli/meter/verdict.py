"""What the runs of a bucket test come to: factor, spread, taken or not, and the lines for the plan."""

from __future__ import annotations

import argparse
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tally.cli.fault import CommandFault
from tally.engineering.bucket import SPREAD_LIMIT, BucketTest, bucket_test, tolerance

if TYPE_CHECKING:
    from collections.abc import Sequence

    from tally.formats import Units
    from tally.job.wired import Wired

L_M3 = 1e-3
COARSE = 200.0
"""Fewer pulses than this, and one more or less is half a per cent."""


@dataclass(frozen=True, slots=True)
class Run:
    """One filled bucket: what the meter counted (pulses, else m3), and what was in it."""

    counted: float
    true_m3: float
    seconds: float | None = None
    """How long the count moved; None for a run made by eye."""


@dataclass(frozen=True, slots=True)
class Tested:
    """The meter at the port: its pattern (none for the plain dialect) and units as text, and as it was read."""

    pattern: str
    units: dict[str, str]
    meter: Wired


@dataclass(frozen=True, slots=True)
class Result:
    """The test, how it was judged, and what was tested (None where the runs were made by eye)."""

    test: BucketTest
    runs: tuple[Run, ...]
    pulses: bool
    limit: float
    tolerance: float
    shown: Units
    tested: Tested | None = None
    stroke_m3: float | None = None
    """What a stroke sweeps, where strokes were counted."""

    @property
    def counted(self) -> str:
        """What one of the count is called."""
        return "strokes" if self.stroke_m3 else "pulses"

    @property
    def efficiency(self) -> float | None:
        """What a stroke truly delivers of what it sweeps; may be found above 1, which no pump does."""
        return None if self.stroke_m3 is None else 1.0 / (self.test.mean * self.stroke_m3)

    @property
    def accepted(self) -> bool:
        return self.test.spread <= self.limit and (self.efficiency is None or 0.1 <= self.efficiency <= 1.0)

    @property
    def tolerance_words(self) -> str:
        """Rounded up, so that it claims no more than was found."""
        return f"{math.ceil(self.tolerance * 1000 - 1e-9) / 10:g} %"

    @property
    def k_words(self) -> str:
        """As the plan takes it."""
        from tally.formats import GALLON_M3

        if self.shown == "us":
            return f"{self.test.mean * GALLON_M3:.6g} {self.counted}/US gal"
        return f"{self.test.mean * L_M3:.6g} {self.counted}/L"

    @property
    def efficiency_words(self) -> str:
        return f"{100 * (self.efficiency or 0.0):.4g} %"

    @property
    def correction(self) -> float:
        """True over shown, of a totaliser."""
        return 1.0 / self.test.mean


def result(options: argparse.Namespace, runs: Sequence[Run], *, pulses: bool, tested: Tested | None = None) -> Result:
    test = bucket_test([run.counted for run in runs], [run.true_m3 for run in runs])
    limit = SPREAD_LIMIT if options.limit is None else options.limit
    off = tolerance(test, options.bucket_error)
    return Result(test, tuple(runs), pulses, limit, off, options.shown, tested, _stroke_m3(options) if pulses else None)


def _stroke_m3(options: argparse.Namespace) -> float | None:
    from tally import units
    from tally.job.view.quantity import Kind

    if not options.stroke_volume:
        return None
    try:
        return units.quantity(options.stroke_volume, Kind.VOLUME, gallon=options.gallons)
    except units.UnitFault as fault:
        raise CommandFault(f"--stroke-volume: {fault}") from fault


def words(found: Result) -> list[str]:
    """The verdict, with what it rests on."""
    test, count = found.test, len(found.runs)
    one, unit = _unit(found)
    told = [f"\n{count} runs:"]
    told += [f"  {number}: {_run(found, run)}  {factor * one:.6g} {unit}".rstrip()
             for number, (run, factor) in enumerate(zip(found.runs, test.factors, strict=True), 1)]  # fmt: skip
    half = test.mean * test.mean_error
    low, high = ((test.mean + sign * half) * one for sign in (-1, 1))
    name = "K" if found.pulses else "shown over true"
    told.append(f"{name} {test.mean * one:.6g} {unit}".rstrip() + f" (95 % of the mean: {low:.6g} to {high:.6g})")
    told.append(f"spread {test.spread:.2%}, largest less smallest; standard deviation {test.deviation / test.mean:.2%}")
    if not found.pulses:
        told.append(f"correction {found.correction:.4f}, true over shown: what it shows times this is what flowed")
    if found.efficiency is not None:
        one_m3 = 1.0 / test.mean
        told.append(f"one stroke delivers {one_m3 * 1000:.4g} L: {found.efficiency_words} of what it sweeps")
        if not 0.1 <= found.efficiency <= 1.0:
            told.append("REFUSED: no pump delivers that share; look at the stroke volume and how strokes were counted")
            return told
    limit = f"{found.limit:.2%}".replace(".00", "")
    if found.accepted:
        told.append(f"ACCEPTED: the spread is no more than {limit} (common practice for a working meter)")
    else:
        told.append(
            f"REFUSED: the spread is more than {limit} (common practice for a working meter). Look for air in the"
        )
        told.append("  line, a pipe that is not full, a pump that surges, bounce in the pulses; then do it again.")
    told.append(f"a volume measured with it may be off by ± {found.tolerance_words}, four times in five; that of the "
                "bucket is in it")  # fmt: skip
    if found.pulses and min(run.counted for run in found.runs) < COARSE:
        told.append(f"few {found.counted}: one more or less is over {1 / COARSE:.1%}; take a larger bucket")
    return told


def summary(found: Result) -> str:
    """The verdict in one line, for the record."""
    factor = f"correction {found.correction:.4f} (true over shown)"
    if found.pulses:
        factor = f"efficiency {found.efficiency_words}" if found.efficiency else f"K {found.k_words}"
    verdict = "accepted" if found.accepted else "refused"
    return (f"bucket test, {len(found.runs)} runs: {factor}, spread {found.test.spread:.2%}, {verdict} "
            f"(limit {found.limit:.2%}), tolerance {found.tolerance_words}")  # fmt: skip


def for_the_plan(found: Result, options: argparse.Namespace) -> str:
    """A [meter] table with the result, the runs above it as comments; one that was refused is a comment as well."""
    head = [f"# {summary(found)}", *(f"#   {_run(found, run)}" for run in found.runs)]
    table = _table(found, options)
    if not found.accepted:
        head.append("# REFUSED: not for use as it is")
        table = "".join(f"# {line}\n" for line in table.splitlines())
    return "\n".join([*head, table])


def _table(found: Result, options: argparse.Namespace) -> str:
    """The whole table, or of a meter that a plan describes the lines of it that change."""
    from tally.cli.meter.wiring import table_text
    from tally.planfile.snippet import quoted

    correction = found.correction * options.correction
    changed = [] if found.pulses else [f"correction = {correction:.4f}"]
    if found.tested is None or options.plan is not None:
        source = "strokes" if found.efficiency else "pulses"
        lines = changed
        if found.pulses:
            factor = (
                f"efficiency = {quoted(found.efficiency_words)}" if found.efficiency else f"k = {quoted(found.k_words)}"
            )
            lines = [factor] if options.plan is not None else [f"source = {quoted(source)}", *_stroke(options), factor]
        head = "[meter]" if options.instrument is None else f"# in [[instrument]] {options.instrument}"
        return "\n".join([head, *lines, f"tolerance = {quoted(found.tolerance_words)}", ""])
    return table_text(
        options,
        found.tested.pattern,
        found.tested.units,
        k=found.k_words if found.pulses else "",
        efficiency=found.efficiency_words if found.efficiency else "",
        tolerance=found.tolerance_words,
        more=tuple(changed),
    )


def _stroke(options: argparse.Namespace) -> list[str]:
    from tally.cli.meter.wiring import spelled
    from tally.planfile.snippet import quoted

    volume = options.stroke_volume
    return [f"stroke_volume = {quoted(spelled(options, volume))}"] if volume else []


def _unit(found: Result) -> tuple[float, str]:
    """What the factor is multiplied by to be shown, and its unit."""
    if not found.pulses:
        return 1.0, ""
    from tally.formats import GALLON_M3

    return (GALLON_M3, f"{found.counted}/US gal") if found.shown == "us" else (L_M3, f"{found.counted}/L")


def _run(found: Result, run: Run) -> str:
    from tally.cli.meter.wording import volume

    counted = f"{run.counted:,.0f} {found.counted}" if found.pulses else volume(run.counted, found.shown)
    return f"{counted} for {volume(run.true_m3, found.shown)}"
