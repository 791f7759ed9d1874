"""Annular capacity and volume against printed figures; sources in tests/published/annulus.toml."""

import pytest

from tally.engineering.hole import PipeSpan, Profile, Segment
from tests.published.tables import Row, rows
from tests.published.units import BBL_M3, FT3_M3, FT_M, IN_M, US_GAL_M3

VOLUME_M3 = {"bbl": BBL_M3, "gal": US_GAL_M3, "ft3": FT3_M3}


def profile(hole_in: float, pipe_in: float, length_m: float) -> Profile:
    """A straight hole with a pipe down the whole of it."""
    pipes = [PipeSpan(0, length_m, pipe_in * IN_M)] if pipe_in else []
    return Profile.compile([Segment(0, length_m, hole_in * IN_M, hole_in * IN_M)], pipes=pipes)


def in_unit(capacity_m3_m: float, unit: str) -> float:
    """A capacity in volume per foot, or feet per volume."""
    top, bottom = unit.split("/")
    return capacity_m3_m * FT_M / VOLUME_M3[top] if bottom == "ft" else VOLUME_M3[bottom] / (capacity_m3_m * FT_M)


@pytest.mark.parametrize(
    "row", rows("annular_capacity", "capacity_in_casing", "monitoring_well", "annular_fill_space"), ids=repr
)
def test_capacity(row: Row) -> None:
    made = profile(row["hole_in"], row["pipe_in"], 30.0)
    row.holds(in_unit(made.capacity_m3_m(10.0), row["unit"]), "value")
    row.holds(in_unit(made.volume_m3(5.0, 15.0) / 10.0, row["unit"]), "value")


@pytest.mark.parametrize("row", rows("annular_volume"), ids=repr)
def test_volume(row: Row) -> None:
    length_m = row["length_ft"] * FT_M
    made = profile(row["hole_in"], row["pipe_in"], length_m)
    row.holds(made.volume_m3(0, length_m) / BBL_M3, "bbl")
    # and back: the printed volume fills the annulus to within what its last digit is worth
    top_m = made.top_of_fill_m(length_m, row["bbl"] * BBL_M3)
    assert top_m / FT_M == pytest.approx(0.0, abs=0.05 / 0.12149), row.source


@pytest.mark.parametrize("row", rows("annular_fill_volume"), ids=repr)
def test_volume_of_a_worked_page(row: Row) -> None:
    length_m = row["length_ft"] * FT_M
    row.holds(profile(row["hole_in"], row["pipe_in"], length_m).volume_m3(0, length_m) / FT3_M3, "ft3")


@pytest.mark.parametrize("row", rows("capacity_divisors"), ids=repr)
def test_the_handbook_divisors_and_factors(row: Row) -> None:
    if "divisor" in row:
        capacity = in_unit(profile(9.875, 6.625, 10.0).capacity_m3_m(1.0), row["unit"])
        row.holds((9.875**2 - 6.625**2) / capacity, "divisor")
    else:
        capacity_m3_m = profile(10.0, 0.0, 10.0).capacity_m3_m(1.0)
        made = capacity_m3_m * 1000 if row["unit"] == "L/m" else in_unit(capacity_m3_m, row["unit"])
        row.holds(made / 10.0**2, "factor")
