"""The [casing] table and the [[mix]] tables: the two whose figures are partly worked out from what is given."""

from tally.engineering import grout, pipe
from tally.job.view.quantity import Kind
from tally.planfile.parts import Values, given
from tally.planfile.table import Table

LENGTHS = 'a list of lengths, such as ["6.10 m", "12 x 6.05 m"]'


def casing(table: Table) -> Values:
    material = table.choice("material", ("steel", "pvc"))
    outer = table.quantity("outer_diameter", Kind.DIAMETER, required=True, above_zero=True)
    bore = _bore(table, material, outer)
    mass = table.quantity("mass", Kind.LINE_MASS, above_zero=True)
    if mass is None and not table.has("mass") and material and outer and bore:
        density = pipe.STEEL_KG_M3 if material == "steel" else pipe.PVC_KG_M3
        mass = pipe.plain_end_mass_kg_m(outer_diameter_m=outer, bore_m=bore, density_kg_m3=density)
    values = given(
        material=material,
        standard=table.text("standard"),
        outer_diameter_m=outer,
        bore_m=bore,
        mass_kg_m=mass,
        **_connection(table),
        shoe=table.choice("shoe", ("open", "float", "closed")),
        shoe_length_m=table.length("shoe_length"),
        shoe_mass_kg=table.quantity("shoe_mass", Kind.MASS),
        target_shoe_depth_m=table.quantity("target_shoe_depth", Kind.DEPTH, required=True, above_zero=True),
        stick_up_m=table.length("stick_up", required=True),
        stick_up_tolerance_m=table.length("stick_up_tolerance", required=True),
        **_joints(table),
        centralizer_depths_m=_depths(table),
        keep_welds_from_ground_m=table.length("keep_welds_from_ground"),
        keep_welds_from_rock_m=table.length("keep_welds_from_rock"),
        keep_welds_from_centralizers_m=table.length("keep_welds_from_centralizers"),
    )
    _loss_fits(table, values)
    table.close()
    return values


def _bore(table: Table, material: str | None, outer: float | None) -> float | None:
    """Mass and bore of plastic pipe follow its average wall; a wall in a table or on the pipe is the minimum one."""
    wall = table.quantity("wall", Kind.DIAMETER, above_zero=True)
    bore = table.quantity("bore", Kind.DIAMETER, above_zero=True)
    if table.has("wall") == table.has("bore"):
        table.note(
            "wall",
            "both wall and bore" if table.has("wall") else "nothing",
            "the wall or the bore, exactly one of them",
        )
        return None
    if outer is None or material is None:
        return None
    if wall is not None:
        bore = outer - 2 * (wall if material == "steel" else pipe.average_wall_m(wall))
        if bore <= 0:
            table.note(
                "wall", f"{wall * 1000:g} mm", f"a wall well under half of the outside diameter, {outer * 1000:g} mm"
            )
            return None
    if bore is not None and bore >= outer:
        table.note("bore", f"{bore * 1000:g} mm", f"less than the outside diameter, {outer * 1000:g} mm")
        return None
    return bore


def _connection(table: Table) -> Values:
    connection = table.choice("connection", ("welded", "threaded", "solvent"))
    welded = connection == "welded"
    lengths_are = table.choice("lengths_are", ("overall", "effective"), required=connection is not None and not welded)
    loss = table.length("make_up_loss", required=not welded and lengths_are == "overall")
    gap = table.length("weld_gap")
    if loss and welded:
        table.note("make_up_loss", f"{loss * 1000:g} mm", "nothing: a weld loses no length (see weld_gap)")
    if loss and lengths_are == "effective":
        table.note(
            "make_up_loss", f"{loss * 1000:g} mm", 'nothing where lengths_are = "effective": it is already taken off'
        )
    if gap and connection is not None and not welded:
        table.note("weld_gap", f"{gap * 1000:g} mm", f"nothing: a {connection} connection has no weld gap")
    return given(connection=connection, make_up_loss_m=loss, weld_gap_m=gap)


def _joints(table: Table) -> Values:
    spread = table.quantities(
        "joint_range", Kind.LENGTH, accepted='two lengths, such as ["5.5 m", "6.5 m"]', required=True
    )
    rack = table.quantities("rack", Kind.LENGTH, accepted=LENGTHS, required=True)
    if spread is not None and (len(spread) != 2 or spread[0][1] > spread[1][1]):
        table.note(
            "joint_range",
            f"{len(spread)} lengths" if len(spread) != 2 else "the longer first",
            "the shortest and the longest joint",
        )
        spread = None
    if rack is not None and not 1 <= len(rack) <= 1000:
        table.note("rack", f"{len(rack)} joints", "between 1 and 1000 joints")
        rack = None
    low, high = (spread[0][1], spread[1][1]) if spread else (None, None)
    for position, length in dict(rack or []).items():
        if low is not None and high is not None and not low - 1e-9 <= length <= high + 1e-9:
            where = (*table.path, "rack", position)
            table.desk.note(where, f"{length:g} m", f"a length within joint_range, {low:g} m to {high:g} m")
    return given(joint_min_m=low, joint_max_m=high, rack_m=tuple(length for _, length in rack) if rack else None)


def _loss_fits(table: Table, values: Values) -> None:
    loss, shortest = values.get("make_up_loss_m"), values.get("joint_min_m")
    if loss and shortest and loss >= shortest:
        table.note("make_up_loss", f"{loss:g} m", f"less than the shortest joint, {shortest:g} m")


def _depths(table: Table) -> tuple[float, ...] | None:
    depths = table.quantities("centralizers", Kind.DEPTH, accepted='a list of depths, such as ["3 m", "12 m"]')
    return None if depths is None else tuple(sorted(depth for _, depth in depths))


def mix(table: Table) -> Values:
    kind = table.choice("kind", ("neat cement", "cement-bentonite", "cement-sand"))
    bag = table.quantity("bag", Kind.MASS, required=True, above_zero=True)
    cement_sg = table.number("cement_sg", 2.5, 3.5)
    bentonite, basis, sand = _additions(table, kind)
    values = given(
        name=table.text("name", required=True),
        bag_kg=bag,
        cement_sg=cement_sg,
        bentonite_share=bentonite,
        bentonite_basis=basis,
        sand_per_bag_kg=sand,
        density_band_kg_m3=table.quantity("density_band", Kind.DENSITY, required=True, above_zero=True),
        working_time_s=table.quantity("working_time", Kind.DURATION, required=True, above_zero=True),
        waiting_time_s=table.quantity("waiting_time", Kind.DURATION, required=True, above_zero=True),
    )
    water = table.quantity("water_per_bag", Kind.VOLUME, above_zero=True)
    density = table.quantity("density", Kind.DENSITY, above_zero=True)
    if table.has("water_per_bag") == table.has("density"):
        both = "both water_per_bag and density" if table.has("density") else "nothing"
        table.note("water_per_bag", both, "the water per bag or the density, exactly one of them")
    if bag is not None and table.sound:
        values |= _slurry(
            table, bag, cement_sg or grout.CEMENT_SG, bentonite or 0.0, basis or "cement", sand or 0.0, water, density
        )
    table.close()
    return values


def _additions(table: Table, kind: str | None) -> tuple[float | None, str | None, float | None]:
    with_bentonite, with_sand = kind == "cement-bentonite", kind == "cement-sand"
    bentonite = table.quantity("bentonite", Kind.SHARE, required=with_bentonite, above_zero=True)
    basis = table.choice("bentonite_of", ("cement", "water"), required=with_bentonite)
    sand = table.quantity("sand_per_bag", Kind.MASS, required=with_sand, above_zero=True)
    if bentonite is not None and bentonite > 1:
        table.note("bentonite", f"{bentonite * 100:g} %", "at most 100 %")
    for key, wanted, what in (
        ("bentonite", with_bentonite, "cement-bentonite"),
        ("sand_per_bag", with_sand, "cement-sand"),
    ):
        if kind is not None and table.has(key) and not wanted:
            table.note(key, f'{key} in a mix of kind "{kind}"', f'kind = "{what}", or no {key}')
    return bentonite, basis, sand


def _slurry(
    table: Table,
    bag: float,
    cement_sg: float,
    bentonite: float,
    basis: str,
    sand: float,
    water: float | None,
    density: float | None,
) -> Values:
    """Water, yield and density of one bag."""
    try:
        if water is None and density is not None:
            water = _water_for_density(bag, cement_sg, bentonite, basis, sand, density)
        slurry = grout.slurry_of(
            solids=_solids(bag, cement_sg, bentonite, basis, sand, water or 0.0), water_m3=water or 0.0
        )
    except ValueError as fault:
        table.note(
            "density" if density is not None else "water_per_bag", str(fault), "what these solids and water can make"
        )
        return {}
    return {"water_per_bag_m3": water, "yield_per_bag_m3": slurry.volume_m3, "density_kg_m3": slurry.density_kg_m3}


def _solids(
    bag: float, cement_sg: float, bentonite: float, basis: str, sand: float, water: float
) -> tuple[grout.Ingredient, ...]:
    clay = 0.0
    if bentonite:
        clay = grout.bentonite_mass_kg(cement_kg=bag, water_m3=water, bentonite_fraction=bentonite, basis=basis)
    listed = (
        grout.Ingredient("cement", bag, cement_sg),
        grout.Ingredient("bentonite", clay, grout.BENTONITE_SG),
        grout.Ingredient("sand", sand, grout.SAND_SG),
    )
    return tuple(solid for solid in listed if solid.mass_kg > 0)


def _water_for_density(
    bag: float, cement_sg: float, bentonite: float, basis: str, sand: float, density: float
) -> float:
    """Bentonite by weight of water comes with the water, so that it counts as a heavier mixing fluid."""
    if basis == "cement" or not bentonite:
        return grout.water_for_density_m3(
            solids=_solids(bag, cement_sg, bentonite, basis, sand, 0.0), density_kg_m3=density
        )
    fluid = grout.slurry_of(
        solids=(grout.Ingredient("bentonite", bentonite * grout.WATER_KG_M3, grout.BENTONITE_SG),), water_m3=1.0
    )
    dry = grout.slurry_of(solids=_solids(bag, cement_sg, 0.0, basis, sand, 0.0), water_m3=0.0)
    if not fluid.density_kg_m3 < density <= dry.density_kg_m3:
        raise ValueError(
            f"{density:g} kg/m3, outside {fluid.density_kg_m3:.0f} to {dry.density_kg_m3:.0f} kg/m3 of the parts"
        )
    return (dry.mass_kg - density * dry.volume_m3) / (density * fluid.volume_m3 - fluid.mass_kg)
