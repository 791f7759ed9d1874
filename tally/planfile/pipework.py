"""The [casing] table: given figure by figure, or by a name out of the pipe tables."""

from tally.catalogue.pipe import Pipe, UnknownPipe, pipe_named
from tally.engineering import pipe
from tally.engineering.collapse import API_YIELDS_PA
from tally.job.view.quantity import Kind
from tally.planfile.parts import Values, given
from tally.planfile.table import Table, shown

SIZE = 'a pipe by name, such as "NPS 6 Sch 40" or "NPS 6 SDR 21"'
INSTEAD = "or outer_diameter and wall in its place"
LENGTHS = 'a list of lengths, such as ["6.10 m", "12 x 6.05 m"]'


def casing(table: Table) -> Values:
    named = _named(table)
    material = table.choice("material", ("steel", "pvc"), required=not table.has("size"))
    material = material or (named.material if named else None)
    outer = table.quantity("outer_diameter", Kind.DIAMETER, required=not table.has("size"), above_zero=True)
    changed = any(table.has(key) for key in ("outer_diameter", "wall", "bore"))
    outer = outer or (named.outer_diameter_m if named else None)
    bore, minimum = _bore(table, material, outer, named)
    connection, joints = _connection(table), _joints(table)
    row = None if changed else named
    values = given(
        material=material,
        standard=table.text("standard"),
        size=named.name if named else None,
        outer_diameter_m=outer,
        bore_m=bore,
        minimum_wall_m=minimum,
        yield_pa=_yield_pa(table) or (row.yield_pa if row else None),
        mass_kg_m=_mass(table, material, outer, bore, row, connection, joints),
        **connection,
        shoe=table.choice("shoe", ("open", "float", "closed")),
        shoe_length_m=table.length("shoe_length"),
        shoe_mass_kg=table.quantity("shoe_mass", Kind.MASS),
        target_shoe_depth_m=table.quantity("target_shoe_depth", Kind.DEPTH, required=True, above_zero=True),
        stick_up_m=table.length("stick_up", required=True),
        stick_up_tolerance_m=table.length("stick_up_tolerance", required=True),
        **joints,
        delivered=table.count("delivered", 0, 2000, required=False),
        measured_from_m=table.length("measured_from"),
        centralizer_depths_m=_depths(table),
        keep_welds_from_ground_m=table.length("keep_welds_from_ground"),
        keep_welds_from_rock_m=table.length("keep_welds_from_rock"),
        keep_welds_from_centralizers_m=table.length("keep_welds_from_centralizers"),
    )
    _loss_fits(table, values)
    table.close()
    return values


def _yield_pa(table: Table) -> float | None:
    given_pa = table.quantity("yield_strength", Kind.PRESSURE)
    low_pa, high_pa = API_YIELDS_PA
    if given_pa is not None and not low_pa <= given_pa <= high_pa:
        accepted = f"a steel's yield, {low_pa / 1e6:g} to {high_pa / 1e6:g} MPa, such as 35000 psi"
        table.note("yield_strength", f"{given_pa / 1e6:g} MPa", accepted)
        return None
    return given_pa


def _named(table: Table) -> Pipe | None:
    """The row of the pipe tables that `size` names."""
    size = table.text("size", example=SIZE)
    if size is None:
        return None
    material = table.peek("material")
    try:
        return pipe_named(size, material if material in ("steel", "pvc") else None)
    except UnknownPipe as fault:
        table.note("size", shown(size), f"a name out of the pipe tables, such as {', '.join(fault.near)}; {INSTEAD}")
        return None


def _bore(
    table: Table, material: str | None, outer: float | None, named: Pipe | None
) -> tuple[float | None, float | None]:
    """Bore and minimum wall. Mass and bore of plastic pipe follow its average wall; a wall in a table or on the pipe
    is the minimum one, and strength goes by it."""
    wall = table.quantity("wall", Kind.DIAMETER, above_zero=True)
    bore = table.quantity("bore", Kind.DIAMETER, above_zero=True)
    both, neither = (table.has("wall") and table.has("bore")), not (table.has("wall") or table.has("bore"))
    if both or (neither and not table.has("size")):
        table.note("wall", "both wall and bore" if both else "nothing", "the wall or the bore, exactly one of them")
        return None, None
    if neither and named is not None and not table.has("outer_diameter"):
        return named.bore_m, named.minimum_wall_m
    if neither and named is not None:
        wall = named.minimum_wall_m
    if outer is None or material is None:
        return None, None
    if wall is not None:
        bore = outer - 2 * (wall if material == "steel" else pipe.average_wall_m(wall))
        if bore <= 0:
            table.note(
                "wall", f"{wall * 1000:g} mm", f"a wall well under half of the outside diameter, {outer * 1000:g} mm"
            )
            return None, None
    if bore is not None and bore >= outer:
        table.note("bore", f"{bore * 1000:g} mm", f"less than the outside diameter, {outer * 1000:g} mm")
        return None, None
    return bore, wall


def _mass(
    table: Table,
    material: str | None,
    outer: float | None,
    bore: float | None,
    row: Pipe | None,
    connection: Values,
    joints: Values,
) -> float | None:
    """As given; else threaded and coupled as published; else plain end and, shared over the joints, the couplings."""
    mass = table.quantity("mass", Kind.LINE_MASS, above_zero=True)
    coupling = table.quantity("coupling_mass", Kind.MASS)
    if mass is not None and coupling:
        table.note(
            "coupling_mass",
            f"{table.typed('coupling_mass')} beside mass",
            "one of them: mass is as run, couplings included",
        )
    if mass is not None or table.has("mass"):
        return mass
    if not coupling and row is not None and row.coupled_mass_kg_m and connection.get("connection") == "threaded":
        return row.coupled_mass_kg_m
    if not (material and outer and bore):
        return None
    density = pipe.STEEL_KG_M3 if material == "steel" else pipe.PVC_KG_M3
    plain = pipe.plain_end_mass_kg_m(outer_diameter_m=outer, bore_m=bore, density_kg_m3=density)
    rack = joints.get("rack_m")
    if not (coupling and rack):
        return plain
    mean = sum(rack) / len(rack)
    return pipe.coupled_mass_kg_m(plain_end_kg_m=plain, coupling_kg=coupling, joint_length_m=mean)


def _connection(table: Table) -> Values:
    connection = table.choice("connection", ("welded", "threaded", "solvent"))
    welded = connection == "welded"
    lengths_are = table.choice("lengths_are", ("overall", "effective"), required=connection is not None and not welded)
    loss = table.length("make_up_loss", required=not welded and lengths_are == "overall")
    gap = table.length("weld_gap")
    if loss and welded:
        table.note("make_up_loss", table.typed("make_up_loss"), "nothing: a weld loses no length (see weld_gap)")
    if loss and lengths_are == "effective":
        table.note(
            "make_up_loss",
            table.typed("make_up_loss"),
            'nothing where lengths_are = "effective": it is already taken off',
        )
    if gap and connection is not None and not welded:
        table.note("weld_gap", table.typed("weld_gap"), f"nothing: a {connection} connection has no weld gap")
    return given(connection=connection, make_up_loss_m=loss, weld_gap_m=gap)


def _joints(table: Table) -> Values:
    spread = table.quantities(
        "joint_range", Kind.LENGTH, accepted='two lengths, such as ["5.5 m", "6.5 m"]', required=True
    )
    rack = table.quantities("rack", Kind.LENGTH, accepted=LENGTHS, required=True)
    within = " to ".join(shown(each) for each in table.peek("joint_range")) if spread else ""
    if spread is not None and (len(spread) != 2 or spread[0][1] > spread[1][1]):
        table.note(
            "joint_range",
            f"{len(spread)} lengths" if len(spread) != 2 else f"{within}, the longer first",
            "the shortest joint, then the longest",
        )
        spread = None
    if rack is not None and not 1 <= len(rack) <= 1000:
        table.note("rack", f"{len(rack)} joints", "between 1 and 1000 joints")
        rack = None
    low, high = (spread[0][1], spread[1][1]) if spread else (None, None)
    for position, length in dict(rack or []).items():
        if low is not None and high is not None and not low - 1e-9 <= length <= high + 1e-9:
            where = (*table.path, "rack", position)
            table.desk.note(where, shown(table.peek("rack")[position]), f"a length within joint_range, {within}")
    return given(joint_min_m=low, joint_max_m=high, rack_m=tuple(length for _, length in rack) if rack else None)


def _loss_fits(table: Table, values: Values) -> None:
    loss, shortest = values.get("make_up_loss_m"), values.get("joint_min_m")
    if loss and shortest and loss >= shortest:
        table.note(
            "make_up_loss",
            table.typed("make_up_loss"),
            f"less than the shortest joint, {shown(table.peek('joint_range')[0])}",
        )


def _depths(table: Table) -> tuple[float, ...] | None:
    depths = table.quantities("centralizers", Kind.DEPTH, accepted='a list of depths, such as ["3 m", "12 m"]')
    return None if depths is None else tuple(sorted(depth for _, depth in depths))
