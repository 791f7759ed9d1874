"""Mixes against printed yields and densities; sources in tests/published/grout.toml."""

import pytest

from tally.engineering.grout import (
    BENTONITE_SG,
    Ingredient,
    Slurry,
    api_water_m3,
    bentonite_by_solids,
    cement_bentonite,
    cement_sand,
    neat_cement,
    slurry_of,
    water_cement_ratio,
    water_for_density_m3,
)
from tests.published.tables import Row, rows
from tests.published.units import FT3_M3, LB_FT3_KG_M3, LB_GAL_KG_M3, LB_KG, US_GAL_M3

SACK_KG = 94 * LB_KG


def agree(row: Row, slurry: Slurry, cement_kg: float = SACK_KG) -> None:
    """Compare whichever figure the row prints."""
    worked = {
        "yield_ft3": slurry.volume_m3 / FT3_M3,
        "volume_gal": slurry.volume_m3 / US_GAL_M3,
        "density_lb_gal": slurry.density_kg_m3 / LB_GAL_KG_M3,
        "density_lb_ft3": slurry.density_kg_m3 / LB_FT3_KG_M3,
        "mass_lb": slurry.mass_kg / LB_KG,
        "water_cement": water_cement_ratio(
            water_m3=slurry.water_m3, cement_kg=cement_kg, water_kg_m3=row["water_lb_gal"] * LB_GAL_KG_M3
        ),
        "solids": 1 - slurry.water_m3 * row["water_lb_gal"] * LB_GAL_KG_M3 / slurry.mass_kg,
    }
    printed = [name for name in worked if name in row.values]
    if "at_least_lb_gal" in row.values:
        assert worked["density_lb_gal"] >= row["at_least_lb_gal"], row.source
    else:
        assert len(printed) == 1
        row.holds(worked[printed[0]], printed[0])


@pytest.mark.parametrize(
    "row",
    rows("neat_magazine", "neat_engineering_page", "neat_new_jersey", "neat_ohio", "neat_army_depot", "neat_api"),
    ids=repr,
)
def test_neat_cement(row: Row) -> None:
    slurry = neat_cement(
        cement_kg=SACK_KG,
        water_m3=row["water_gal"] * US_GAL_M3,
        cement_sg=row["cement_sg"],
        water_kg_m3=row["water_lb_gal"] * LB_GAL_KG_M3,
    )
    agree(row, slurry)


@pytest.mark.parametrize("row", rows("gel_worked", "gel_new_jersey", "gel_handbook", "instrument_grout"), ids=repr)
def test_cement_bentonite(row: Row) -> None:
    water_m3, water_kg_m3 = row["water_gal"] * US_GAL_M3, row["water_lb_gal"] * LB_GAL_KG_M3
    share = row["bentonite_share"] if "bentonite_share" in row else row["bentonite_lb"] / 94
    dry = cement_bentonite(
        cement_kg=SACK_KG,
        water_m3=water_m3,
        bentonite_fraction=share,
        basis="cement",
        cement_sg=row["cement_sg"],
        water_kg_m3=water_kg_m3,
    )
    agree(row, dry)
    # the same mass of bentonite stated by weight of water is the same grout
    wet = cement_bentonite(
        cement_kg=SACK_KG,
        water_m3=water_m3,
        bentonite_fraction=share * SACK_KG / (water_m3 * water_kg_m3),
        basis="water",
        cement_sg=row["cement_sg"],
        water_kg_m3=water_kg_m3,
    )
    agree(row, wet)


@pytest.mark.parametrize("row", rows("sand_california"), ids=repr)
def test_cement_sand(row: Row) -> None:
    slurry = cement_sand(
        cement_kg=SACK_KG,
        sand_kg=row["sand_lb"] * LB_KG,
        water_m3=row["water_gal"] * US_GAL_M3,
        water_kg_m3=row["water_lb_gal"] * LB_GAL_KG_M3,
    )
    agree(row, slurry)


@pytest.mark.parametrize("row", rows("sand_new_jersey"), ids=repr)
def test_a_free_recipe(row: Row) -> None:
    solids = (
        Ingredient("cement", SACK_KG, row["cement_sg"]),
        Ingredient("sand", row["sand_lb"] * LB_KG, row["sand_sg"]),
        Ingredient("bentonite", row["bentonite_lb"] * LB_KG, BENTONITE_SG),
    )
    water_kg_m3 = row["water_lb_gal"] * LB_GAL_KG_M3
    agree(row, slurry_of(solids=solids, water_m3=row["water_gal"] * US_GAL_M3, water_kg_m3=water_kg_m3))


@pytest.mark.parametrize("row", rows("bentonite_journal", "bentonite_new_jersey", "bentonite_montana"), ids=repr)
def test_bentonite_by_solids(row: Row) -> None:
    bentonite_kg, water_kg_m3 = row["bentonite_lb"] * LB_KG, row["water_lb_gal"] * LB_GAL_KG_M3
    water_m3 = row["water_gal"] * US_GAL_M3
    fraction = bentonite_kg / (bentonite_kg + water_m3 * water_kg_m3)
    made = bentonite_by_solids(bentonite_kg=bentonite_kg, solids_fraction=fraction, water_kg_m3=water_kg_m3)
    assert made.water_m3 == pytest.approx(water_m3, rel=1e-12)
    agree(row, made)


@pytest.mark.parametrize("row", rows("neat_new_jersey", "neat_api"), ids=repr)
def test_water_for_a_printed_density(row: Row) -> None:
    if "density_lb_gal" not in row.values:
        return
    water_kg_m3 = row["water_lb_gal"] * LB_GAL_KG_M3
    water_m3 = water_for_density_m3(
        solids=[Ingredient("cement", SACK_KG, row["cement_sg"])],
        density_kg_m3=row["density_lb_gal"] * LB_GAL_KG_M3,
        water_kg_m3=water_kg_m3,
    )
    # near 5 gal a sack, one tenth of a pound per gallon is worth 0.15 gal
    assert water_m3 / US_GAL_M3 == pytest.approx(row["water_gal"], abs=0.13), row.source


@pytest.mark.parametrize("row", rows("api_water"), ids=repr)
def test_water_by_class(row: Row) -> None:
    row.holds(api_water_m3(row["cement_class"], SACK_KG) / US_GAL_M3, "water_gal")
    # by the sack, so that any other bag takes its share
    assert api_water_m3(row["cement_class"], 40.0) == pytest.approx(row["water_gal"] * US_GAL_M3 * 40.0 / SACK_KG)


@pytest.mark.parametrize("row", rows("neat_by_the_litre"), ids=repr)
def test_cement_by_the_litre_of_water(row: Row) -> None:
    mix = neat_cement(cement_kg=row["kg_to_a_litre"], water_m3=0.001)
    row.holds(mix.density_kg_m3 / LB_GAL_KG_M3, "density_lb_gal")
