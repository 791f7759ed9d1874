"""The example reads; every mistake of a wrong plan is named with its line, all at once."""

import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tally.job.plan import Plan
from tally.planfile import Mistake, example, parts, read, read_text

G = 9.80665


def plan_of(text: str) -> Plan:
    plan = read_text(text)
    assert isinstance(plan, Plan), "\n".join(map(str, plan))
    return plan


def mistakes_of(text: str) -> list[Mistake]:
    found = read_text(text)
    assert isinstance(found, list)
    return found


def changed(*pairs: tuple[str, str]) -> str:
    """The example with one line (or part of it) changed for another."""
    text = example()
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new, 1)
    return text


def line_with(text: str, part: str) -> int:
    return next(number for number, line in enumerate(text.splitlines(), 1) if part in line)


def test_the_example_reads_and_is_marked_invented() -> None:
    plan = plan_of(example())
    assert plan.job.invented
    assert [stage.top_m for stage in plan.stages] == [36.0, 0.0]


def test_values_worked_by_hand() -> None:
    plan = plan_of(example())
    assert plan.hole.sections[1].diameter_m == pytest.approx(12.25 * 0.0254)
    assert plan.limits.hoist_n == pytest.approx(8000 * G)
    assert plan.casing.bore_m == pytest.approx(0.2191 - 2 * 0.00818)
    # ASME B36.10M, NPS 8 wall 8.18 mm: 42.55 kg/m (0.0246615 (D - t) t)
    assert plan.casing.mass_kg_m == pytest.approx(42.55, abs=0.005)
    # 40 kg of cement (3.15), 18.4 L of water (0.9991 kg/L): 40 / (3.15 x 0.9991) + 18.4 = 31.11 L, 58.38 kg: 1.877 kg/L
    assert plan.mixes[0].yield_per_bag_m3 == pytest.approx(0.03111, abs=5e-6)
    assert plan.mixes[0].density_kg_m3 == pytest.approx(1877, abs=0.5)
    # 70 m of 32 mm: 0.7854 x 0.032^2 x 70 = 0.0563 m3
    assert plan.line.volume_m3 == pytest.approx(0.0563, abs=5e-5)
    assert len(plan.casing.rack_m) == 9


def test_a_mix_in_sacks_and_gallons() -> None:
    plan = plan_of(
        changed(('bag = "40 kg"', 'bag = "94 lb"'), ('water_per_bag = "18.4 L"', 'water_per_bag = "5.2 US gal"'))
    )
    # N.J.A.C. 7:9D appendix A, table 1: 94 lb and 5.2 gal weigh 15.6 lb/gal. API class A, from memory: 1.18 ft3 a sack.
    assert plan.mixes[0].density_kg_m3 / 119.8264 == pytest.approx(15.6, abs=0.06)  # 15.65 with SG 3.15
    assert plan.mixes[0].yield_per_bag_m3 / 0.02831685 == pytest.approx(1.18, abs=0.01)


def test_water_solved_from_a_density() -> None:
    plan = plan_of(changed(('water_per_bag = "18.4 L"', 'density = "1.877 kg/L"')))
    assert plan.mixes[0].water_per_bag_m3 == pytest.approx(0.0184, abs=5e-5)
    prehydrated = changed(
        ('kind = "neat cement" ', 'kind = "cement-bentonite"\nbentonite = "2 %"\nbentonite_of = "water" '),
        ('water_per_bag = "18.4 L"', 'density = "1.60 kg/L"'),
    )
    mix = plan_of(prehydrated).mixes[0]
    assert mix.density_kg_m3 == pytest.approx(1600)
    # by hand: water W L brings 0.9991 W kg and 0.02 x 0.9991 W kg of bentonite (2.65); 40 kg of cement are 12.71 L
    litres = mix.water_per_bag_m3 * 1000
    clay = 0.02 * 0.9991 * litres
    assert (40 + 0.9991 * litres + clay) / (12.71 + litres + clay / (2.65 * 0.9991)) == pytest.approx(1.6, abs=5e-4)


def test_bentonite_by_weight_of_cement_against_a_published_mix() -> None:
    text = changed(
        ('kind = "neat cement" ', 'kind = "cement-bentonite"\nbentonite = "4 %"\nbentonite_of = "cement" '),
        ('bag = "40 kg"', 'bag = "94 lb"'),
        ('water_per_bag = "18.4 L"', 'water_per_bag = "7.7 US gal"'),
        ("cement_sg = 3.15", "cement_sg = 3.14"),
    )
    mix = plan_of(text).mixes[0]
    # Lapeyrouse, Formulas and Calculations, cement additive calculations: 1.53 ft3 a sack, 14.13 lb/gal
    assert mix.yield_per_bag_m3 / 0.02831685 == pytest.approx(1.53, abs=0.005)
    assert mix.density_kg_m3 / 119.8264 == pytest.approx(14.13, abs=0.02)  # his water is 8.33 lb/gal, here 8.338


def test_plastic_casing_takes_its_average_wall() -> None:
    text = changed(
        ('material = "steel" ', 'material = "pvc" '),
        ('outer_diameter = "219.1 mm"', 'outer_diameter = "6.625 in"'),
        ('wall = "8.18 mm"', 'wall = "0.280 in"'),
    )
    casing = plan_of(text).casing
    # a published PVC schedule table, schedule 40, 6 in: average bore 6.031 in, 3.535 lb/ft (secondary page)
    assert casing.bore_m / 0.0254 == pytest.approx(6.031, abs=0.001)
    assert casing.mass_kg_m / 1.488164 == pytest.approx(3.535, abs=0.01)


@pytest.mark.parametrize(
    ("old", "new", "key", "says"),
    [
        (
            'outer_diameter = "219.1 mm"', "outer_diameter = 219.1",
            "casing.outer_diameter", 'given 219.1; accepted: a length',
        ),
        ('outer_diameter = "219.1 mm"', 'outer_diameter = "219.1"', "casing.outer_diameter", "no unit"),
        (
            'outer_diameter = "219.1 mm"', 'outer_diameter = "219.1 furlong"',
            "casing.outer_diameter", "'furlong' is not known",
        ),
        (
            'outer_diameter = "219.1 mm"', 'outer_diameter = "320 mm"',
            "hole.section[2].diameter", "does not fit the hole",
        ),
        (
            'outer_diameter = "219.1 mm"', 'outer_diamter = "219.1 mm"',
            "casing.outer_diamter", '"outer_diameter" (nearest)',
        ),
        ('outer_diameter = "219.1 mm"', 'outer_diameter = "-219.1 mm"', "casing.outer_diameter", "cannot be negative"),
        ('outer_diameter = "219.1 mm"', 'outer_diameter = "0 mm"', "casing.outer_diameter", "more than nothing"),
        ('outer_diameter = "219.1 mm"', 'outer_diameter = "99999 mm"', "casing.outer_diameter", "far beyond"),
        ('outer_diameter = "219.1 mm"', "outer_diameter = nan", "casing.outer_diameter", "given nan"),
        ('outer_diameter = "219.1 mm"', 'outer_diameter = "nan mm"', "casing.outer_diameter", "given nan mm"),
        ('wall = "8.18 mm"', 'wall = "8.18 mm"\nbore = "203 mm"', "casing.wall", "both wall and bore"),
        ('wall = "8.18 mm"', 'wall = "120 mm"', "casing.wall", "well under half"),
        ('wall = "8.18 mm"', 'bore = "230 mm"', "casing.bore", "less than the outside diameter"),
        ('connection = "welded"', 'connection = "glued"', "casing.connection", '"welded" or "threaded" or "solvent"'),
        ('connection = "welded"', 'connection = "threaded"', "casing.lengths_are", '"overall" or "effective"'),
        ('weld_gap = "2 mm"', 'make_up_loss = "80 mm"', "casing.make_up_loss", "a weld loses no length"),
        (
            'connection = "welded" ',
            'connection = "threaded"\nlengths_are = "overall"\nmake_up_loss = "6 m" ',
            "casing.make_up_loss",
            "less than the shortest joint",
        ),
        ('"6.08 m"', '"8.06 m"', "casing.rack[2]", "within joint_range"),
        ('"6.08 m"', '"26 ft"', "casing.rack[2]", "given 26 ft; accepted: a length within joint_range, 5.5 m to 6.5 m"),
        ('to = "36 m"', 'to = "160 ft"', "stage[1].to", "given 160 ft; accepted: a depth above 48 m"),
        ('"6.08 m"', '"0 x 6.08 m"', "casing.rack[2]", "between 1 and 1000"),
        ('["5.5 m", "6.5 m"]', '["6.5 m", "5.5 m"]', "casing.joint_range", "the longer first"),
        ('target_shoe_depth = "47.5 m"', 'target_shoe_depth = "52 m"', "casing.target_shoe_depth", "bottom at 48 m"),
        ('time_zone = "Europe/Oslo" ', 'time_zone = "Mars/Olympus" ', "job.time_zone", "given Mars/Olympus"),
        ('units = "metric" ', 'units = "SI" ', "job.units", '"metric" or "US"'),
        ('driller = "A. Brook"\n', "", "crew.driller", "given nothing"),
        ('from = "6 m"', 'from = "5 m"', "hole.section[2].from", "overlaps"),
        ('from = "6 m"', 'from = "7 m"', "hole.section[2].from", "gap"),
        ('to = "48 m"\nd', 'to = "4 m"\nd', "hole.section[2].to", "below the section's top"),
        ('water_level = "18 m"', 'water_level = "18"', "hole.water_level", "no unit"),
        ('hoist = "8 t"', 'hoist = "8 ton"', "limits.hoist", "short, long or metric"),
        ("dynamic_factor = 1.25", "dynamic_factor = 0.5", "limits.dynamic_factor", "from 1 to 3"),
        ("dynamic_factor = 1.25", "dynamic_factor = true", "limits.dynamic_factor", "given true"),
        ('length = "70 m" ', 'volume = "60 L"\nlength = "70 m" ', "line.volume", "both"),
        ('length = "70 m" ', "", "line.length", "both the length and the bore"),
        ("sections = 16", "sections = 16.5", "tremie.sections", "whole number"),
        ("[tremie]", "[tremmie]", "tremmie", "known here"),
        ('shoe_mass = "28 kg"', 'shoe_weight = "28 kg"', "casing.shoe_weight", '"shoe_mass" (nearest)'),
        ("[tremie]", "[tremmie]", "stage[1].method", "no [tremie]"),
        ('bag = "40 kg"', 'bag = "40 gal"', "mix[1].bag", "not known here"),
        ('water_per_bag = "18.4 L"', 'water_per_bag = "4 gal"', "mix[1].water_per_bag", '"US gal" or "imp gal"'),
        ('water_per_bag = "18.4 L"', 'density = "5 kg/L"', "mix[1].density", "at most the solids'"),
        ('water_per_bag = "18.4 L"', "", "mix[1].water_per_bag", "exactly one"),
        ('kind = "neat cement" ', 'kind = "cement-bentonite" ', "mix[1].bentonite", "15 %"),
        ("cement_sg = 3.15", 'bentonite = "4 %"', "mix[1].bentonite", 'kind = "cement-bentonite"'),
        ('mix = "neat"', 'mix = "gel"', "stage[1].mix", "no mix is called 'gel'"),
        ('from = "36 m"', 'from = "40 m"', "stage[2].from", "inside the stage below"),
        ('from = "48 m"', 'from = "58 m"', "stage[1].from", "bottom at 48 m"),
        ('to = "36 m"', 'to = "48 m"', "stage[1].to", "a stage fills upward"),
        ('method = "tremie" ', 'method = "dump" ', "stage[1].method", '"tremie" or "through casing"'),
        ('allowance = "15 %" ', 'allowance = "900 %" ', "stage[1].allowance", "-89 % to 500 %"),
        ("bags = 110", "bags = -1", "aboard.bags", "whole number"),
        ('dialect = "plain" ', "pattern = '(?P<total>[' ", "meter.pattern", "regular expression"),
        ('dialect = "plain" ', "pattern = '(?P<sum>[0-9]+)' ", "meter.pattern", "named groups out of"),
        ('dialect = "plain" ', "pattern = '(?P<total>[0-9]+)' ", "meter.units", "given nothing"),
        (
            'dialect = "plain" ', "pattern = '(?P<total>[0-9]+)'\nunits = {total = 'gal'} ",
            "meter.units.total", "a unit alone",
        ),
        (
            'dialect = "plain" ', "pattern = '(?P<total>[0-9]+)'\nunits = {rate = 'L/min'} ",
            "meter.units.total", "a unit alone",
        ),
        ('no_data = "5 s"', 'no_data = "5 furlongs"', "alarms.no_data", "45 min"),
        ("[aboard]", "[[aboard]]", "aboard", "a table [aboard]"),
    ],
)  # fmt: skip
def test_one_mistake_has_its_key_and_its_words(old: str, new: str, key: str, says: str) -> None:
    found = mistakes_of(changed((old, new)))
    about = [mistake for mistake in found if mistake.key == key]
    assert about, "\n".join(map(str, found))
    assert any(says in str(mistake) for mistake in about), "\n".join(map(str, found))
    assert all(mistake.line and mistake.given and mistake.accepted for mistake in found)


def test_the_words_of_a_mistake() -> None:
    text = changed(('outer_diameter = "219.1 mm"', "outer_diameter = 219.1"))
    number = line_with(text, "outer_diameter = 219.1")
    assert [str(mistake) for mistake in mistakes_of(text)] == [
        f"plan.toml line {number}, casing.outer_diameter: given 219.1; "
        'accepted: a length with its unit, such as "219.1 mm" or "8 5/8 in"'
    ]


def test_all_mistakes_at_once_in_the_order_of_the_file() -> None:
    pairs = [
        ('time_zone = "Europe/Oslo"', 'time_zone = "Nowhere"'),
        ('helper = "S. Vale"', 'helpr = "S. Vale"'),
        ('from = "6 m"', 'from = "7 m"'),
        ('target_shoe_depth = "47.5 m"', 'target_shoe_depth = "470.5 m"'),
        ('hoist = "8 t"', 'hoist = "8"'),
        ('method = "tremie" ', 'method = "bucket" '),
        ('no_rise = "10 ft"', "no_rise = 10"),
    ]
    text = changed(*pairs)
    found = mistakes_of(text)
    assert [mistake.key for mistake in found] == [
        "job.time_zone",
        "crew.helpr",
        "hole.section[2].from",
        "casing.target_shoe_depth",
        "limits.hoist",
        "stage[1].method",
        "alarms.no_rise",
    ]
    assert [mistake.line for mistake in found] == [line_with(text, new) for _, new in pairs]


def test_cross_checks_run_beside_other_mistakes() -> None:
    text = changed(
        ('driller = "A. Brook"', "driller = 7"), ('target_shoe_depth = "47.5 m"', 'target_shoe_depth = "52 m"')
    )
    assert [mistake.key for mistake in mistakes_of(text)] == ["crew.driller", "casing.target_shoe_depth"]


def test_what_only_the_model_refuses_reaches_the_reader_too(monkeypatch: pytest.MonkeyPatch) -> None:
    right = parts.limits
    monkeypatch.setattr(parts, "limits", lambda table: right(table) | {"dynamic_factor": 9.0})
    (mistake,) = mistakes_of(example())
    assert (mistake.key, mistake.given, mistake.line) == (
        "limits.dynamic_factor",
        "9.0",
        line_with(example(), "dynamic_factor"),
    )


def test_bare_gallons_may_be_named_once() -> None:
    named = changed(('# gallons = "US" ', 'gallons = "imperial" '), ('"2500 L"', '"550 gal"'))
    assert plan_of(named).aboard.water_m3 == pytest.approx(550 * 4.54609e-3)
    assert [m.key for m in mistakes_of(changed(('"2500 L"', '"550 gal"')))] == ["aboard.water"]
    wrong = changed(('# gallons = "US" ', 'gallons = "Martian" '))
    assert [m.key for m in mistakes_of(wrong)] == ["job.gallons"]


def test_a_meter_of_another_kind() -> None:
    text = changed(
        (
            'dialect = "plain" ',
            "pattern = '(?P<total>[0-9]+) (?P<rate>[0-9.]+)'\nunits = {total = 'US gal', rate = 'L/s'} ",
        )
    )
    meter = plan_of(text).meter
    assert meter is not None
    assert meter.factors == pytest.approx({"total": 3.785412e-3, "rate": 1e-3}, rel=5e-7)


def test_the_plain_dialect_reads_its_line() -> None:
    meter = plan_of(example()).meter
    assert meter is not None
    match = re.fullmatch(meter.pattern, "T 001234.56 L R 62.10 L/min")
    assert match is not None
    assert match.groupdict() == {"total": "001234.56", "rate": "62.10"}
    assert meter.factors == pytest.approx({"total": 1e-3, "rate": 1e-3 / 60})


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (changed(('bags = 110', "bags = = 110")), line_with(example(), "bags = 110")),
        (changed(('bags = 110', "bags = 110\nbags = 111")), line_with(example(), "bags = 110") + 1),
        (example() + '\nlast = "open', example().count("\n") + 2),
        (example() + "\nlast = " + "[" * 30_000, None),
    ],
    ids=["syntax", "twice", "open end", "depth"],
)  # fmt: skip
def test_text_that_is_not_toml(text: str, line: int | None) -> None:
    (mistake,) = mistakes_of(text)
    assert mistake.line == line
    assert mistake.given


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    for name, content in (("big.toml", b"#" * 1_100_000), ("latin.toml", 'a = 1\nname = "\xe9"'.encode("latin-1"))):
        (tmp_path / name).write_bytes(content)
    asked = [read(tmp_path / name) for name in ("none.toml", "big.toml", "latin.toml", ".")]
    assert all(isinstance(found, list) and len(found) == 1 for found in asked)
    latin = asked[2]
    assert isinstance(latin, list)
    assert str(latin[0]).startswith("latin.toml line 2: given bytes that are not UTF-8")


def test_a_byte_order_mark_and_windows_line_ends_are_read(tmp_path: Path) -> None:
    (tmp_path / "plan.toml").write_bytes(b"\xef\xbb\xbf" + example().replace("\n", "\r\n").encode())
    assert read(tmp_path / "plan.toml") == plan_of(example())


def test_an_empty_file_names_every_table() -> None:
    keys = {mistake.key for mistake in mistakes_of("")}
    assert keys == {"job", "crew", "hole", "casing", "limits", "line", "mix", "stage", "aboard"}


def test_what_a_file_says_cannot_steer_the_terminal() -> None:
    text = changed(('driller = "A. Brook"', 'driller = "A. Brook"\n"\\u001b[31m\\u202e" = "\\u001b[2J"'))
    assert "\x1b" not in "".join(map(str, mistakes_of(text)))


LINES = example().splitlines()
VALUES = st.sampled_from(
    [
        '""',
        '"x"',
        "1",
        "-1",
        "nan",
        "inf",
        "true",
        "[]",
        "[[]]",
        "{}",
        "[{}]",
        '"1 m"',
        '"9e99 m"',
        "1979-05-27",
        '"5 %"',
    ]
)


@settings(max_examples=150)
@given(
    st.lists(st.tuples(st.integers(0, len(LINES) - 1), st.one_of(st.none(), VALUES, st.text(max_size=12))), max_size=6)
)
def test_a_damaged_plan_is_a_plan_or_mistakes(damage: list[tuple[int, str | None]]) -> None:
    text = list(LINES)
    for number, value in damage:
        key, equals, _ = text[number].partition(" = ")
        text[number] = "" if value is None else f"{key} = {value}" if equals else value
    found = read_text("\n".join(text))
    assert isinstance(found, Plan) or (found and all(str(mistake) for mistake in found))


def test_a_stroke_needs_its_volume_and_its_efficiency() -> None:
    both = changed(('rate = "40 L/min"', 'rate = "40 L/min"\nstroke_volume = "0.3 US gal"\nefficiency = "87.5 %"'))
    pump = plan_of(both).pump
    assert pump is not None
    assert pump.stroke_m3 == pytest.approx(0.3 * 3.785411784e-3)
    assert pump.efficiency_share == 0.875
    one = map(str, mistakes_of(changed(('rate = "40 L/min"', 'rate = "40 L/min"\nstroke_volume = "1.2 L"'))))
    assert any("pump.efficiency" in each and "beside stroke_volume" in each for each in one)
    much = map(
        str,
        mistakes_of(changed(('rate = "40 L/min"', 'rate = "40 L/min"\nstroke_volume = "1 L"\nefficiency = "105 %"'))),
    )
    assert any("from 10 % to 100 %" in each for each in much)
