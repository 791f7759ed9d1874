"""The hole as a profile of frustums less the pipes that hang in it: volume for depths, and depth for a volume."""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from tally.engineering._check import CEILING, between, finite, not_negative, positive
from tally.engineering.pipe import circle_area_m2

_JOIN_M = 1e-6  # two segments meet if their depths differ by no more than this: a micrometre of unit conversion
STEPS = 100
_Part = tuple[float, float, float, float, float]  # p, q, r, diameter at the top, its change per length: see `_part`


@dataclass(frozen=True, slots=True)
class Segment:
    """A stretch of hole whose diameter [m] runs linearly between two depths [m]."""

    top_m: float
    bottom_m: float
    top_diameter_m: float
    bottom_diameter_m: float


@dataclass(frozen=True, slots=True)
class PipeSpan:
    """A pipe that takes room in the hole between two depths [m]; what hangs outside the profile takes none."""

    top_m: float
    bottom_m: float
    outer_diameter_m: float


class Walls:
    """A hole alone, from the top down: checked and worked out once, so that pipes may come and go cheaply.

    Source: the frustum's volume, geometry.
    """

    __slots__ = ("bottoms_m", "edges_m", "parts", "tops_m")

    def __init__(self, segments: Sequence[Segment]) -> None:
        """segments: stretches of hole [m], each beginning where the one above ends.

        Raises ValueError for a gap or an overlap, and for sizes that are not positive.
        """
        joined = _joined(segments)
        self.edges_m = [joined[0].top_m, *(segment.bottom_m for segment in joined)]
        self.parts = [_part(s.top_diameter_m, _slope(s)) for s in joined]
        # narrowness is looked for at both ends, where a taper has it
        self.tops_m = [segment.top_diameter_m for segment in joined]
        self.bottoms_m = [segment.bottom_diameter_m for segment in joined]

    def less(self, pipes: Sequence[PipeSpan]) -> "Profile":
        """What pipes [m] that hang side by side leave of the hole.

        Source: geometry. Raises ValueError with the depth where a pipe is not smaller than the hole or two do not fit
        beside each other.
        """
        for index, pipe in enumerate(pipes):
            _check_span(f"pipes[{index}]", pipe.top_m, pipe.bottom_m)
            positive(f"pipes[{index}].outer_diameter_m", pipe.outer_diameter_m)
        top_m, bottom_m = self.edges_m[0], self.edges_m[-1]
        ends_m = {depth for pipe in pipes for depth in (pipe.top_m, pipe.bottom_m) if top_m < depth < bottom_m}
        edges_m: list[float] = []
        parts: list[_Part] = []
        areas_m2: list[float] = []
        for upper_m, lower_m in pairwise((top_m, *sorted(ends_m), bottom_m)):
            first, last = bisect_right(self.edges_m, upper_m) - 1, bisect_left(self.edges_m, lower_m)
            area_m2 = self._taken_m2(first, last, [p for p in pipes if p.top_m < lower_m and p.bottom_m > upper_m])
            _, _, _, diameter_m, slope = self.parts[first]
            edges_m += [upper_m, *self.edges_m[first + 1 : last]]
            parts += [
                _part(diameter_m + slope * (upper_m - self.edges_m[first]), slope),
                *self.parts[first + 1 : last],
            ]
            areas_m2 += [area_m2] * (last - first)
        return Profile([*edges_m, bottom_m], parts, areas_m2)

    def _taken_m2(self, first: int, last: int, pipes: Sequence[PipeSpan]) -> float:
        """Area that pipes take from the parts of a range, if they fit in every one of them."""
        beside = sorted((pipe.outer_diameter_m for pipe in pipes), reverse=True)
        if not beside:
            return 0.0
        if not _misfit(beside, min(min(self.tops_m[first:last]), min(self.bottoms_m[first:last]))):
            return sum(circle_area_m2(d) for d in beside)
        for index in range(first, last):
            ends = zip((self.tops_m[index], self.bottoms_m[index]), self.edges_m[index : index + 2], strict=True)
            narrow_m, depth_m = min(ends)
            if fault := _misfit(beside, narrow_m):
                raise ValueError(f"{fault} the hole's {narrow_m!r} at depth {depth_m!r} m")
        raise AssertionError("a misfit in a range is one in a part of it")


class Profile:
    """A hole compiled once and then only read. Every volume is the annulus: the hole less its pipes.

    Below a pipe's end the hole counts at full bore. `volume_m3` is additive, `top_of_fill_m` is its inverse; both
    take one bisection.
    Source: the frustum's volume, geometry.
    """

    __slots__ = ("_areas_m2", "_cumulative_m3", "_edges_m", "_parts", "bottom_m", "top_m")

    def __init__(self, edges_m: list[float], parts: list[_Part], areas_m2: list[float]) -> None:
        """Use `compile`, or `Walls.less`, which check and split what they are given."""
        self.top_m, self.bottom_m = edges_m[0], edges_m[-1]
        self._edges_m, self._parts, self._areas_m2 = edges_m, parts, areas_m2
        lengths_m = (lower_m - upper_m for upper_m, lower_m in pairwise(edges_m))
        volumes = (
            x * (p - a + x * (q + x * r)) for x, (p, q, r, _, _), a in zip(lengths_m, parts, areas_m2, strict=True)
        )
        self._cumulative_m3 = list(accumulate(volumes, initial=0.0))

    @classmethod
    def compile(cls, segments: Sequence[Segment], *, pipes: Sequence[PipeSpan] = ()) -> "Profile":
        """The profile of segments [m] from the top down, less the pipes [m] that hang side by side in them.

        Raises ValueError for a gap or an overlap, for sizes that are not positive, and with the depth where a pipe is
        not smaller than the hole or two pipes do not fit beside each other.
        """
        return Walls(segments).less(pipes)

    @property
    def segments(self) -> tuple[Segment, ...]:
        """The hole's stretches [m], pipes or none, cut where a pipe ends."""
        return tuple(
            Segment(upper_m, lower_m, diameter_m, diameter_m + slope * (lower_m - upper_m))
            for (upper_m, lower_m), (_, _, _, diameter_m, slope) in zip(
                pairwise(self._edges_m), self._parts, strict=True
            )
        )

    def volume_m3(self, top_m: float, bottom_m: float) -> float:
        """Volume between two depths.

        top_m [m] and bottom_m [m], both within the profile, top no deeper than bottom. Returns [m3].
        Source: geometry. Raises ValueError outside the range.
        """
        if not self.top_m <= top_m <= bottom_m <= self.bottom_m:  # asked ten thousand times for each that is refused
            between("top_m", top_m, self.top_m, self.bottom_m)
            between("bottom_m", bottom_m, self.top_m, self.bottom_m)
            raise ValueError(f"top_m = {top_m!r}: must be no deeper than bottom_m = {bottom_m!r}")
        return max(0.0, self._above_m3(bottom_m) - self._above_m3(top_m))

    def top_of_fill_m(self, bottom_m: float, volume_m3: float) -> float:
        """Depth of the top of a volume that fills the profile from a depth upward; the profile's top when it is full.

        bottom_m [m], within the profile; volume_m3 [m3], 0 or more. Returns [m].
        Source: geometry. Raises ValueError outside the range.
        """
        if not self.top_m <= bottom_m <= self.bottom_m:
            between("bottom_m", bottom_m, self.top_m, self.bottom_m)
        if not 0.0 < volume_m3 <= CEILING:
            not_negative("volume_m3", volume_m3)
            return bottom_m
        wanted_m3 = self._above_m3(bottom_m) - volume_m3
        if wanted_m3 <= 0.0:
            return self.top_m
        index = bisect_left(self._cumulative_m3, wanted_m3) - 1
        p, q, r, _, _ = self._parts[index]
        length_m = _length_holding(wanted_m3 - self._cumulative_m3[index], p - self._areas_m2[index], q, r)
        return min(self._edges_m[index] + length_m, self._edges_m[index + 1], bottom_m)

    def capacity_m3_m(self, depth_m: float) -> float:
        """Volume per length at a depth; where the diameter steps, that of the part below.

        depth_m [m], within the profile. Returns [m3/m].
        Source: geometry. Raises ValueError outside the range.
        """
        return circle_area_m2(self.hole_diameter_m(depth_m)) - self._areas_m2[self._index(depth_m)]

    def hole_diameter_m(self, depth_m: float) -> float:
        """Diameter of the hole, pipes or none, at a depth; where it steps, that of the part below.

        depth_m [m], within the profile. Returns [m].
        Source: geometry. Raises ValueError outside the range.
        """
        index = self._index(between("depth_m", depth_m, self.top_m, self.bottom_m))
        _, _, _, diameter_m, slope = self._parts[index]
        return diameter_m + slope * (depth_m - self._edges_m[index])

    def _index(self, depth_m: float) -> int:
        return bisect_right(self._edges_m, depth_m, 0, len(self._parts)) - 1

    def _above_m3(self, depth_m: float) -> float:
        index = bisect_right(self._edges_m, depth_m, 0, len(self._parts)) - 1
        p, q, r, _, _ = self._parts[index]
        x = depth_m - self._edges_m[index]
        return self._cumulative_m3[index] + x * (p - self._areas_m2[index] + x * (q + x * r))


def _check_span(name: str, top_m: float, bottom_m: float) -> None:
    finite(f"{name}.top_m", top_m)
    finite(f"{name}.bottom_m", bottom_m)
    if bottom_m <= top_m:
        raise ValueError(f"{name}.bottom_m = {bottom_m!r}: must be deeper than its top_m = {top_m!r}")


def _joined(segments: Sequence[Segment]) -> list[Segment]:
    """The segments, checked, each beginning exactly where the one above ends."""
    if not segments:
        raise ValueError("segments = (): must hold at least one segment")
    for index, segment in enumerate(segments):
        _check_span(f"segments[{index}]", segment.top_m, segment.bottom_m)
        positive(f"segments[{index}].top_diameter_m", segment.top_diameter_m)
        positive(f"segments[{index}].bottom_diameter_m", segment.bottom_diameter_m)
    for index, (above, below) in enumerate(pairwise(segments), start=1):
        if abs(below.top_m - above.bottom_m) > _JOIN_M:
            fault = "leaves a gap below" if below.top_m > above.bottom_m else "overlaps"
            raise ValueError(
                f"segments[{index}].top_m = {below.top_m!r}: {fault} the one above, which ends at {above.bottom_m!r}"
            )
    joined, top_m = [], segments[0].top_m
    for segment in segments:
        joined.append(Segment(top_m, segment.bottom_m, segment.top_diameter_m, segment.bottom_diameter_m))
        top_m = segment.bottom_m
    return joined


def _slope(segment: Segment) -> float:
    return (segment.bottom_diameter_m - segment.top_diameter_m) / (segment.bottom_m - segment.top_m)


def _part(diameter_m: float, slope: float) -> _Part:
    """A frustum's volume as a polynomial of the length x below its top, x (p + x (q + x r)); its diameter and slope."""
    area_m2 = circle_area_m2(diameter_m)
    return area_m2, math.pi / 4.0 * diameter_m * slope, math.pi / 12.0 * slope * slope, diameter_m, slope


def _misfit(beside: Sequence[float], narrow_m: float) -> str:
    """Why pipes, the widest first, do not fit beside each other in a width; empty where they do."""
    if beside[0] >= narrow_m:
        return f"outer_diameter_m = {beside[0]!r}: must be less than"
    if sum(beside[:2]) > narrow_m:
        return f"outer_diameter_m = {' and '.join(repr(d) for d in beside[:2])}: do not fit side by side in"
    if sum(circle_area_m2(d) for d in beside) >= circle_area_m2(narrow_m):
        return f"outer_diameter_m of {len(beside)} pipes: fill the whole of"
    return ""


def _length_holding(volume_m3: float, p: float, q: float, r: float) -> float:
    """Length x of a part for which x (p + x (q + x r)) is a volume: Newton's method from where it cannot overshoot.

    The capacity is positive throughout, and only rises or only falls with x, so that the volume is convex or concave.
    The first guess lies past the root in the one case and short of it in the other, and every step stays on its side.
    """
    length_m = volume_m3 / p
    if q == 0.0:
        return length_m
    for _ in range(STEPS):
        step_m = (length_m * (p + length_m * (q + length_m * r)) - volume_m3) / (
            p + length_m * (2.0 * q + length_m * 3.0 * r)
        )
        length_m -= step_m
        if abs(step_m) <= 1e-9 * length_m:  # the error of the next would be about the square of that
            break
    return length_m
