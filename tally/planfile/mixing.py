"""The [[mix]] tables: water, yield and density of one bag, worked out by absolute volumes from what is given."""

from dataclasses import dataclass

from tally.engineering import grout
from tally.engineering.grout import Ingredient
from tally.job.view.quantity import Kind
from tally.planfile.parts import Values, given
from tally.planfile.table import Table

KINDS = ("neat cement", "cement-bentonite", "cement-sand", "bentonite", "recipe")
_ONLY_IN = {
    "bentonite": "cement-bentonite",
    "bentonite_of": "cement-bentonite",
    "sand_per_bag": "cement-sand",
    "solids": "bentonite",
    "ingredient": "recipe",
}


@dataclass(frozen=True)
class _Solids:
    """What goes in with one bag. Bentonite by weight of water comes with the water, whatever that will be."""

    parts: tuple[Ingredient, ...]
    of_water: float = 0.0
    values: tuple[tuple[str, object], ...] = ()

    def with_water(self, water: float) -> tuple[Ingredient, ...]:
        if not self.of_water:
            return self.parts
        clay = grout.bentonite_mass_kg(cement_kg=0.0, water_m3=water, bentonite_fraction=self.of_water, basis="water")
        return (*self.parts, Ingredient("bentonite", clay, grout.BENTONITE_SG))


def mix(table: Table) -> Values:
    kind = table.choice("kind", KINDS)
    _out_of_place(table, kind)
    solids = _solids(table, kind)
    values = given(
        name=table.text("name", required=True),
        kind=kind,
        density_band_kg_m3=table.quantity("density_band", Kind.DENSITY, required=True, above_zero=True),
        working_time_s=table.quantity("working_time", Kind.DURATION, required=True, above_zero=True),
        waiting_time_s=table.quantity("waiting_time", Kind.DURATION, required=True, above_zero=True),
        mixer_m3=table.quantity("mixer", Kind.VOLUME, above_zero=True),
        **_rheology(table),
    )
    fraction = table.quantity("solids", Kind.SHARE, above_zero=True)
    water = table.quantity("water_per_bag", Kind.VOLUME, above_zero=True)
    density = table.quantity("density", Kind.DENSITY, above_zero=True)
    if fraction is not None and fraction >= 1:
        table.note("solids", f"{fraction * 100:g} %", "a share of the whole under 100 %")
    _one_way_to_the_water(table, kind)
    if solids is not None and table.sound:
        values |= _slurry(table, solids, water, density, fraction)
        _fits_the_mixer(table, values)
    table.close()
    return values


def _out_of_place(table: Table, kind: str | None) -> None:
    for key, wanted in _ONLY_IN.items():
        if kind is not None and kind != wanted and table.has(key):
            table.note(key, f'{key} in a mix of kind "{kind}"', f'kind = "{wanted}", or no {key}')
    for key in ("bag", "cement_sg"):
        if kind == "recipe" and table.has(key):
            table.note(key, f'{key} in a mix of kind "recipe"', "the ingredients, the one whose bags are counted first")
    if kind == "bentonite" and table.has("cement_sg"):
        table.note("cement_sg", 'cement_sg in a mix of kind "bentonite"', "no cement_sg")


def _one_way_to_the_water(table: Table, kind: str | None) -> None:
    ways = ("water_per_bag", "density", "solids") if kind == "bentonite" else ("water_per_bag", "density")
    said = [way for way in ways if table.has(way)]
    if len(said) == 1:
        return
    accepted = "the water per bag, the density or the solids" if len(ways) == 3 else "the water per bag or the density"
    both = f"both {said[0]} and {said[1]}" if said else "nothing"
    table.note("water_per_bag", both, f"{accepted}, exactly one of them")


def _rheology(table: Table) -> Values:
    viscosity = table.quantity("plastic_viscosity", Kind.VISCOSITY, above_zero=True)
    stress = table.quantity("yield_point", Kind.YIELD_STRESS)
    if table.has("plastic_viscosity") != table.has("yield_point"):
        missing = "yield_point" if table.has("plastic_viscosity") else "plastic_viscosity"
        table.note(missing, "nothing", "both plastic_viscosity and yield_point, or neither: friction is not guessed")
    return given(plastic_viscosity_pa_s=viscosity, yield_stress_pa=stress)


def _solids(table: Table, kind: str | None) -> _Solids | None:
    """What one bag takes, or None where something is missing or wrong (which has then been noted)."""
    bag = table.quantity("bag", Kind.MASS, required=kind != "recipe", above_zero=True)
    sg = table.number("cement_sg", 2.5, 3.5)
    bentonite = table.quantity("bentonite", Kind.SHARE, required=kind == "cement-bentonite", above_zero=True)
    basis = table.choice("bentonite_of", ("cement", "water"), required=kind == "cement-bentonite")
    sand = table.quantity("sand_per_bag", Kind.MASS, required=kind == "cement-sand", above_zero=True)
    recipe = _ingredients(table, kind)
    if bentonite is not None and bentonite > 1:
        table.note("bentonite", f"{bentonite * 100:g} %", "at most 100 %")
    if kind == "recipe":
        return _Solids(recipe, values=(("bag_kg", recipe[0].mass_kg),)) if recipe else None
    if bag is None:
        return None
    if kind == "bentonite":
        return _Solids((Ingredient("bentonite", bag, grout.BENTONITE_SG),), values=(("bag_kg", bag),))
    cement = Ingredient("cement", bag, sg or grout.CEMENT_SG)
    said = given(bag_kg=bag, cement_sg=sg, bentonite_share=bentonite, bentonite_basis=basis, sand_per_bag_kg=sand)
    values = tuple(said.items())
    if sand:
        return _Solids((cement, Ingredient("sand", sand, grout.SAND_SG)), values=values)
    if bentonite and basis == "cement":
        clay = Ingredient("bentonite", bentonite * bag, grout.BENTONITE_SG)
        return _Solids((cement, clay), values=values)
    return _Solids((cement,), of_water=bentonite or 0.0, values=values)


def _ingredients(table: Table, kind: str | None) -> tuple[Ingredient, ...]:
    """The recipe's solids to one bag of the first; empty where there is none or any is wrong."""
    if kind != "recipe" and not table.has("ingredient"):
        return ()
    found: list[Ingredient] = []
    sound = True
    for row in table.tables("ingredient") or []:
        name = row.text("name", required=True, example="what it is")
        mass = row.quantity("mass", Kind.MASS, required=True, above_zero=True)
        sg = row.number("sg", 0.1, 20)
        if sg is None and not row.has("sg"):
            row.note("sg", "nothing", "its specific gravity, a number from 0.1 to 20")
        sound = row.close() and sound
        if name is not None and mass is not None and sg is not None:
            found.append(Ingredient(name, mass, sg))
    return tuple(found) if sound else ()


def _slurry(
    table: Table, solids: _Solids, water: float | None, density: float | None, fraction: float | None
) -> Values:
    """Water, yield and density of one bag."""
    try:
        if fraction is not None:
            bentonite = grout.bentonite_by_solids(bentonite_kg=solids.parts[0].mass_kg, solids_fraction=fraction)
            water = bentonite.water_m3
        elif density is not None:
            water = _water_for_density(solids, density)
        assert water is not None
        parts = solids.with_water(water)
        slurry = grout.slurry_of(solids=parts, water_m3=water)
    except ValueError as fault:
        key = "solids" if fraction is not None else "density" if density is not None else "water_per_bag"
        table.note(key, str(fault), "what these solids and water can make")
        return {}
    listed = [{"name": part.name, "mass_kg": part.mass_kg, "specific_gravity": part.specific_gravity} for part in parts]
    worked_out = {
        "water_per_bag_m3": water,
        "yield_per_bag_m3": slurry.volume_m3,
        "density_kg_m3": slurry.density_kg_m3,
    }
    return dict(solids.values) | {"parts": listed} | worked_out


def _fits_the_mixer(table: Table, values: Values) -> None:
    mixer, made = values.get("mixer_m3"), values.get("yield_per_bag_m3")
    if mixer and made and mixer < made * (1 - 1e-9):
        table.note("mixer", f"{mixer * 1000:g} L", f"at least what one bag makes, {made * 1000:.1f} L")


def _water_for_density(solids: _Solids, density: float) -> float:
    """Bentonite by weight of water comes with the water, so that it counts as a heavier mixing fluid."""
    if not solids.of_water:
        return grout.water_for_density_m3(solids=solids.parts, density_kg_m3=density)
    clay = Ingredient("bentonite", solids.of_water * grout.WATER_KG_M3, grout.BENTONITE_SG)
    fluid = grout.slurry_of(solids=(clay,), water_m3=1.0)
    dry = grout.slurry_of(solids=solids.parts, water_m3=0.0)
    if not fluid.density_kg_m3 < density <= dry.density_kg_m3:
        raise ValueError(
            f"{density:g} kg/m3, outside {fluid.density_kg_m3:.0f} to {dry.density_kg_m3:.0f} kg/m3 of the parts"
        )
    return (dry.mass_kg - density * dry.volume_m3) / (density * fluid.volume_m3 - fluid.mass_kg)
