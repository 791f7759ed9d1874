"""Mixes: identities of the absolute-volume method, bags and batches by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.engineering import grout
from tally.engineering.grout import Ingredient

masses = st.floats(1.0, 5000.0)
gravities = st.floats(1.5, 5.0)


@given(masses, gravities, st.floats(0.001, 3.0), st.floats(0.1, 10.0))
def test_twice_the_mix_is_twice_the_volume_at_the_same_density(kg: float, sg: float, water: float, k: float) -> None:
    one = grout.slurry_of(solids=[Ingredient("a", kg, sg)], water_m3=water)
    many = grout.slurry_of(solids=[Ingredient("a", k * kg, sg)], water_m3=k * water)
    assert many.volume_m3 == pytest.approx(k * one.volume_m3)
    assert many.density_kg_m3 == pytest.approx(one.density_kg_m3)


@given(masses, gravities, st.floats(0.001, 3.0))
def test_density_lies_between_water_and_solids(kg: float, sg: float, water: float) -> None:
    mix = grout.slurry_of(solids=[Ingredient("a", kg, sg)], water_m3=water)
    assert grout.WATER_KG_M3 <= mix.density_kg_m3 <= sg * grout.WATER_KG_M3


@given(masses, gravities, st.floats(0.02, 0.98))
def test_water_for_a_density_gives_that_density(kg: float, sg: float, share: float) -> None:
    solids = [Ingredient("a", kg, sg)]
    wanted = grout.WATER_KG_M3 * (1 + share * (sg - 1))
    water = grout.water_for_density_m3(solids=solids, density_kg_m3=wanted)
    assert grout.slurry_of(solids=solids, water_m3=water).density_kg_m3 == pytest.approx(wanted)


@pytest.mark.parametrize("density", [900.0, 999.1, 3200.0])
def test_a_density_out_of_reach_is_refused(density: float) -> None:
    with pytest.raises(ValueError, match=rf"density_kg_m3 = {density}: must be more than the water's 999\.1"):
        grout.water_for_density_m3(solids=[Ingredient("cement", 50, 3.15)], density_kg_m3=density)


def test_a_metric_bag_by_hand() -> None:
    # 50 kg at SG 3.15 in 20.0 L: 50/(3.15 x 0.9991) = 15.887 L of solid; 35.887 L; 69.982/35.887 = 1.9500 kg/L
    mix = grout.neat_cement(cement_kg=50, water_m3=0.020)
    assert mix.volume_m3 * 1000 == pytest.approx(35.887, abs=0.0005)
    assert mix.density_kg_m3 == pytest.approx(1950.0, abs=0.05)
    assert mix.water_m3 == 0.020


def test_no_bentonite_is_neat_cement() -> None:
    neat = grout.neat_cement(cement_kg=50, water_m3=0.025)
    for basis in ("cement", "water"):
        mixed = grout.cement_bentonite(cement_kg=50, water_m3=0.025, bentonite_fraction=0, basis=basis)
        assert mixed == neat


def test_the_basis_of_a_percentage_is_never_guessed() -> None:
    with pytest.raises(ValueError, match="basis = 'mix': must be one of cement, water"):
        grout.bentonite_mass_kg(cement_kg=50, water_m3=0.03, bentonite_fraction=0.04, basis="mix")
    with pytest.raises(ValueError, match=r"bentonite_fraction = 4: must lie between 0 and 1 \(0\.04 is 4 %\)"):
        grout.bentonite_mass_kg(cement_kg=50, water_m3=0.03, bentonite_fraction=4, basis="cement")
    # by hand: 4 % of 50 kg; 4 % of 30 L at 999.1 kg/m3
    assert grout.bentonite_mass_kg(
        cement_kg=50, water_m3=0.03, bentonite_fraction=0.04, basis="cement"
    ) == pytest.approx(2)
    by_water = grout.bentonite_mass_kg(cement_kg=50, water_m3=0.03, bentonite_fraction=0.04, basis="water")
    assert by_water == pytest.approx(1.19892)


@given(st.floats(0, 100), st.floats(0.01, 0.2))
def test_whole_bags_are_enough_and_none_too_many(volume: float, per_bag: float) -> None:
    bags = grout.whole_bags(volume, per_bag)
    assert bags * per_bag >= volume * (1 - 1e-8) - 1e-9
    assert (bags - 1) * per_bag < volume or bags == 0


@pytest.mark.parametrize(
    ("volume", "per_bag", "bags"), [(0, 0.035, 0), (0.035, 0.035, 1), (0.0351, 0.035, 2), (0.3, 0.1, 3), (1.1, 0.1, 11)]
)
def test_whole_bags_by_hand(volume: float, per_bag: float, bags: int) -> None:
    # 0.3/0.1 and 1.1/0.1 are a hair over whole numbers in binary and must not cost a bag
    assert grout.whole_bags(volume, per_bag) == bags


def test_batches_by_hand() -> None:
    # 1.0 m3 at 36 L a bag: 28 bags; a 200 L mixer takes 5; six loads, the last of 3
    made = grout.batches(volume_needed_m3=1.0, yield_per_bag_m3=0.036, mixer_m3=0.200)
    assert (made.count, made.bags_each, made.bags_last) == (6, 5, 3)
    assert made.volume_each_m3 == pytest.approx(0.180)
    none = grout.batches(volume_needed_m3=0.0, yield_per_bag_m3=0.036, mixer_m3=0.200)
    assert (none.count, none.bags_last) == (0, 0)
    with pytest.raises(ValueError, match=r"mixer_m3 = 0\.03: must hold one bag's yield"):
        grout.batches(volume_needed_m3=1.0, yield_per_bag_m3=0.036, mixer_m3=0.030)


@given(st.floats(0.001, 30), st.floats(0.02, 0.06), st.floats(0.06, 1.0))
def test_batches_hold_all_the_bags(volume: float, per_bag: float, mixer: float) -> None:
    made = grout.batches(volume_needed_m3=volume, yield_per_bag_m3=per_bag, mixer_m3=mixer)
    assert (made.count - 1) * made.bags_each + made.bags_last == grout.whole_bags(volume, per_bag)
    assert 1 <= made.bags_last <= made.bags_each
    assert made.volume_each_m3 <= mixer * (1 + 1e-8)


def test_water_to_have_aboard_by_hand() -> None:
    water = grout.mixing_water_m3(bags=28, water_per_bag_m3=0.022, wash_up_m3=0.15, line_fill_m3=0.04)
    assert water == pytest.approx(28 * 0.022 + 0.19)
    with pytest.raises(ValueError, match="bags = -1: must be 0 or more"):
        grout.mixing_water_m3(bags=-1, water_per_bag_m3=0.02)


@pytest.mark.parametrize("bad", [0.0, -3.0, math.nan, math.inf])
def test_an_ingredient_that_is_none_is_refused_by_name(bad: float) -> None:
    with pytest.raises(ValueError, match=r"mass_kg of lime = .*: must be"):
        grout.slurry_of(solids=[Ingredient("lime", bad, 2.2)], water_m3=0.1)
    with pytest.raises(ValueError, match=r"specific_gravity of lime = .*: must be"):
        grout.slurry_of(solids=[Ingredient("lime", 5, bad)], water_m3=0.1)
    with pytest.raises(ValueError, match="must hold something"):
        grout.slurry_of(solids=[], water_m3=0)


def test_water_for_the_mix_alone() -> None:
    assert grout.mixing_water_m3(bags=10, water_per_bag_m3=0.02) == pytest.approx(0.2)


@given(masses, st.floats(0.02, 0.6))
def test_solids_are_the_share_by_mass(kg: float, share: float) -> None:
    mix = grout.bentonite_by_solids(bentonite_kg=kg, solids_fraction=share)
    assert kg / mix.mass_kg == pytest.approx(share)


def test_the_sg_of_oilfield_handbooks() -> None:
    # Lapeyrouse, section 2.8, water requirement table: 3.14 (read); construction practice takes 3.15
    assert (grout.OILFIELD_CEMENT_SG, grout.CEMENT_SG) == (3.14, 3.15)


def test_shares_end_at_the_whole() -> None:
    share = {"cement_kg": 40.0, "water_m3": 0.02}
    assert grout.bentonite_mass_kg(bentonite_fraction=1.0, basis="cement", **share) == 40.0
    with pytest.raises(ValueError, match=r"bentonite_fraction = 1\.001: must lie between 0 and 1"):
        grout.bentonite_mass_kg(bentonite_fraction=1.001, basis="cement", **share)
    for fraction, words in ((1.0, "must be less than the whole"), (0.0, "must be more than 0")):
        with pytest.raises(ValueError, match=rf"solids_fraction = {fraction}: {words}"):
            grout.bentonite_by_solids(bentonite_kg=22.7, solids_fraction=fraction)


def test_a_pinch_of_bentonite_counts() -> None:
    # 0.05 % of 40 kg: 20 g
    made = grout.cement_bentonite(cement_kg=40.0, water_m3=0.02, bentonite_fraction=0.0005, basis="cement")
    assert made.mass_kg == pytest.approx(40.02 + 0.02 * 999.1)


def test_the_density_of_the_dry_solids_takes_no_water() -> None:
    cement = [grout.Ingredient("cement", 40.0, 3.0)]
    dry = grout.slurry_of(solids=cement, water_m3=0.0).density_kg_m3
    assert grout.water_for_density_m3(solids=cement, density_kg_m3=dry) == 0.0


def test_no_bags_take_no_water_to_mix() -> None:
    assert grout.mixing_water_m3(bags=0, water_per_bag_m3=0.02, wash_up_m3=0.15) == 0.15


def test_a_cement_of_no_class_is_refused() -> None:
    with pytest.raises(ValueError, match="cement_class = 'K': must be one of A, B, C, D, E, F, G, H"):
        grout.api_water_m3("K", 42.6)
