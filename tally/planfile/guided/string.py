"""Casing, joints on the rack, shoe and what the hoist may carry."""

from __future__ import annotations

from collections.abc import Iterator

from tally import formats, units
from tally.job.view.quantity import Kind
from tally.planfile.guided.asking import by_units, gallon_of, one_of, size, text, units_of
from tally.planfile.guided.ground import bottom
from tally.planfile.guided.question import Answers, Question

MOST_JOINTS = 300


def casing(answers: Answers) -> Iterator[Question]:
    yield one_of("casing", "casing.material", "Casing of", (("steel", "steel"), ("pvc", "PVC")))
    yield text(
        "casing",
        "casing.size",
        "Casing, its name in the tables",
        optional=True,
        remark='such as "NPS 6 Sch 40"; Enter alone: give it by measure',
        comment="out of the tables that ship with the program",
    )
    if not answers.get("casing.size"):
        yield size("casing", "casing.outer_diameter", "Outside diameter", Kind.DIAMETER, stands_in="100 mm")
        yield size(
            "casing",
            "casing.wall",
            "Wall",
            Kind.DIAMETER,
            stands_in="5 mm",
            remark="of PVC the least wall",
            comment="or bore; for pvc the minimum wall",
        )
    yield size(
        "casing",
        "casing.mass",
        "Mass per length, as run",
        Kind.LINE_MASS,
        optional=True,
        remark="couplings included; Enter alone: worked out from the wall, or by the tables",
    )
    kinds = (("welded", "welded"), ("threaded", "threaded"), ("solvent", "solvent-welded"))
    yield one_of("casing", "casing.connection", "Joints are", kinds)
    if answers.get("casing.connection") in ("threaded", "solvent"):
        lengths = (("overall", "from end to end"), ("effective", "with the make-up already taken off"))
        yield one_of("casing", "casing.lengths_are", "Joints are measured", lengths)
        if answers.get("casing.lengths_are") == "overall":
            yield size(
                "casing",
                "casing.make_up_loss",
                "Make-up loss per connection",
                Kind.DIAMETER,
                stands_in="50 mm",
                comment="taken off at each connection",
            )
    else:
        yield size(
            "casing",
            "casing.weld_gap",
            "Gap at each weld",
            Kind.DIAMETER,
            offered=by_units(answers, "2 mm", "1/16 in"),
            stands_in="2 mm",
        )


def joints(answers: Answers) -> list[str]:
    """Joints on the rack as they were answered, "12 x 6.05 m" as one."""
    found: list[str] = []
    for place in range(1, MOST_JOINTS + 1):
        said = answers.get(f"casing.rack[{place}]", "")
        if not said:
            break
        found.append(said)
    return found


def count(said: list[str]) -> int:
    """Joints, those that are alike counted one by one."""
    return sum(int(each.partition(" x ")[0]) if " x " in each else 1 for each in said)


def rack(answers: Answers) -> Iterator[Question]:
    said = joints(answers)
    for place in range(1, min(len(said) + 1, MOST_JOINTS) + 1):
        more = "; Enter alone: that was the last" if place > 1 else ""
        yield Question(
            id=f"casing.rack[{place}]",
            step="rack",
            key=f"casing.rack[{place}]",
            form="joints",
            kind=Kind.LENGTH,
            words=f"Joint {count(said[: place - 1]) + 1} on the rack",
            optional=place > 1,
            stands_in="" if place > 1 else "12 x 6 m",
            remark=f'by the tape, in the order they lie; "12 x 6.05" for twelve alike{more}',
        )
    lengths_m = [si for each in said if (si := _length_m(each, answers)) is not None]
    unit, step_m = ("ft", formats.FOOT_M) if units_of(answers) == "us" else ("m", 0.5)
    shortest = longest = ""
    if lengths_m:
        down, up = int(min(lengths_m) / step_m + 1e-6), -int(-max(lengths_m) / step_m - 1 + 1e-6)
        scale = step_m / (formats.FOOT_M if unit == "ft" else 1.0)
        shortest, longest = f"{down * scale:g} {unit}", f"{up * scale:g} {unit}"
    yield size(
        "rack",
        "casing.joint_range[1]",
        "No joint is shorter than",
        Kind.LENGTH,
        offered=shortest,
        stands_in=shortest or "5 m",
        remark="a length outside this range is questioned on the day",
        comment="shortest and longest joint",
        half=True,
    )
    yield size(
        "rack",
        "casing.joint_range[2]",
        "No joint is longer than",
        Kind.LENGTH,
        offered=longest,
        stands_in=longest or "7 m",
    )


def _length_m(text: str, answers: Answers) -> float | None:
    try:
        return units.quantity(text.partition(" x ")[2] or text, Kind.LENGTH, gallon=gallon_of(answers))
    except units.UnitFault:
        return None


def shoe(answers: Answers) -> Iterator[Question]:
    ends = (("open", "open"), ("float", "float shoe"), ("closed", "closed"))
    yield one_of("shoe", "casing.shoe", "The casing's lower end is", ends)
    yield size(
        "shoe",
        "casing.shoe_length",
        "The shoe adds a length of",
        Kind.LENGTH,
        optional=True,
        remark="Enter alone: nothing",
    )
    yield size(
        "shoe",
        "casing.shoe_mass",
        "The shoe weighs",
        Kind.MASS,
        optional=True,
        remark="over plain pipe of its length; Enter alone: nothing",
        comment="over plain pipe of its length",
    )
    yield size(
        "shoe",
        "casing.target_shoe_depth",
        "The shoe is to stand at",
        Kind.DEPTH,
        stands_in=bottom(answers) or "60 m",
        remark="along the hole from ground level",
    )
    yield size("shoe", "casing.stick_up", "Stick-up above ground", Kind.LENGTH, stands_in="0.5 m")
    yield size(
        "shoe",
        "casing.stick_up_tolerance",
        "Stick-up may be off by",
        Kind.LENGTH,
        stands_in="0.1 m",
        offered=by_units(answers, "0.10 m", "4 in"),
        remark="more or less than that",
    )
    place = 1
    while True:
        name = f"casing.centralizers[{place}]"
        yield Question(
            id=name,
            step="shoe",
            key=name,
            form="quantity",
            kind=Kind.DEPTH,
            optional=True,
            words="A centralizer at" if place == 1 else "Another one at",
            remark="depth in the hole; Enter alone: no more",
        )
        if not answers.get(name) or place >= 100:
            break
        place += 1


def hoist(answers: Answers) -> Iterator[Question]:
    yield size(
        "hoist",
        "limits.hoist",
        "The hoist may lift",
        Kind.LOAD,
        stands_in="100 t",
        remark="by its maker, with the line as it is reeved now",
    )
    yield size(
        "hoist",
        "limits.elevator",
        "Elevator and slings may hold",
        Kind.LOAD,
        optional=True,
        remark="the weaker of them, by its maker; Enter alone: not known",
    )
    yield size(
        "hoist",
        "limits.hook",
        "Hook, block and elevator weigh",
        Kind.LOAD,
        optional=True,
        remark="where the indicator shows them; Enter alone: it does not",
        comment="hook, block and elevator, where the reading includes them",
    )
    yield size(
        "hoist",
        "limits.reading_band",
        "Question a reading off by",
        Kind.LOAD,
        stands_in="0.2 t",
        offered=by_units(answers, "0.2 t", "500 lb"),
        comment="a reading off by more than this, or by a tenth, is questioned",
    )
    yield size(
        "hoist",
        "limits.collapse",
        "Collapse rating of the casing",
        Kind.PRESSURE,
        optional=True,
        remark="the maker's; Enter alone: worked out by a named formula",
    )
