"""Each table of the plan file as keyword arguments of its model: facts, hole, limits, pump line, alarms."""

from typing import Any

from tally.engineering import pipe
from tally.formats import zone_is_known
from tally.job.hole import ZONE_SPREADS
from tally.job.view.quantity import Kind
from tally.planfile import caliper
from tally.planfile.table import Table, shown

Values = dict[str, Any]


def given(**values: object) -> Values:
    """What the file says; what it leaves out takes the model's default."""
    return {name: value for name, value in values.items() if value is not None}


def job(table: Table) -> Values:
    zone = table.text("time_zone", required=True, example='a time zone by its IANA name, such as "Europe/Oslo"')
    if zone is not None and not zone_is_known(zone):
        table.note("time_zone", shown(zone), 'a time zone by its IANA name, such as "Europe/Oslo" or "America/Denver"')
    units = table.choice("units", ("metric", "US"))
    table.choice("gallons", ("US", "imperial"), required=False)  # already taken by the desk, before any value was read
    values = given(
        name=table.text("name", required=True),
        client=table.text("client"),
        place=table.text("place"),
        permit=table.text("permit"),
        time_zone=zone,
        units=units.lower() if units else None,
        invented=table.flag("invented"),
        rules=table.texts("rules", example='a list of names or files, such as ["neutral", "ours.toml"]'),
    )
    table.close()
    return values


def crew(table: Table) -> Values:
    values = given(
        driller=table.text("driller", required=True),
        licence=table.text("licence"),
        helper=table.text("helper"),
        rig=table.text("rig"),
    )
    table.close()
    return values


def hole(table: Table) -> Values:
    values = given(
        water_level_m=table.quantity("water_level", Kind.DEPTH, required=True),
        rock_m=table.quantity("rock", Kind.DEPTH),
        drinks_water=table.flag("drinks_water"),
        caliper=caliper.request(table),
    )
    sections: list[Values] = []
    reached, ended = 0.0, "0 m"
    for section in table.tables("section") or []:
        top = section.quantity("from", Kind.DEPTH, required=True)
        bottom = section.quantity("to", Kind.DEPTH, required=True, above_zero=True)
        if top is not None and abs(top - reached) > 1e-6:
            fault = "overlaps the section above" if top < reached else "leaves a gap below the section above"
            section.note(
                "from", f"{section.typed('from')}, which {fault}", f"the depth at which that one ends, {ended}"
            )
        if top is not None and bottom is not None and bottom <= top:
            section.note("to", section.typed("to"), f"a depth below the section's top at {section.typed('from')}")
        diameter = section.quantity("diameter", Kind.DIAMETER, required=True, above_zero=True)
        sections.append(given(top_m=top, bottom_m=bottom, diameter_m=diameter, cased=section.flag("cased")))
        section.close()
        reached, ended = (bottom, section.typed("to")) if bottom is not None else (reached, ended)
    zones = [zone(part) for part in table.tables("zone") or []] if table.has("zone") else []
    table.close()
    return values | {"sections": sections, "zones": zones}


def zone(table: Table) -> Values:
    """A stretch that may take more grout than the rock beside it."""
    top = table.quantity("from", Kind.DEPTH, required=True)
    bottom = table.quantity("to", Kind.DEPTH, required=True, above_zero=True)
    if top is not None and bottom is not None and bottom <= top:
        table.note("to", table.typed("to"), f"a depth below the zone's top at {table.typed('from')}")
    values = given(
        top_m=top,
        bottom_m=bottom,
        kind=table.choice("kind", tuple(ZONE_SPREADS)),
        note=table.text("note"),
        spread_share=_share(table, "spread", 0, 2),
    )
    table.close()
    return values


def limits(table: Table) -> Values:
    values = given(
        hoist_n=table.quantity("hoist", Kind.LOAD, required=True, above_zero=True),
        elevator_n=table.quantity("elevator", Kind.LOAD, above_zero=True),
        connection_n=table.quantity("connection", Kind.LOAD, above_zero=True),
        hook_n=table.quantity("hook", Kind.LOAD),
        dynamic_factor=table.number("dynamic_factor", 1, 3),
        reading_band_n=table.quantity("reading_band", Kind.LOAD, required=True),
        reading_band_share=_share(table, "reading_band_share", 0, 1),
        collapse_pa=table.quantity("collapse", Kind.PRESSURE, above_zero=True),
        collapse_factor=table.number("collapse_factor", 1, 10),
        burst_pa=table.quantity("burst", Kind.PRESSURE, above_zero=True),
    )
    table.close()
    return values


def line(table: Table) -> Values:
    volume = table.quantity("volume", Kind.VOLUME)
    length, bore = table.length("length"), table.quantity("bore", Kind.DIAMETER)
    if table.has("volume") == (table.has("length") or table.has("bore")):
        table.note(
            "volume",
            "both" if table.has("volume") else "nothing",
            "either volume, or length and bore, of the pump line",
        )
    elif table.has("length") != table.has("bore"):
        table.note("bore" if table.has("length") else "length", "nothing", "both the length and the bore of the line")
    if volume is None and length is not None and bore is not None:
        volume = pipe.circle_area_m2(bore) * length
    measured = given(length_m=length, bore_m=bore) if length and bore else {}
    values = given(volume_m3=volume, starts=table.choice("starts", ("water", "empty"))) | measured
    table.close()
    return values


def pump(table: Table) -> Values:
    values = given(
        rate_m3_s=table.quantity("rate", Kind.RATE, required=True, above_zero=True),
        greatest_rate_m3_s=table.quantity("greatest_rate", Kind.RATE, above_zero=True),
        pressure_limit_pa=table.quantity("pressure_limit", Kind.PRESSURE, above_zero=True),
    ) | _stroke(table)
    table.close()
    return values


def _stroke(table: Table) -> Values:
    """What a stroke sweeps, and what it delivers of that: where strokes are counted by hand, both are needed."""
    volume = table.quantity("stroke_volume", Kind.VOLUME, above_zero=True)
    efficiency = table.quantity("efficiency", Kind.SHARE)
    if efficiency is not None and not 0.1 <= efficiency <= 1.0:
        table.note("efficiency", f"{efficiency * 100:g} %", "a share from 10 % to 100 %: what a stroke truly delivers")
        efficiency = None
    for key, other in (("stroke_volume", "efficiency"), ("efficiency", "stroke_volume")):
        if table.has(other) and not table.has(key):
            table.note(key, "nothing", f"it beside {other}: a stroke's volume and the share that it truly delivers")
    return given(stroke_m3=volume, efficiency_share=efficiency)


def tremie(table: Table) -> Values:
    outer = table.quantity("outer_diameter", Kind.DIAMETER, required=True, above_zero=True)
    bore = table.quantity("bore", Kind.DIAMETER, required=True, above_zero=True)
    if outer is not None and bore is not None and bore >= outer:
        table.note("bore", f"{bore * 1000:g} mm", f"less than the outside diameter, {outer * 1000:g} mm")
    values = given(
        outer_diameter_m=outer,
        bore_m=bore,
        section_m=table.length("section", required=True, above_zero=True),
        sections=table.count("sections", 1, 1000),
        minimum_cover_m=table.length("minimum_cover"),
    )
    table.close()
    return values


def stage(table: Table) -> Values:
    """From its bottom to its top, as it fills."""
    bottom = table.quantity("from", Kind.DEPTH, required=True, above_zero=True)
    top = table.quantity("to", Kind.DEPTH, required=True)
    if bottom is not None and top is not None and top >= bottom:
        above = f"a depth above {table.typed('from')}: a stage fills upward, from its bottom to its top"
        table.note("to", table.typed("to"), above)
    method = table.choice("method", ("tremie", "through casing"))
    values = given(
        name=table.text("name", required=True),
        bottom_m=bottom,
        top_m=top,
        mix=table.text("mix", required=True, example="the name of one of the mixes"),
        method=method,
        plug_m=table.length("plug"),
        allowance_share=_share(table, "allowance", -0.89, 5),
        spread_share=_share(table, "spread", 0, 2),
    )
    if table.has("plug") and method == "tremie":
        table.note("plug", "a plug in a stage by tremie", 'method = "through casing", or no plug')
    table.close()
    return values


def aboard(table: Table) -> Values:
    values = given(
        bags=table.count("bags", 0, 100_000),
        water_m3=table.quantity("water", Kind.VOLUME, required=True),
        wash_up_m3=table.quantity("wash_up", Kind.VOLUME),
        materials=_materials(table),
    )
    table.close()
    return values


def _materials(table: Table) -> list[Values] | None:
    """What else goes into a mix, by mass: its name as the mix has it."""
    if not table.has("material"):
        return None
    found: list[Values] = []
    for row in table.tables("material") or []:
        name = row.text("name", required=True, example="bentonite, sand or the name of an ingredient")
        found.append(given(name=name, mass_kg=row.quantity("mass", Kind.MASS, required=True)))
        row.close()
    return found


def tank(table: Table) -> Values:
    """The tank that grout is drawn from."""
    needed = {
        "standing cylinder": ("diameter", "height"),
        "lying cylinder": ("diameter", "length"),
        "box": ("length", "width", "height"),
        "table": ("row",),
    }
    shape = table.choice("shape", tuple(needed))
    sizes = {
        f"{key}_m": table.length(key, required=shape is not None and key in needed[shape], above_zero=True)
        for key in ("diameter", "length", "width", "height")
    }
    rows: list[tuple[float, float]] = []
    for row in (table.tables("row") or []) if shape == "table" else []:
        depth, volume = row.length("depth", required=True), row.quantity("volume", Kind.VOLUME, required=True)
        row.close()
        if depth is not None and volume is not None:
            if rows and (depth <= rows[-1][0] or volume <= rows[-1][1]):
                row.note(
                    "depth", row.typed("depth"), "rows from the bottom up, depth and volume growing from row to row"
                )
                continue
            rows.append((depth, volume))
    if shape == "table" and len(rows) == 1:
        table.note("row", "one row", "at least two rows, the first at the bottom")
    dipped = table.choice("dipped", ("from the top", "from the bottom"), required=False)
    table.close()
    return given(shape=shape, rows=rows or None, dipped=dipped, **sizes)


def alarms(table: Table) -> Values:
    values = given(
        no_data_s=table.quantity("no_data", Kind.DURATION, above_zero=True),
        pump_stop_share=_share(table, "pump_stop", 0, 1),
        no_rise_m3=table.quantity("no_rise_volume", Kind.VOLUME, above_zero=True),
        no_rise_m=table.quantity("no_rise", Kind.LENGTH, above_zero=True),
        returns_stop_s=table.quantity("returns_stop", Kind.DURATION, above_zero=True),
        sources_share=_share(table, "sources_apart", 0, 1),
        sources_m3=table.quantity("sources_apart_volume", Kind.VOLUME, above_zero=True),
        deficit_share=_share(table, "deficit", 0, 1),
        deficit_m3=table.quantity("deficit_volume", Kind.VOLUME, above_zero=True),
        frozen_s=table.quantity("frozen", Kind.DURATION, above_zero=True),
        gone_s=table.quantity("gone", Kind.DURATION, above_zero=True),
    )
    table.close()
    return values


def _share(table: Table, key: str, low: float, high: float) -> float | None:
    share = table.quantity(key, Kind.SHARE)
    if share is not None and not low <= share <= high:
        table.note(key, f"{share * 100:g} %", f"a share from {low * 100:g} % to {high * 100:g} %")
        return None
    return share
