"""Pipe: dimensions, plain-end mass, areas and the arithmetic of joints."""

import math
from collections.abc import Sequence

from tally.engineering._check import finite, less, not_negative, positive

STEEL_KG_M3 = 7850.0  # the density inside the mass factor 0.0246615 of ASTM A53 and ASME B36.10M
PVC_KG_M3 = 1380.0  # implied by the published masses of PVC schedule pipe at their average bores
AVERAGE_WALL_RATIO = 1.06  # average over minimum wall of PVC pipe, from the same tables (1.058 to 1.061)


def circle_area_m2(diameter_m: float) -> float:
    """Area of a circle.

    diameter_m [m], 0 or more. Returns [m2].
    Source: geometry. Raises ValueError outside the range.
    """
    not_negative("diameter_m", diameter_m)
    return math.pi / 4.0 * diameter_m * diameter_m


def ring_area_m2(*, outer_diameter_m: float, bore_m: float) -> float:
    """Area of metal (or plastic) in a pipe's cross-section.

    outer_diameter_m [m], more than the bore; bore_m [m], 0 (a solid rod) or more. Returns [m2].
    Source: geometry. Raises ValueError outside the range.
    """
    not_negative("bore_m", bore_m)
    less("bore_m", bore_m, "outer_diameter_m", outer_diameter_m)
    return math.pi / 4.0 * (outer_diameter_m - bore_m) * (outer_diameter_m + bore_m)


def plain_end_mass_kg_m(*, outer_diameter_m: float, bore_m: float, density_kg_m3: float) -> float:
    """Mass per length of pipe without couplings.

    outer_diameter_m [m], more than the bore; bore_m [m], 0 or more; density_kg_m3 [kg/m3], more than 0. Returns [kg/m].
    With STEEL_KG_M3 this is 0.0246615 (D - t) t, D and t in mm. Plastic pipe takes the bore of its average wall.
    Source: ASTM A53 and ASME B36.10M. Raises ValueError outside the range.
    """
    positive("density_kg_m3", density_kg_m3)
    return ring_area_m2(outer_diameter_m=outer_diameter_m, bore_m=bore_m) * density_kg_m3


def coupled_mass_kg_m(*, plain_end_kg_m: float, coupling_kg: float, joint_length_m: float) -> float:
    """Mass per length of threaded and coupled pipe, one coupling to each joint.

    plain_end_kg_m [kg/m], more than 0; coupling_kg [kg], the coupling less the threads cut away, 0 or more;
    joint_length_m [m], more than 0. Returns [kg/m].
    Source: Minn. Rules 4725.2350 averages a coupling over a 20 ft length in this way. Raises ValueError outside the
    range.
    """
    positive("plain_end_kg_m", plain_end_kg_m)
    not_negative("coupling_kg", coupling_kg)
    positive("joint_length_m", joint_length_m)
    return plain_end_kg_m + coupling_kg / joint_length_m


def bore_m(*, outer_diameter_m: float, wall_m: float) -> float:
    """Bore of a pipe.

    outer_diameter_m [m], more than twice the wall; wall_m [m], more than 0. Returns [m].
    Source: geometry. Raises ValueError outside the range.
    """
    positive("wall_m", wall_m)
    less("wall_m", wall_m, "half of outer_diameter_m", outer_diameter_m / 2.0)
    return outer_diameter_m - 2.0 * wall_m


def sdr_wall_m(*, outer_diameter_m: float, sdr: float) -> float:
    """Minimum wall of plastic pipe named by its standard dimension ratio.

    outer_diameter_m [m], more than 0; sdr [-], more than 2. Returns [m].
    Source: ASTM F480 (wall = diameter over SDR). Raises ValueError outside the range.
    """
    positive("outer_diameter_m", outer_diameter_m)
    if finite("sdr", sdr) <= 2.0:
        raise ValueError(f"sdr = {sdr!r}: must be more than 2")
    return outer_diameter_m / sdr


def average_wall_m(minimum_wall_m: float) -> float:
    """Average wall of PVC pipe made to a minimum wall: for mass and bore, never for strength.

    minimum_wall_m [m], more than 0. Returns [m].
    Source: ratio of average to minimum wall in a published PVC schedule table (1.058 to 1.061 over eight sizes).
    Raises ValueError outside the range.
    """
    return positive("minimum_wall_m", minimum_wall_m) * AVERAGE_WALL_RATIO


def connections(*, joint_count: int, shoe_length_m: float) -> int:
    """Number of connections made up: one between each two joints, and the shoe's own where there is a shoe.

    joint_count counts joints, 0 or more; shoe_length_m [m], 0 when the shoe is part of the first joint or absent.
    Source: common practice. Raises ValueError outside the range.
    """
    if joint_count < 0:
        raise ValueError(f"joint_count = {joint_count!r}: must be 0 or more")
    not_negative("shoe_length_m", shoe_length_m)
    return max(0, joint_count - 1 + (1 if shoe_length_m > 0.0 else 0)) if joint_count else 0


def string_length_m(
    *,
    shoe_length_m: float,
    joint_lengths_m: Sequence[float],
    make_up_loss_m: float,
    cut_off_m: float,
    weld_gap_m: float = 0.0,
) -> float:
    """Length of the string: shoe + joints - make-up loss and + weld gap at every connection - what was cut off.

    shoe_length_m [m], 0 or more; joint_lengths_m [m], each more than 0; make_up_loss_m [m] a connection, 0 for a weld
    and for lengths given as effective; cut_off_m [m], all of it together; weld_gap_m [m] a weld, 0 for threads.
    Returns [m]. Connections are counted by `connections`, so the shoe's own counts where the shoe has a length.
    Source: common practice. Raises ValueError outside the range, and where more is cut off than there is.
    """
    not_negative("shoe_length_m", shoe_length_m)
    not_negative("make_up_loss_m", make_up_loss_m)
    not_negative("cut_off_m", cut_off_m)
    not_negative("weld_gap_m", weld_gap_m)
    for index, length_m in enumerate(joint_lengths_m):
        less(
            "make_up_loss_m",
            make_up_loss_m,
            f"joint_lengths_m[{index}]",
            positive(f"joint_lengths_m[{index}]", length_m),
        )
    made_up = connections(joint_count=len(joint_lengths_m), shoe_length_m=shoe_length_m)
    gross_m = math.fsum((shoe_length_m, *joint_lengths_m, made_up * (weld_gap_m - make_up_loss_m)))
    if cut_off_m > gross_m:
        raise ValueError(f"cut_off_m = {cut_off_m!r}: must be at most the string's length {gross_m!r}")
    return gross_m - cut_off_m


def shoe_depth_m(*, length_m: float, stick_up_m: float) -> float:
    """Depth of the shoe below ground level; negative while it still hangs above.

    length_m [m], 0 or more; stick_up_m [m] of the top above ground now, negative below it. Returns [m].
    Source: common practice. Raises ValueError outside the range.
    """
    return not_negative("length_m", length_m) - finite("stick_up_m", stick_up_m)


def from_ground_m(*, measured_m: float, measuring_point_m: float) -> float:
    """Depth from ground level of something measured from a point above it (table, flange, casing top).

    measured_m [m]; measuring_point_m [m] above ground, negative below it. Returns [m].
    Source: common practice. Raises ValueError for what is not finite.
    """
    return finite("measured_m", measured_m) - finite("measuring_point_m", measuring_point_m)


def rack_difference(*, delivered: int, on_rack: int, in_hole: int, rejected: int) -> int:
    """Joints delivered less those accounted for: 0 when the rack reconciles, positive when joints are missing.

    Source: common practice. Raises ValueError for a negative count.
    """
    for name, count in (("delivered", delivered), ("on_rack", on_rack), ("in_hole", in_hole), ("rejected", rejected)):
        if count < 0:
            raise ValueError(f"{name} = {count!r}: must be 0 or more")
    return delivered - on_rack - in_hole - rejected


def body_yield_n(*, outer_diameter_m: float, bore_m: float, yield_pa: float) -> float:
    """Pull at which the body of a pipe yields; a connection may hold less.

    outer_diameter_m [m], more than the bore; bore_m [m], 0 or more; yield_pa [Pa], more than 0. Returns [N].
    Source: API Bulletin 5C3, pipe body yield strength. Raises ValueError outside the range.
    """
    return positive("yield_pa", yield_pa) * ring_area_m2(outer_diameter_m=outer_diameter_m, bore_m=bore_m)


def api_drift_m(*, outer_diameter_m: float, bore_m: float) -> float:
    """Diameter of the drift that must pass through API casing: the bore less 1/8, 5/32 or 3/16 in.

    outer_diameter_m [m], more than the bore; bore_m [m], more than 3/16 in. Returns [m].
    Source: API 5CT (up to 8-5/8 in, up to 13-3/8 in, larger). Raises ValueError outside the range.
    """
    less("bore_m", bore_m, "outer_diameter_m", outer_diameter_m)
    inch_m = 0.0254
    clearance_in = 1 / 8 if outer_diameter_m < 9 * inch_m else 5 / 32 if outer_diameter_m < 15 * inch_m else 3 / 16
    return positive("bore_m less its clearance", bore_m - clearance_in * inch_m)
