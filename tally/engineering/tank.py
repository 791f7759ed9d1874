"""A tank that grout is drawn from: its volume by depth, so that two dips give what was drawn."""

import math
from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise

from tally.engineering._check import between, finite, not_negative, positive


def standing_cylinder_m3(*, diameter_m: float, level_m: float) -> float:
    """Volume of what stands `level_m` deep in an upright cylinder.

    diameter_m [m], more than 0; level_m [m], 0 or more. Returns [m3].
    Source: geometry. Raises ValueError outside the range.
    """
    return math.pi / 4 * positive("diameter_m", diameter_m) ** 2 * not_negative("level_m", level_m)


def lying_cylinder_m3(*, diameter_m: float, length_m: float, level_m: float) -> float:
    """Volume of what stands `level_m` deep in a cylinder on its side, with flat ends.

    diameter_m [m], more than 0; length_m [m], more than 0; level_m [m], from 0 to the diameter. Returns [m3].
    Source: geometry, the circular segment r2 acos((r - h)/r) - (r - h) sqrt(2 r h - h2); acos as the arc tangent of
    the two sides. Raises ValueError outside the range.
    """
    radius_m = positive("diameter_m", diameter_m) / 2
    height_m = between("level_m", level_m, 0.0, diameter_m)
    above_m = radius_m - height_m
    half_width_m = math.sqrt(height_m * (diameter_m - height_m))
    # The angle by both its sides: by its cosine alone a film on the bottom would drown in the last digit.
    area_m2 = radius_m**2 * math.atan2(half_width_m, above_m) - above_m * half_width_m
    return max(0.0, area_m2) * positive("length_m", length_m)


def box_m3(*, length_m: float, width_m: float, level_m: float) -> float:
    """Volume of what stands `level_m` deep in a box.

    length_m [m], more than 0; width_m [m], more than 0; level_m [m], 0 or more. Returns [m3].
    Source: geometry. Raises ValueError outside the range.
    """
    return positive("length_m", length_m) * positive("width_m", width_m) * not_negative("level_m", level_m)


def table_m3(rows: Sequence[tuple[float, float]], level_m: float) -> float:
    """Volume by a tank's own table, straight between two rows.

    rows: (depth [m], volume [m3]), both growing from row to row, at least two; level_m [m], within the table.
    Returns [m3]. Source: linear interpolation. Raises ValueError outside the range or where a row does not grow.
    """
    if len(rows) < 2:
        raise ValueError(f"rows = {len(rows)} rows: must be at least 2")
    for (above_m, above_m3), (below_m, below_m3) in pairwise(rows):
        if not (finite("depth", below_m) > finite("depth", above_m)) or not (
            finite("volume", below_m3) > not_negative("volume", above_m3)
        ):
            raise ValueError(f"rows = {below_m!r} m, {below_m3!r} m3: must be more than the row before")
    between("level_m", level_m, rows[0][0], rows[-1][0])
    place = min(bisect_right([row[0] for row in rows], level_m), len(rows) - 1)
    (low_m, low_m3), (high_m, high_m3) = rows[place - 1], rows[place]
    return low_m3 + (level_m - low_m) / (high_m - low_m) * (high_m3 - low_m3)
