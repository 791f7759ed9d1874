"""What stands in a tank: by hand, by the standard library's integration of its width, and by identities."""

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy.integrate import quad

from tally.engineering import tank


def test_a_standing_cylinder_by_hand() -> None:
    # 1.2 m wide: pi/4 x 1.44 = 1.130 973 m2; 0.5 m deep 0.565 487 m3
    assert tank.standing_cylinder_m3(diameter_m=1.2, level_m=0.5) == pytest.approx(0.565487, abs=5e-7)


def test_a_box_by_hand() -> None:
    assert tank.box_m3(length_m=2.0, width_m=1.5, level_m=0.4) == pytest.approx(1.2)


def test_a_lying_cylinder_half_and_full() -> None:
    full_m3 = math.pi / 4 * 2.0
    for depth_m, share in ((0.0, 0.0), (0.5, 0.5), (1.0, 1.0)):
        found_m3 = tank.lying_cylinder_m3(diameter_m=1.0, length_m=2.0, level_m=depth_m)
        assert found_m3 == pytest.approx(share * full_m3)


@given(st.floats(0.0, 1.0), st.floats(0.2, 3.0))
@example(2.220446049250313e-16, 2.5041947715821213)
def test_a_lying_cylinder_is_the_integral_of_its_width(share: float, diameter_m: float) -> None:
    radius_m, depth_m = diameter_m / 2, share * diameter_m
    width = quad(lambda h: 2 * math.sqrt(max(radius_m**2 - (radius_m - h) ** 2, 0.0)), 0.0, depth_m, limit=200)[0]
    found_m3 = tank.lying_cylinder_m3(diameter_m=diameter_m, length_m=1.0, level_m=depth_m)
    assert found_m3 == pytest.approx(width, rel=1e-6, abs=1e-9)


def test_a_film_on_the_bottom_of_a_lying_cylinder() -> None:
    # by hand: near its lowest point the circle is a parabola, whose segment is 4/3 h root(2 r h): for r = 1 m and
    # h = 1e-10 m that is 4/3 x 1e-10 x 1.4142e-5 = 1.8856e-15 m2
    found_m3 = tank.lying_cylinder_m3(diameter_m=2.0, length_m=1.0, level_m=1e-10)
    assert found_m3 == pytest.approx(1.8856e-15, rel=1e-4)
    for places in range(1, 18):
        assert tank.lying_cylinder_m3(diameter_m=0.7, length_m=1.0, level_m=10.0**-places) >= 0.0


def test_a_table_runs_straight_between_its_rows() -> None:
    rows = ((0.0, 0.0), (0.1, 0.050), (0.3, 0.250))
    for depth_m, volume_m3 in ((0.0, 0.0), (0.05, 0.025), (0.1, 0.050), (0.2, 0.150), (0.3, 0.250)):
        assert tank.table_m3(rows, depth_m) == pytest.approx(volume_m3)


@pytest.mark.parametrize("rows", [((0.0, 0.0),), ((0.0, 0.0), (0.0, 1.0)), ((0.0, 1.0), (1.0, 1.0))])
def test_a_table_that_does_not_grow_is_refused(rows: tuple[tuple[float, float], ...]) -> None:
    with pytest.raises(ValueError, match="rows"):
        tank.table_m3(rows, 0.0)
    with pytest.raises(ValueError, match="level_m"):
        tank.table_m3(((0.0, 0.0), (1.0, 1.0)), 1.5)


def test_a_table_is_read_from_its_own_first_depth_on() -> None:
    rows = ((0.2, 0.05), (0.5, 0.5))
    assert tank.table_m3(rows, 0.2) == 0.05
    with pytest.raises(ValueError, match=r"level_m = 0\.1: must lie between 0\.2 and 0\.5"):
        tank.table_m3(rows, 0.1)
    with pytest.raises(ValueError, match=r"volume = -0\.01: must be 0 or more"):
        tank.table_m3(((0.0, -0.01), (1.0, 1.0)), 0.5)


def test_a_tank_without_width_is_none_even_when_it_stands_empty() -> None:
    with pytest.raises(ValueError, match=r"diameter_m = 0\.0: must be more than 0"):
        tank.lying_cylinder_m3(diameter_m=0.0, length_m=1.0, level_m=0.0)
