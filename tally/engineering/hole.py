"""The hole as a profile of frustums less the pipes that hang in it: volume for depths, and depth for a volume."""

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate, pairwise

from tally.engineering._check import between, finite, not_negative, positive
from tally.engineering.pipe import circle_area_m2

_JOIN_M = 1e-6  # two segments meet if their depths differ by no more than this: a micrometre of unit conversion


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


class Profile:
    """A hole compiled once and then only read. Every volume is the annulus: the hole less its pipes.

    Below a pipe's end the hole counts at full bore. `volume_m3` is additive, `top_of_fill_m` is its inverse; both
    take one bisection.
    Source: the frustum's volume, geometry.
    """

    __slots__ = ("_cumulative_m3", "_pipe_areas_m2", "_tops_m", "bottom_m", "segments", "top_m")

    def __init__(self, segments: tuple[Segment, ...], pipe_areas_m2: tuple[float, ...]) -> None:
        """Use `compile`, which checks and splits what it is given."""
        self.segments = segments
        self.top_m = segments[0].top_m
        self.bottom_m = segments[-1].bottom_m
        self._pipe_areas_m2 = pipe_areas_m2
        self._tops_m = [segment.top_m for segment in segments]
        volumes = (_volume_to(s, a, s.bottom_m - s.top_m) for s, a in zip(segments, pipe_areas_m2, strict=True))
        self._cumulative_m3 = list(accumulate(volumes, initial=0.0))

    @classmethod
    def compile(cls, segments: Sequence[Segment], *, pipes: Sequence[PipeSpan] = ()) -> "Profile":
        """The profile of segments [m] from the top down, less the pipes [m] that hang side by side in them.

        Raises ValueError for a gap or an overlap, for sizes that are not positive, and with the depth where a pipe is
        not smaller than the hole or two pipes do not fit beside each other.
        """
        joined = _joined(segments)
        for index, pipe in enumerate(pipes):
            _check_span(f"pipes[{index}]", pipe.top_m, pipe.bottom_m)
            positive(f"pipes[{index}].outer_diameter_m", pipe.outer_diameter_m)
        cuts_m = sorted({depth for pipe in pipes for depth in (pipe.top_m, pipe.bottom_m)})
        split = tuple(part for segment in joined for part in _split(segment, cuts_m))
        return cls(split, tuple(_pipe_area_m2(part, pipes) for part in split))

    def volume_m3(self, top_m: float, bottom_m: float) -> float:
        """Volume between two depths.

        top_m [m] and bottom_m [m], both within the profile, top no deeper than bottom. Returns [m3].
        Source: geometry. Raises ValueError outside the range.
        """
        between("top_m", top_m, self.top_m, self.bottom_m)
        between("bottom_m", bottom_m, self.top_m, self.bottom_m)
        if top_m > bottom_m:
            raise ValueError(f"top_m = {top_m!r}: must be no deeper than bottom_m = {bottom_m!r}")
        return max(0.0, self._above_m3(bottom_m) - self._above_m3(top_m))

    def top_of_fill_m(self, bottom_m: float, volume_m3: float) -> float:
        """Depth of the top of a volume that fills the profile from a depth upward; the profile's top when it is full.

        bottom_m [m], within the profile; volume_m3 [m3], 0 or more. Returns [m].
        Source: geometry. Raises ValueError outside the range.
        """
        between("bottom_m", bottom_m, self.top_m, self.bottom_m)
        if not_negative("volume_m3", volume_m3) == 0.0:
            return bottom_m
        wanted_m3 = self._above_m3(bottom_m) - volume_m3
        if wanted_m3 <= 0.0:
            return self.top_m
        index = bisect_left(self._cumulative_m3, wanted_m3) - 1
        segment, pipe_area_m2 = self.segments[index], self._pipe_areas_m2[index]
        depth_m = segment.top_m + _length_holding(segment, pipe_area_m2, wanted_m3 - self._cumulative_m3[index])
        return min(depth_m, bottom_m)

    def capacity_m3_m(self, depth_m: float) -> float:
        """Volume per length at a depth; where the diameter steps, that of the part below.

        depth_m [m], within the profile. Returns [m3/m].
        Source: geometry. Raises ValueError outside the range.
        """
        index = self._index(between("depth_m", depth_m, self.top_m, self.bottom_m))
        segment = self.segments[index]
        return circle_area_m2(_diameter_m(segment, depth_m - segment.top_m)) - self._pipe_areas_m2[index]

    def hole_diameter_m(self, depth_m: float) -> float:
        """Diameter of the hole, pipes or none, at a depth; where it steps, that of the part below.

        depth_m [m], within the profile. Returns [m].
        Source: geometry. Raises ValueError outside the range.
        """
        segment = self.segments[self._index(between("depth_m", depth_m, self.top_m, self.bottom_m))]
        return _diameter_m(segment, depth_m - segment.top_m)

    def _index(self, depth_m: float) -> int:
        return bisect_right(self._tops_m, depth_m) - 1

    def _above_m3(self, depth_m: float) -> float:
        index = self._index(depth_m)
        segment = self.segments[index]
        return self._cumulative_m3[index] + _volume_to(segment, self._pipe_areas_m2[index], depth_m - segment.top_m)


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


def _split(segment: Segment, cuts_m: Iterable[float]) -> Iterable[Segment]:
    """The segment cut at depths that lie inside it, its taper kept."""
    inside_m = [cut_m for cut_m in cuts_m if segment.top_m < cut_m < segment.bottom_m]
    if not inside_m:
        yield segment
        return
    depths_m = [segment.top_m, *inside_m, segment.bottom_m]
    diameters_m = [_diameter_m(segment, depth_m - segment.top_m) for depth_m in depths_m[:-1]] + [
        segment.bottom_diameter_m
    ]
    for (top_m, bottom_m), (top_d, bottom_d) in zip(pairwise(depths_m), pairwise(diameters_m), strict=True):
        yield Segment(top_m, bottom_m, top_d, bottom_d)


def _pipe_area_m2(part: Segment, pipes: Sequence[PipeSpan]) -> float:
    """Area that pipes take from a part, which lies wholly beside or wholly clear of each; refuses pipes that cannot
    fit."""
    beside = sorted(
        (p.outer_diameter_m for p in pipes if p.top_m < part.bottom_m and p.bottom_m > part.top_m), reverse=True
    )
    if not beside:
        return 0.0
    narrow_m, depth_m = min((part.top_diameter_m, part.top_m), (part.bottom_diameter_m, part.bottom_m))
    if beside[0] >= narrow_m:
        raise ValueError(
            f"outer_diameter_m = {beside[0]!r}: must be less than the hole's {narrow_m!r} at depth {depth_m!r} m"
        )
    if sum(beside[:2]) > narrow_m:
        both = " and ".join(repr(d) for d in beside[:2])
        raise ValueError(
            f"outer_diameter_m = {both}: do not fit side by side in the hole's {narrow_m!r} at depth {depth_m!r} m"
        )
    area_m2 = sum(circle_area_m2(d) for d in beside)
    if area_m2 >= circle_area_m2(narrow_m):
        raise ValueError(
            f"outer_diameter_m of {len(beside)} pipes: fill the whole hole of {narrow_m!r} at depth {depth_m!r} m"
        )
    return area_m2


def _diameter_m(segment: Segment, below_top_m: float) -> float:
    share = below_top_m / (segment.bottom_m - segment.top_m)
    return segment.top_diameter_m + share * (segment.bottom_diameter_m - segment.top_diameter_m)


def _volume_to(segment: Segment, pipe_area_m2: float, below_top_m: float) -> float:
    """Volume of the segment's uppermost part: a frustum, less the pipes."""
    a, b = segment.top_diameter_m, _diameter_m(segment, below_top_m)
    return below_top_m * (math.pi / 12.0 * (a * a + a * b + b * b) - pipe_area_m2)


def _length_holding(segment: Segment, pipe_area_m2: float, volume_m3: float) -> float:
    """Length of the segment's uppermost part that holds a volume: Newton's method kept inside a shrinking bracket.

    The volume rises strictly with length (capacity is positive throughout), so that the root is single.
    """
    low, high = 0.0, segment.bottom_m - segment.top_m
    if segment.top_diameter_m == segment.bottom_diameter_m:
        return min(high, volume_m3 / (circle_area_m2(segment.top_diameter_m) - pipe_area_m2))
    # the frustum less its pipes as a polynomial of the length: x (p + x (q + x r))
    slope = (segment.bottom_diameter_m - segment.top_diameter_m) / high
    p = circle_area_m2(segment.top_diameter_m) - pipe_area_m2
    q, r = math.pi / 4.0 * segment.top_diameter_m * slope, math.pi / 12.0 * slope * slope
    whole_m3 = high * (p + high * (q + high * r))
    if volume_m3 >= whole_m3:
        return high
    length_m = high * volume_m3 / whole_m3
    for _ in range(100):
        error_m3 = length_m * (p + length_m * (q + length_m * r)) - volume_m3
        if error_m3 > 0.0:
            high = length_m
        else:
            low = length_m
        following_m = length_m - error_m3 / (p + length_m * (2.0 * q + length_m * 3.0 * r))
        if not low <= following_m <= high:
            following_m = (low + high) / 2.0
        if abs(following_m - length_m) <= 1e-15 * (1.0 + length_m):
            return following_m
        length_m = following_m
    return length_m
