"""Casing by a name out of the pipe tables: dimensions, mass and strength, and what overrides them."""

import math

import pytest

from tally.job.plan import Casing, Plan
from tally.planfile import example, read_text
from tests.published.units import IN_M, LB_FT_KG_M, PSI_PA

GIVEN = 'outer_diameter = "219.1 mm"\nwall = "8.18 mm"'


def read(lines: str, *changes: tuple[str, str]) -> Plan | list[str]:
    text = example()
    assert GIVEN in text
    text = text.replace(GIVEN, lines)
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    found = read_text(text)
    return found if isinstance(found, Plan) else [str(mistake) for mistake in found]


def casing(lines: str, *changes: tuple[str, str]) -> Casing:
    plan = read(lines, *changes)
    assert isinstance(plan, Plan), plan
    return plan.casing


THREADED = ('connection = "welded" ', 'connection = "threaded"\nlengths_are = "effective" ')
NO_GAP = ('weld_gap = "2 mm"\n', "")
UNSAID = ('material = "steel"               # "steel" or "pvc"\n', "")
PVC = ('material = "steel"', 'material = "pvc"')


def test_a_welded_pipe_takes_its_plain_end_mass() -> None:
    # Minn. Rules 4725.2350: NPS 8 Sch 40, 8.625 x 0.322 in, 28.55 lb/ft plain end, made with 10.68; here 10.691
    found = casing('size = "NPS 8 Sch 40"')
    assert found.outer_diameter_m / IN_M == pytest.approx(8.625)
    assert found.minimum_wall_m is not None and found.minimum_wall_m / IN_M == pytest.approx(0.322)
    assert found.mass_kg_m / LB_FT_KG_M == pytest.approx(28.55, rel=0.0013)
    assert found.size == "steel NPS 8 x 0.322"


def test_a_threaded_one_the_published_mass_with_its_coupling() -> None:
    # the same table: 29.35 lb/ft threaded and coupled
    found = casing('size = "NPS 8 STD"', THREADED, NO_GAP)
    assert found.mass_kg_m / LB_FT_KG_M == pytest.approx(29.35)


def test_a_coupling_is_shared_over_the_joints() -> None:
    # joints of 6.0789 m on average: (4 x 6.10 + 6.08 + 6.12 + 3 x 6.05)/9; 8.4 kg over that is 1.3818 kg/m
    found = casing(GIVEN + '\ncoupling_mass = "8.4 kg"', THREADED, NO_GAP)
    plain = casing(GIVEN)
    assert found.mass_kg_m - plain.mass_kg_m == pytest.approx(8.4 / ((4 * 6.10 + 6.08 + 6.12 + 3 * 6.05) / 9))


def test_plastic_goes_by_its_average_wall_and_keeps_the_minimum() -> None:
    # ASTM F480: 6.625 in SDR 21, wall 0.316 in; average 1.06 times, 0.335; 3.96 lb/ft by hand at SG 1.38
    found = casing('size = "PVC NPS 6 SDR 21"', PVC)
    assert found.minimum_wall_m is not None and found.minimum_wall_m / IN_M == pytest.approx(0.316)
    assert found.bore_m / IN_M == pytest.approx(6.625 - 2 * 0.316 * 1.06)
    assert found.mass_kg_m / LB_FT_KG_M == pytest.approx(3.96, abs=0.01)


def test_api_casing_brings_its_yield() -> None:
    found = casing('size = "API 6.625 20.00 J-55"')
    assert found.yield_pa == pytest.approx(55_000 * PSI_PA)
    # its plain end, 19.51 lb/ft, not its name
    assert found.mass_kg_m / LB_FT_KG_M == pytest.approx(19.51, abs=0.02)


def test_what_is_given_beside_the_name_counts() -> None:
    plain = casing('size = "NPS 8 Sch 40"\nmass = "45 kg/m"')
    assert plain.mass_kg_m == pytest.approx(45.0)
    thick = casing('size = "NPS 8 Sch 40"\nwall = "10 mm"', THREADED, NO_GAP)
    assert thick.bore_m == pytest.approx(8.625 * IN_M - 0.020)
    assert thick.minimum_wall_m == pytest.approx(0.010)
    # plain end again: the coupled mass was that of another wall
    assert thick.mass_kg_m == pytest.approx(math.pi * (8.625 * IN_M - 0.010) * 0.010 * 7850)
    wide = casing('size = "NPS 8 Sch 40"\nouter_diameter = "220 mm"')
    assert wide.bore_m == pytest.approx(0.220 - 2 * 0.322 * IN_M)


def test_the_name_alone_says_the_material() -> None:
    found = casing('size = "PVC NPS 6 Sch 80"', UNSAID)
    assert found.material == "pvc"


@pytest.mark.parametrize(
    ("lines", "changes", "words"),
    [
        ('size = "NPS 8 Sch 41"', (), "such as steel NPS 8 x 0.322"),
        ('size = "NPS 6 SDR 22"', (PVC,), "PVC NPS 6 SDR 21"),
        ('size = "NPS 6 Sch 40"', (UNSAID,), "such as steel NPS 6 x 0.280, PVC NPS 6 Sch 40"),
        ('size = "NPS 8 Sch 40"\nwall = "8 mm"\nbore = "200 mm"', (), "both wall and bore"),
        ('size = 8', (), "a pipe by name"),
        (GIVEN + '\nmass = "45 kg/m"\ncoupling_mass = "8 kg"', (), "couplings included"),
        ('material = "steel"', (UNSAID,), "casing.outer_diameter: given nothing"),
    ],
)  # fmt: skip
def test_mistakes_name_what_comes_near(lines: str, changes: tuple[tuple[str, str], ...], words: str) -> None:
    found = read(lines, *changes)
    assert not isinstance(found, Plan)
    assert any(words in line for line in found), found


def test_delivered_and_measuring_point() -> None:
    found = casing(GIVEN + '\ndelivered = 10\nmeasured_from = "0.8 m"')
    assert found.delivered == 10
    assert found.measured_from_m == pytest.approx(0.8)


@pytest.mark.parametrize("given", ["1 Pa", "35 psi", "150 MPa"])
def test_a_yield_that_no_steel_has_is_refused(given: str) -> None:
    found = read(f'{GIVEN}\nyield_strength = "{given}"')
    assert isinstance(found, list)
    (mistake,) = found
    assert "casing.yield_strength" in mistake and "170 to 1100 MPa" in mistake
