"""Readings of a caliper to the hole's log: what is left out, turned over or stands in, and a note of each. Nothing is
smoothed, and nothing is left out without being told."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby, pairwise
from statistics import fmean, median

from tally.job.hole import MOST_LOG_POINTS, HoleSection, LogPoint
from tally.planfile.curve import LogFault

Reading = tuple[float | None, float | None]
"""Depth [m] and diameter [m]."""

ABSURD_TIMES = 4.0
"""A reading this many times the bit size, or less than one part in as many of it, is not a hole."""
GAP_STEPS = 5.0
LEAST_GAP_M = 0.5
"""Readings further apart than five usual steps and half a metre leave a gap, unless the plan says how far."""
MOST_TOLD = 8
SAME_DEPTH_M = 1e-6
DECIMALS = 6
"""Of a metre: a micrometre is finer than any tool, and what it saves is room in the session's first line."""


@dataclass(frozen=True, slots=True)
class Around:
    """What the log lies in."""

    sections: tuple[HoleSection, ...]
    casing_m: float
    """Outside diameter; 0 where it is not known."""
    shoe_m: float

    @property
    def bottom_m(self) -> float:
        return self.sections[-1].bottom_m

    def section(self, depth_m: float) -> HoleSection:
        return next((part for part in self.sections if depth_m < part.bottom_m), self.sections[-1])


@dataclass(frozen=True, slots=True)
class Write:
    """Puts lengths in the units of the job."""

    depth: Callable[[float], str]
    diameter: Callable[[float], str]


@dataclass(frozen=True, slots=True)
class Logged:
    points: tuple[LogPoint, ...]
    gap_m: float
    tight: tuple[LogPoint, ...]
    """No wider than the casing where the bit size is, the narrowest first; not among the points."""
    notes: tuple[str, ...]


def logged(readings: Sequence[Reading], around: Around, gap_m: float | None, write: Write) -> Logged:
    """The log from the top down. Raises LogFault where it cannot be told what the readings mean."""
    notes: list[str] = []
    sifted = _Sieve(around, write)
    upward = _is_upward([depth for depth, _ in readings if depth is not None], write)
    if upward:
        notes.append("logged upward: turned over, top first")
    for depth, diameter in reversed(readings) if upward else readings:
        sifted.take(depth, diameter)
    sifted.refuse_what_no_hole_explains()
    points = _widest_of_each_depth(sifted.kept)
    notes += sifted.told(len(readings), len(sifted.kept) - len(points))
    if len(points) < 2:
        raise LogFault(
            "caliper",
            "; ".join([f"{len(points)} usable readings of {len(readings)}", *notes]),
            "at least 2 readings of the open hole",
        )
    if len(points) > MOST_LOG_POINTS:
        accepted = f"at most {MOST_LOG_POINTS:,}: thin the file out, so that it is known which were left"
        raise LogFault("caliper", f"{len(points):,} readings of the open hole", accepted)
    steps = [below.depth_m - above.depth_m for above, below in pairwise(points)]
    longest_m = max(GAP_STEPS * median(steps), LEAST_GAP_M) if gap_m is None else gap_m
    notes += _where_bit_size_stands_in(points, around, longest_m, write)
    tight = sorted(sifted.tight, key=lambda point: point.diameter_m)
    return Logged(tuple(points), longest_m, tuple(tight), tuple(notes))


def _is_upward(depths: Sequence[float], write: Write) -> bool:
    """True where depths run up. A log that turns about holds two passes, and which of them is meant is not known."""
    down = next((a for a, b in pairwise(depths) if b > a), None)
    up = next((a for a, b in pairwise(depths) if b < a), None)
    if down is not None and up is not None:
        given = f"a log whose depths turn about: down from {write.depth(down)}, up from {write.depth(up)}"
        raise LogFault("caliper", given, "one pass, whose depths run only down or only up")
    return up is not None


class _Sieve:
    """Sorts readings into those that count and those that do not, by reason."""

    def __init__(self, around: Around, write: Write) -> None:
        self._around, self._write = around, write
        self.kept: list[LogPoint] = []
        self.tight: list[LogPoint] = []
        self._out: dict[str, list[float | None]] = {}
        """Reason to depths."""
        self._absurd: list[float] = []
        self._over_bore: list[float] = []

    def take(self, depth: float | None, diameter: float | None) -> None:
        around = self._around
        if depth is None or diameter is None:
            return self._leave("null value", depth)
        if depth < -SAME_DEPTH_M:
            return self._leave("above ground level", depth)
        if depth > around.bottom_m + SAME_DEPTH_M:
            return self._leave(f"deeper than the hole's bottom at {self._write.depth(around.bottom_m)}", depth)
        depth_m = min(max(round(depth, DECIMALS), 0.0), around.bottom_m)
        section = around.section(depth_m)
        if section.cased:
            self._over_bore.append(diameter - section.diameter_m)
            return self._leave("inside the casing that already stands, whose bore is known", depth_m)
        times = diameter / section.diameter_m
        if diameter <= 0:
            self._absurd.append(times)
            return self._leave("not more than nothing", depth_m)
        if not 1 / ABSURD_TIMES <= times <= ABSURD_TIMES:
            self._absurd.append(times)
            return self._leave(f"over {ABSURD_TIMES:g} times the bit size, or under a quarter of it", depth_m)
        point = LogPoint(depth_m=depth_m, diameter_m=round(diameter, DECIMALS))
        if diameter <= around.casing_m < section.diameter_m:
            self.tight.append(point)
            return self._leave(f"no wider than the casing ({self._write.diameter(around.casing_m)})", depth_m)
        return self.kept.append(point)

    def _leave(self, reason: str, depth: float | None) -> None:
        self._out.setdefault(reason, []).append(depth)

    def refuse_what_no_hole_explains(self) -> None:
        if len(self._absurd) > len(self.kept) + len(self.tight):
            given = (
                f"{len(self._absurd)} of {len(self._absurd) + len(self.kept) + len(self.tight)} readings of the open"
                f" hole over {ABSURD_TIMES:g} times the bit size or under a quarter of it (half of them"
                f" under {median(self._absurd):.3g} times)"
            )
            raise LogFault("caliper_units", given, "the units that the log is really in, and diameters, not radii")

    def told(self, total: int, repeated: int) -> list[str]:
        """A note for each reason, and what the tool read where the diameter is known."""
        notes = [
            f"{len(depths)} of {total} points left out: {reason}{self._at([d for d in depths if d is not None])}"
            for reason, depths in self._out.items()
        ]
        if repeated:
            notes.append(f"{repeated} of {total} points left out: repeated depth; the widest at each depth counts")
        if self._over_bore:
            over_m = fmean(self._over_bore)
            word = "over" if over_m >= 0 else "under"
            notes.append(
                f"in the casing that already stands the tool reads {self._write.diameter(abs(over_m))} {word} its bore"
                f" on average; not corrected for unless the plan gives caliper_reads_over"
            )
        return notes

    def _at(self, depths: Sequence[float]) -> str:
        if not depths:
            return ""
        low, high = min(depths), max(depths)
        if low == high:
            return f", at {self._write.depth(low)}"
        return f", {self._write.depth(low)} to {self._write.depth(high)}"


def _widest_of_each_depth(points: Sequence[LogPoint]) -> list[LogPoint]:
    return [
        max(same, key=lambda point: point.diameter_m) for _, same in groupby(points, key=lambda point: point.depth_m)
    ]


def _where_bit_size_stands_in(points: Sequence[LogPoint], around: Around, longest_m: float, write: Write) -> list[str]:
    bit = "the bit size stands in"
    notes: list[str] = []
    first_m, last_m = points[0].depth_m, points[-1].depth_m
    cased_m = max((part.bottom_m for part in around.sections if part.cased and part.bottom_m <= first_m), default=0.0)
    if first_m - cased_m > SAME_DEPTH_M:
        notes.append(f"the log begins at {write.depth(first_m)}: above it, from {write.depth(cased_m)}, {bit}")
    gaps = [(a.depth_m, b.depth_m) for a, b in pairwise(points) if b.depth_m - a.depth_m > longest_m]
    for top_m, bottom_m in gaps[:MOST_TOLD]:
        notes.append(f"no readings from {write.depth(top_m)} to {write.depth(bottom_m)}: there {bit}")
    if rest := gaps[MOST_TOLD:]:
        together = write.depth(sum(bottom_m - top_m for top_m, bottom_m in rest))
        notes.append(f"{len(rest)} more gaps, {together} together: there {bit}")
    notes.append(f"readings up to {write.depth(longest_m)} apart are joined by a straight line")
    if around.bottom_m - last_m > SAME_DEPTH_M:
        short = f", short of the shoe at {write.depth(around.shoe_m)}" if last_m < around.shoe_m - SAME_DEPTH_M else ""
        end, bottom = write.depth(last_m), write.depth(around.bottom_m)
        notes.append(f"the log ends at {end}{short}: below it, to {bottom}, {bit}")
    return notes
