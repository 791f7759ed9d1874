"""Mixes of every kind read from a plan file, against rules and handbooks that print them."""

import pytest

from tally.job.plan import Mix, Plan
from tally.planfile import example, read_text
from tests.published.units import FT_M, LB_GAL_KG_M3, LB_KG, US_GAL_M3

NEAT = """kind = "neat cement"             # "neat cement", "cement-bentonite", "cement-sand", "bentonite" or "recipe"
bag = "40 kg"
water_per_bag = "18.4 L"         # or density = "1.88 kg/L"
"""
FT3 = FT_M**3


def read(lines: str) -> Plan | list[str]:
    text = example()
    start, end = text.index('kind = "neat cement"'), text.index("density_band")
    found = read_text(text[:start] + lines + "\n" + text[end:])
    return found if isinstance(found, Plan) else [str(mistake) for mistake in found]


def mix(lines: str) -> Mix:
    plan = read(lines)
    assert isinstance(plan, Plan), plan
    return plan.mixes[0]


def test_neat_cement_by_the_us_bag() -> None:
    # N.J.A.C. 7:9D Appendix A, Table 1: 5.2 gal to 94 lb, 15.6 lb/gal; 1.18 ft3 in cementing handbooks (recalled).
    # Both go with cement of 3.14; at 3.15 the density is 15.66
    found = mix('kind = "neat cement"\nbag = "94 lb"\nwater_per_bag = "5.2 US gal"\ncement_sg = 3.14')
    assert found.density_kg_m3 / LB_GAL_KG_M3 == pytest.approx(15.6, abs=0.05)
    assert found.yield_per_bag_m3 / FT3 == pytest.approx(1.18, abs=0.005)
    assert found.bag_of == "cement" and found.kind == "neat cement"


@pytest.mark.parametrize("bag", ["94 lb", "40 kg", "42.5 kg", "50 kg"])
def test_a_density_asked_for_is_the_density_made(bag: str) -> None:
    # one ratio of water to cement, whatever the bag: 0.46 by mass makes 15.66 lb/gal at SG 3.15
    found = mix(f'kind = "neat cement"\nbag = "{bag}"\ndensity = "1.8764 kg/L"')
    assert found.density_kg_m3 == pytest.approx(1876.4)
    assert found.water_per_bag_m3 * 999.1 / found.bag_kg == pytest.approx(0.46, abs=0.0005)


def test_bentonite_of_the_cement() -> None:
    # Lapeyrouse, cement additive calculations: class A + 4 %, 5.1 + 2.6 gal: 1.53 ft3, 14.13 lb/gal (cement 3.14)
    text = 'kind = "cement-bentonite"\nbag = "94 lb"\nbentonite = "4 %"\nbentonite_of = "cement"\ncement_sg = 3.14\n'
    found = mix(text + 'water_per_bag = "7.7 US gal"')
    assert found.yield_per_bag_m3 / FT3 == pytest.approx(1.53, abs=0.005)
    assert found.density_kg_m3 / LB_GAL_KG_M3 == pytest.approx(14.13, abs=0.015)
    assert found.parts[1].name == "bentonite"
    assert found.parts[1].mass_kg / LB_KG == pytest.approx(3.76)


def test_bentonite_of_the_water() -> None:
    # 3 % of 40 L: 1.199 kg, by hand; the same slurry whether by water or by the density that it makes
    text = 'kind = "cement-bentonite"\nbag = "40 kg"\nbentonite = "3 %"\nbentonite_of = "water"\n'
    by_water = mix(text + 'water_per_bag = "40 L"')
    assert by_water.parts[1].mass_kg == pytest.approx(0.03 * 0.040 * 999.1)
    by_density = mix(text + f'density = "{by_water.density_kg_m3!r} kg/m3"')
    assert by_density.water_per_bag_m3 == pytest.approx(0.040)
    assert by_density.parts[1].mass_kg == pytest.approx(by_water.parts[1].mass_kg)


def test_cement_and_sand() -> None:
    # 94 lb + 94 lb of sand, 5.2 gal: 0.4782 + 0.5684 (94 / 2.65 / 62.43) + 0.6952 = 1.7418 ft3, by hand
    found = mix('kind = "cement-sand"\nbag = "94 lb"\nsand_per_bag = "94 lb"\nwater_per_bag = "5.2 US gal"')
    assert found.yield_per_bag_m3 / FT3 == pytest.approx(1.742, abs=0.002)
    assert found.sand_per_bag_kg == pytest.approx(94 * LB_KG)


def test_bentonite_by_its_solids() -> None:
    # Water Well Journal, September 2015, p 33: 50 lb and 24 gal make 3.5 ft3 of 20 % solids
    found = mix('kind = "bentonite"\nbag = "50 lb"\nsolids = "20 %"')
    assert found.water_per_bag_m3 / US_GAL_M3 == pytest.approx(24, abs=0.05)
    assert found.yield_per_bag_m3 / FT3 == pytest.approx(3.5, abs=0.05)
    assert found.bag_of == "bentonite"
    by_water = mix('kind = "bentonite"\nbag = "50 lb"\nwater_per_bag = "24 US gal"')
    assert by_water.yield_per_bag_m3 == pytest.approx(found.yield_per_bag_m3, rel=0.002)
    # N.J.A.C. 7:9D Appendix A, Table 3: 50 lb with 34 gal, 9.2 lb/gal
    thin = mix('kind = "bentonite"\nbag = "50 lb"\nwater_per_bag = "34 US gal"')
    assert thin.density_kg_m3 / LB_GAL_KG_M3 == pytest.approx(9.2, abs=0.05)


RECIPE = """kind = "recipe"
water_per_bag = "6.19 US gal"
ingredient = [
  { name = "cement", mass = "94 lb", sg = 3.15 },
  { name = "silica sand", mass = "200 lb", sg = 2.65 },
  { name = "bentonite", mass = "1.04 lb", sg = 2.65 },
]
"""


def test_a_recipe_of_any_parts() -> None:
    # N.J.A.C. 7:9D Appendix A, Table 4: 18.2 lb/gal, printed with about 1 % of air; 18.39 without, by absolute volumes
    found = mix(RECIPE)
    assert found.density_kg_m3 / LB_GAL_KG_M3 == pytest.approx(18.39, abs=0.02)
    assert found.bag_kg == pytest.approx(94 * LB_KG)
    assert [part.name for part in found.parts] == ["cement", "silica sand", "bentonite"]
    by_density = mix(RECIPE.replace('water_per_bag = "6.19 US gal"', f'density = "{found.density_kg_m3!r} kg/m3"'))
    assert by_density.water_per_bag_m3 / US_GAL_M3 == pytest.approx(6.19)


BAG = 'bag = "40 kg"\n'
WET = 'kind = "neat cement"\n' + BAG + 'water_per_bag = "18 L"\n'


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ('kind = "mud"\n' + BAG + 'water_per_bag = "18 L"', 'given mud; accepted: "neat cement" or'),
        ('kind = "bentonite"\n' + BAG, "the water per bag, the density or the solids, exactly one"),
        ('kind = "bentonite"\n' + BAG + 'solids = "20 %"\ndensity = "1.1 kg/L"', "both density and solids"),
        ('kind = "bentonite"\n' + BAG + 'solids = "100 %"', "under 100 %"),
        ('kind = "bentonite"\n' + BAG + 'solids = "20 %"\ncement_sg = 3.1', "no cement_sg"),
        (WET + 'solids = "20 %"', 'kind = "bentonite", or no solids'),
        (WET + 'mixer = "20 L"', "at least what one bag makes, 30.7 L"),
        (WET + 'plastic_viscosity = "40 cP"', "friction is not guessed"),
        ('kind = "neat cement"\n' + BAG + 'density = "3.5 kg/L"', "at most the solids'"),
        ('kind = "recipe"\nwater_per_bag = "18 L"', "one or more tables"),
        (RECIPE + BAG, "the one whose bags are counted first"),
        (RECIPE.replace(', sg = 3.15', ""), "mix[1].ingredient[1].sg: given nothing"),
        (RECIPE.replace("sg = 3.15", "sg = 40"), "a number from 0.1 to 20"),
        (RECIPE.replace("sg = 3.15", "sg = 3.15, colour = 1"), "a key that is not known here"),
    ],
)  # fmt: skip
def test_mistakes_say_what_is_accepted(lines: str, words: str) -> None:
    found = read(lines)
    assert not isinstance(found, Plan)
    assert any(words in line for line in found), found


def test_rheology_and_mixer_are_kept() -> None:
    text = NEAT + 'mixer = "120 L"\nplastic_viscosity = "40 cP"\nyield_point = "30 lb/100 ft2"\n'
    found = mix(text)
    assert found.mixer_m3 == pytest.approx(0.120)
    assert found.plastic_viscosity_pa_s == pytest.approx(0.040)
    assert found.yield_stress_pa == pytest.approx(14.364, abs=0.001)  # 30 x 0.4788, NIST SP 811 pound-force and foot
