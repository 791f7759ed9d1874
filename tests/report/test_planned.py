"""The worked-out plan as text and as SI: what stands in it, how wide it is, and that nothing from outside steers it."""

import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tally.formats import Units
from tally.job.plan import Plan
from tally.job.view.planned import PlanView, planned
from tally.planfile import example, read_text
from tally.planfile.guided import sequence
from tally.report.planned import CAUTION, as_json, text
from tally.report.planned_drawing import ROWS, drawing
from tally.screens.guide_facts import facts


def view_of(plan_text: str) -> PlanView:
    plan = read_text(plan_text)
    assert isinstance(plan, Plan), "\n".join(map(str, plan))
    return planned(plan)


@pytest.mark.parametrize("units", ["metric", "us"])
def test_every_line_fits_the_terminal(units: Units) -> None:
    shown = text(view_of(example()), units)
    assert max(map(len, shown.splitlines())) <= 80
    assert not any(line != line.rstrip() for line in shown.splitlines())
    assert shown.endswith("\n")


def test_the_text_ends_with_the_caution_and_says_that_the_job_is_invented() -> None:
    shown = text(view_of(example()), "metric")
    assert " ".join(shown.split()).endswith(CAUTION)
    assert "INVENTED" in shown.splitlines()[1]
    assert "INVENTED" not in text(view_of(example().replace("invented = true", "invented = false")), "metric")


def line_of(shown: str, label: str) -> list[str]:
    line = next(line for line in shown.splitlines() if line.strip().startswith(label))
    return line.strip().removeprefix(label).split("  ")


def cells(shown: str, label: str) -> list[str]:
    return [cell.strip() for cell in line_of(shown, label) if cell.strip()]


def test_more_than_enough_aboard_is_still_no_certainty_in_text_or_beside_the_questions() -> None:
    view = view_of(example().replace("bags = 110", "bags = 1000"))
    assert cells(text(view, "metric"), "chance it is enough") == [">99 %"]
    beside = facts(view, frozenset({*sequence.STEPS, "stage[1]"}), "metric", 40)
    (row,) = [row.plain for row in beside if row.plain.startswith("enough")]
    assert row.split() == ["enough", "chance", ">99", "%"]


def test_no_range_beside_the_questions_is_cut() -> None:
    """31 columns are what a terminal of 80 leaves. At a high estimate that is cut nobody sees what to mix."""
    view = view_of(example())
    beside = facts(view, frozenset({*sequence.STEPS, "stage[1]", "stage[2]"}), "us", 31)
    ranges = [row.plain for row in beside if row.plain.startswith(("low to high", "returns at"))]
    assert len(ranges) >= 3 and not any("…" in row for row in ranges), ranges


def test_numbers_worked_by_hand() -> None:
    # annulus pi/4 (0.4064^2 - 0.2191^2) x 6 = 552 L; 92.01 L/m; 42.55 kg/m: ASME B36.10M; bags: see the view's test
    shown = text(view_of(example()), "metric")
    assert cells(shown, "0.00 m to 6.00 m") == ["406.4 mm", "552 L", "92.01 L/m"]
    assert cells(shown, "outside, bore, mass") == ["219.1 mm", "202.7 mm", "42.55 kg/m"]
    assert cells(shown, "bags") == ["20", "23"]
    # 18.4 L of 0.9991 kg/L to 40 kg; 5.2 and 6.3 US gal to 94 lb
    assert cells(shown, "water to cement") == ["0.46", "A, B: 0.46", "C: 0.56"]
    # sixteen sections of 3 m end on the bottom at 48 m
    assert cells(shown, "tremie sections, end") == ["16 of 16", "48.00 m", "0.00 m off"]
    assert cells(shown, "high volume is pumped") == ["in 17 min 07 s", "at planned rate"]
    assert cells(shown, "neat") == ["40.0 kg bag", "18.4 L water", "31.1 L yield"]
    us = text(view_of(example()), "us")
    # 552.085 / 3.785412 = 145.8; 0.0920142 m3/m x 0.3048 / 0.003785412 = 7.409
    assert cells(us, "0.00 ft to 19.69 ft") == ["16.000 in", "145.8 US gal", "7.409 US gal/ft"]


def test_warnings_come_first_and_loudest_first() -> None:
    shown = text(view_of(example().replace('hoist = "8 t"', 'hoist = "1 t"')), "metric").splitlines()
    first = shown.index("LOOK AT FIRST")
    assert shown[first + 1].startswith("  stop-and-look: joint 8 passes the limit of the hoist")
    assert first < shown.index("HOLE AND CASING, to scale in depth")


FULL = (
    example()
    .replace('outer_diameter = "219.1 mm"\nwall = "8.18 mm" ', 'size = "NPS 8 Sch 40" ')
    .replace("# mixer = ", "mixer = ")
    .replace('# plastic_viscosity = "40 cP" ', 'plastic_viscosity = "40 cP"\nyield_point = "15 Pa" ')
    .replace('method = "tremie"                #', 'method = "through casing" #')
    .replace('# plug = "3 m" ', 'plug = "3 m" ', 1)
    .replace("# delivered = 9 ", "delivered = 11 ")
    .replace("# measured_from", "measured_from")
)


@pytest.mark.parametrize("units", ["metric", "us"])
def test_a_plan_that_says_everything_fits_the_terminal_too(units: Units) -> None:
    shown = text(view_of(FULL), units)
    assert max(map(len, shown.splitlines())) <= 80
    for head in ("HOOK LOAD", "COLLAPSE", "AS THE GROUT COMES UP", "MIXES", "STAGES", "PUMP", "ABOARD"):
        assert sum(line.startswith(head) for line in shown.splitlines()) == 1


def test_forces_worked_by_hand() -> None:
    shown = text(view_of(FULL), "metric")
    assert "CASING, welded, float shoe, steel NPS 8 x 0.322" in shown
    # joint 1: shoe 0.35 + 6.10 + a weld of 0.002 = 6.452 m, 0.60 m above ground; 42.538 kg/m + 28 + 60 kg
    first = shown.split("  joint        ")[1].splitlines()[1]
    assert first.split() == ["1", "6.45", "m", "5.85", "m", "0.36", "t", "0.36", "t", "4.5", "%"]
    # 120 L hold three bags of 31.1 L. The annulus is likely to take 551 L; 22.5 m of hose and 48.1 m of bore hold
    # 1,571 L, of which 2 % and 3 m of bore, 128.2 L, stay inside: 22 bags in eight loads, the last of one
    assert cells(shown, "8 mixer loads") == ["3 bags, last 1", "93.3 L", "55.2 L water"]
    assert cells(shown, "then water, and stop") == ["1,442 L", "leaves 128 L"]
    assert cells(shown, "to wash up") == ["400 L"]
    assert "steel NPS 8 x 0.322" in shown and cells(shown, "delivered") == ["11"]
    assert "depths measured on the day count from 0.80 m above ground" in shown
    # bore 202.7 mm at 20 bar: pi/4 x 0.20272 m2 x 2 MPa = 64.55 kN, 6.58 t
    assert cells(shown, "pull on the cap") == ["6.58 t"]


def test_the_cure_of_a_lift_stands_under_it() -> None:
    lines = text(view_of(example()), "metric").splitlines()
    row = next(
        number for number, line in enumerate(lines) if line.startswith("  first lift") and line.endswith("0.10 t")
    )
    assert lines[row + 1] == "    water inside up to 44.55 m below ground would hold it down"


def test_what_the_plan_does_not_say_of_the_pump_is_said() -> None:
    shown = " ".join(text(view_of(example()), "metric").split())
    assert shown.count("no rheology given (plastic_viscosity, yield_point of the mix)") == 2


def test_the_hole_is_drawn_to_scale() -> None:
    rows = list(drawing(view_of(example()), "metric"))
    ground = next(number for number, row in enumerate(rows) if "ground level" in row)
    body = rows[ground + 1 : ground + 1 + ROWS]
    assert len({row[4:25].rstrip() == "" for row in body}) == 1
    # 48 m in 24 rows: 2 m each. The wide section ends after 3 rows, the stages meet after 18, water is in the tenth.
    assert [row[4] for row in body] == ["│"] * 3 + [" "] * 21
    assert ["▒" in row[4:25] for row in body] == [True] * 18 + [False] * 6
    assert ["░" in row[4:25] for row in body] == [False] * 18 + [True] * 6
    assert "18.00 m  water" in body[9]
    assert all(row[4:25] == row[4:25][::-1] for row in body)


def test_open_hole_below_the_shoe_has_no_casing() -> None:
    text_ = example().replace('target_shoe_depth = "47.5 m"', 'target_shoe_depth = "30 m"')
    rows = list(drawing(view_of(text_), "metric"))
    assert ["┃" in row for row in rows[2 : 2 + ROWS]] == [True] * 15 + [False] * 9


def test_a_hair_of_annulus_still_shows_its_grout() -> None:
    # 12 1/4 and 16 in of hole are 8 and 10 columns; 290 mm of casing would be 7, and the tight part keeps a column
    text_ = example().replace('outer_diameter = "219.1 mm"', 'outer_diameter = "290 mm"')
    rows = list(drawing(view_of(text_), "metric"))
    assert all("▒" in row[4:25] for row in rows[2:20])
    assert {row.index("┃") for row in rows[:26] if "┃" in row} == {rows[1].index("┃")}


@pytest.mark.parametrize("diameter", ["16 in", "0.25 m", "3 m", "18 m"])
def test_any_hole_can_be_drawn(diameter: str) -> None:
    rows = list(drawing(view_of(example().replace('diameter = "16 in"', f'diameter = "{diameter}"')), "metric"))
    assert all(len(row[:25]) <= 25 and row[4:25] == row[4:25][::-1] for row in rows[:ROWS])


def test_json_is_stable_and_carries_the_unit_in_every_key() -> None:
    view = view_of(example())
    found = as_json(view)
    assert json.dumps(found) == json.dumps(as_json(view_of(example())))
    assert json.loads(json.dumps(found, allow_nan=False)) == found
    assert found["caution"] == CAUTION
    assert found["stages"][1]["theory_m3"] == pytest.approx(0.552085 + 30 * 0.0383349, abs=1e-5)
    assert found["mixes"][0]["water_per_bag_m3"] == 0.0184
    assert found["load"]["limit_n"] == 78453.2
    assert found["load"]["share"] == pytest.approx(found["load"]["largest_n"] / 78453.2)
    assert found["stages"][0]["load"]["pump_limit_pa"] is None
    units = ("_m", "_m3", "_m3_m", "_n", "_pa", "_kg", "_kg_m", "_kg_m3", "_s")
    plain_numbers = {
        "share",
        "allowance_share",
        "chance_share",
        "spread_share",
        "factor",
        "ratio",
        "bags",
        "bags_high",
        "bags_aboard",
        "on_rack",
    }
    plain_numbers |= {"joints_needed", "largest_at_joint", "place", "on_joint", "moves", "delivered", "joint"}
    plain_numbers |= {"baud", "unit", "address", "tolerance_share"}
    plain_numbers |= {"dynamic_factor", "specific_gravity", "water_cement", "sections", "of", "setting_c"}
    for key, value in _leaves(found):
        if isinstance(value, int | float) and not isinstance(value, bool):
            assert key.endswith(units) or key in plain_numbers, key


def _leaves(value: Any, key: str = "") -> list[tuple[str, Any]]:
    if isinstance(value, dict):
        return [leaf for name, item in value.items() for leaf in _leaves(item, name)]
    if isinstance(value, list):
        return [leaf for item in value for leaf in _leaves(item, key)]
    return [(key, value)]


def test_names_from_a_plan_cannot_steer_the_terminal_or_the_words() -> None:
    hostile = "{0} [/] [red] \\u001b[2J\\u202e\\n" + "x" * 200
    text_ = example().replace('name = "first lift"', f'name = "{hostile}"').replace("Upper Meadow, well 2", hostile)
    shown = text(view_of(text_), "metric")
    assert "\x1b" not in shown
    assert "\u202e" not in shown
    assert "{0} [/] [red]" in shown
    assert max(map(len, shown.splitlines())) <= 80


def test_the_open_end_and_the_unknown_are_shown_as_such() -> None:
    shown = text(view_of(example().replace('shoe = "float"', 'shoe = "open"')), "metric")
    assert cells(shown, "if the end gives way")[0] == "–"
    assert "open end" in shown


LINES = example().splitlines()
SIZES = [
    "0 m",
    "1 mm",
    "0.2 m",
    "5 m",
    "40 m",
    "9000 m",
    "0 L",
    "3 L",
    "90000 m3",
    "1 kg",
    "900 t",
    "1.1 kg/L",
    "4 kg/L",
]
SIZES += [
    "0 %",
    "-80 %",
    "100 %",
    "1 Pa",
    "9000 bar",
    "1 s",
    "900 d",
    "1 kg/m",
    "open",
    "closed",
    "pvc",
    "through casing",
]


@settings(max_examples=300)
@given(st.lists(st.tuples(st.integers(0, len(LINES) - 1), st.sampled_from(SIZES)), max_size=3))
def test_whatever_reads_as_a_plan_can_be_worked_out_and_printed(changes: list[tuple[int, str]]) -> None:
    lines = list(LINES)
    for number, value in changes:
        key, equals, _ = lines[number].partition(" = ")
        lines[number] = f'{key.removeprefix("# ")} = "{value}"' if equals else lines[number]
    plan = read_text("\n".join(lines))
    if isinstance(plan, Plan):
        view = planned(plan)
        for units in ("metric", "us"):
            assert max(map(len, text(view, units).splitlines())) <= 80
        json.dumps(as_json(view), allow_nan=False)


def instruments_of(meter: str, units: Units = "metric") -> str:
    before, _, after = example().partition("[meter]")
    shown = text(view_of(f"{before}{meter}\n[alarms]{after.partition('[alarms]')[2]}"), units)
    return " ".join(shown.partition("INSTRUMENTS, ")[2].partition("These numbers")[0].split())


PULSES = (
    '[meter]\nport = "COM3"\nsource = "pulses"\nk = "500 pulses/L"\nrolls_over_at_count = 65536\ntolerance = "1 %"\n'
)
GAUGE = '[[instrument]]\nname = "gauge"\nchannel = "pressure"\nport = "COM4"\nsource = "current"\nat_4_mA = "0 bar"\n'


def test_what_counts_where_it_is_and_k_in_both_forms() -> None:
    # 500 pulses a litre are 2 mL a pulse; a US gallon is 3.785411784 L (NIST SP 811): 1 892.71 pulses, 0.000528344 gal
    said = instruments_of(PULSES)
    assert said.startswith("the grout is counted by the meter the meter (counts): COM3, 9600 baud 8N1")
    assert "K 500 pulses/L, that is 0.002 L/pulse; rolls over at 131.072 L; ± 1 %" in said
    assert "K 1892.71 pulses/US gal, that is 0.000528344 US gal/pulse" in instruments_of(PULSES, "us")


def test_what_is_not_there_and_what_is_done_instead() -> None:
    said = instruments_of(PULSES + GAUGE + 'at_20_mA = "250 bar"\n')
    assert "gauge (pressure): COM4, 9600 baud 8N1 4 to 20 mA; 0.0 bar at 4 mA, 250.0 bar at 20 mA" in said
    missing = said.partition("not there:")[2]
    assert "nothing checks the count" in missing and "returns" in missing and "it is typed (h)" in missing
    assert "pressure" not in missing
    none = instruments_of("")
    assert none.startswith("the grout is counted by volumes typed (v)")
    assert "a meter that counts the grout" in none and "nothing checks" not in none


def test_a_bus_says_its_registers_and_who_shares_the_port() -> None:
    port = 'port = "tcp://192.0.2.5:502"\nsource = "modbus"\n'
    rate = '{reads = "rate", address = 7, units = "L/min"}'
    pressure = '{reads = "pressure", address = 9, unit = 2, units = "bar"}'
    said = instruments_of(
        f'[meter]\n{port}every = "2 s"\nregister = [{rate}]\n'
        f'[[instrument]]\nname = "gauge"\nchannel = "pressure"\n{port}register = [{pressure}]\n'
    )
    assert "tcp://192.0.2.5:502, shared with gauge Modbus; asked every 2 s; rate from holding 7 of unit 1" in said
    assert "keeps no count: what goes by unheard is lost" in said


def test_instruments_in_si() -> None:
    before, _, after = example().partition("[meter]")
    view = view_of(f"{before}{PULSES}\n[alarms]{after.partition('[alarms]')[2]}")
    metering = as_json(view)["metering"]
    (one,) = metering["instruments"]
    assert metering["counts"] == "the meter"
    assert (one["pulse_m3"], one["pulses_per_m3"]) == (pytest.approx(2e-6), pytest.approx(5e5))
    assert one["rolls_over_m3"] == pytest.approx(0.131072)
    assert len(metering["missing"]) == 5
