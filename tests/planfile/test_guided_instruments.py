"""Instruments asked one by one: the answers make the same plan as a table written by hand, and nothing is guessed."""

import struct
from collections.abc import Mapping, Sequence

import pytest

from tally import planfile
from tally.job.plan import Plan
from tally.job.wired import Wiring
from tally.planfile.guided import asking, sequence, written
from tally.planfile.guided.heard import Heard, informed, taken
from tally.planfile.guided.question import Answers, Question, Unfit, answer
from tally.planfile.guided.wiring import comes_to, wiring
from tests.planfile.test_guided import METRIC, interviewed

PORT = "/dev/ttyUSB0"


def asked_with(typed: Mapping[str, str], heard: Heard) -> dict[str, str]:
    """The answers as the screen takes them, with what was heard; the job itself is answered already."""
    answers: dict[str, str] = interviewed(METRIC)
    for name in [
        name for name in answers if name == "meter.is" or name.startswith(("instrument[", "strokes.", "tank."))
    ]:
        del answers[name]
    while (asked := _next(answers)) is not None:
        asked = informed(asked, answers, heard)
        said = answer(asked, typed.get(asked.id, ""), asking.units_of(answers), asking.gallon_of(answers))
        found = taken(asked, said, answers, heard)
        wrong = written.mistakes(found, asked.id)
        assert wrong == [], (asked.id, wrong)
        answers = found
    return answers


def _next(answers: Answers) -> Question | None:
    return next((each for each in sequence.questions(answers) if each.id not in answers), None)


def plan_of(answers: Answers) -> Plan:
    found = written.whole(answers)
    assert isinstance(found, Plan), found
    return found


def by_hand(tables: str) -> Plan:
    """The same job with instruments written by hand."""
    found = planfile.read_text(written.plan_text(interviewed(METRIC)) + tables)
    assert isinstance(found, Plan), found
    return found


LINES = Heard(lines=tuple(f"VOL {100 + n}.50 L FLOW 61.2 L/min" for n in range(6)))
COUNTS = Heard(lines=tuple(f"P {1000 + n:07d}" for n in range(6)))
OTHER_COUNTS = Heard(lines=tuple(f"CNT={1000 + n}" for n in range(6)))
LOAD = Heard(lines=tuple(f"LOAD {n}.20 kN" for n in range(1, 7)))
PLAIN = Heard(lines=tuple(f"T {n:06d}.00 L R 62.10 L/min" for n in range(6)))
PROPOSED = r"VOL\s+(?P<total>[+-]?[0-9.]+)\s+L\s+FLOW\s+(?P<rate>[+-]?[0-9.]+)\s+L/min"

_CASES = {
    "plain lines, all offered": (
        {"meter.port": PORT}, PLAIN,
        f'[meter]\nport = "{PORT}"\ndialect = "plain"\n',
    ),
    "lines whose pattern and units come from what arrives": (
        {"meter.port": "COM3", "meter.speed": "3", "meter.tolerance": "1.5"}, LINES,
        f'''[meter]\nport = "COM3"\nbaud = 115200\npattern = '{PROPOSED}'\nunits = {{total = "L", rate = "L/min"}}
        tolerance = "1.5 %"\n''',
    ),
    "a pulse counter of the usual kind": (
        {"meter.port": PORT, "meter.k_by": "1", "meter.k": "812"}, COUNTS,
        f'[meter]\nport = "{PORT}"\nsource = "pulses"\nk = "812 pulses/L"\n',
    ),
    "volume per pulse, imperial, odd speed": (
        {"meter.port": PORT, "meter.speed": "5", "meter.baud": "2400", "meter.bits": "5", "meter.k_by": "8",
         "meter.k": "0.05", "meter.kind": "2"}, OTHER_COUNTS,
        f'''[meter]\nport = "{PORT}"\nbaud = 2400\nbits = "7E1"\nsource = "pulses"\nk = "0.05 imp gal/pulse"
        pattern = 'CNT=(?P<pulses>[+-]?[0-9.]+)'\n''',
    ),
    "pump strokes": (
        {"meter.port": PORT, "meter.kind": "3", "meter.stroke_volume": "1.2", "meter.efficiency": "92"}, COUNTS,
        f'[meter]\nport = "{PORT}"\nsource = "strokes"\nstroke_volume = "1.2 L"\nefficiency = "92 %"\n',
    ),
    "4 to 20 mA over a converter on the network": (
        {"meter.port": "socket://192.0.2.5:4001", "meter.kind": "4", "meter.at_4_mA": "0", "meter.at_20_mA": "100"},
        Heard(),
        '[meter]\nport = "socket://192.0.2.5:4001"\nsource = "current"\nat_4_mA = "0 L/min"\nat_20_mA = "100 L/min"\n',
    ),
    "Modbus by hand": (
        {"meter.port": PORT, "meter.kind": "5", "meter.speed": "4", "meter.unit_id": "7", "meter.bank": "2",
         "meter.register[1].reads": "1", "meter.register[1].address": "20", "meter.register[1].units": "US gal",
         "meter.register[1].type": "3", "meter.register[1].order": "2", "meter.register[1].scale": "0.1",
         "meter.register[1].more": "yes", "meter.register[2].reads": "rate", "meter.register[2].address": "24",
         "meter.register[2].units": "m3/h", "meter.register[2].order": "1"}, Heard(),
        f'''[meter]\nport = "{PORT}"\nbaud = 19200\nbits = "8E1"\nsource = "modbus"\nregister = [
        {{reads = "total", address = 20, unit = 7, bank = "input", type = "int32", order = "CDAB",'''
        f''' scale = 0.1, units = "US gal"}},
        {{reads = "rate", address = 24, unit = 7, bank = "input", units = "m3/h"}}]\n''',
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", _CASES)
def test_answers_make_the_meter_that_a_hand_would_have_written(name: str) -> None:
    typed, heard, table = _CASES[name]
    found = plan_of(asked_with({"meter.is": "yes"} | typed, heard))
    assert found.meter == by_hand(table).meter is not None


def test_other_instruments_are_asked_one_after_another() -> None:
    typed = {
        "instrument[1].channel": "2", "instrument[1].port": "/dev/ttyUSB1", "instrument[1].k_by": "1",
        "instrument[1].k": "5", "instrument[1].kind": "2",
        "instrument[2].channel": "5", "instrument[2].port": "COM7", "instrument[2].kind": "2",
        "instrument[2].name": "gauge at the pump", "instrument[2].at_4_mA": "0", "instrument[2].at_20_mA": "2 MPa",
        "tank.shape": "2", "tank.diameter": "1.1", "tank.height": "1.25", "tank.dipped": "2",
    }  # fmt: skip
    found = plan_of(asked_with(typed, Heard()))
    hand = by_hand(
        """
        [[instrument]]\nname = "returns meter"\nchannel = "returns out"\nport = "/dev/ttyUSB1"\nsource = "pulses"
        k = "5 pulses/L"
        [[instrument]]\nname = "gauge at the pump"\nchannel = "pressure"\nport = "COM7"\nsource = "current"
        at_4_mA = "0 bar"\nat_20_mA = "2 MPa"
        [tank]\nshape = "standing cylinder"\ndiameter = "1.1 m"\nheight = "1.25 m"\ndipped = "from the bottom"
        """
    )
    assert found.meter is None
    assert len(found.instruments) == 2
    assert (found.instruments, found.tank) == (hand.instruments, hand.tank)


def test_a_weight_indicator_takes_its_unit_from_its_lines() -> None:
    typed = {"instrument[1].channel": "4", "instrument[1].port": "COM7"}
    found = plan_of(asked_with(typed, LOAD))
    assert [one.measures for one in found.instruments] == ["hook load"]
    assert found.instruments[0].factors == {"force": pytest.approx(1000.0)}  # one kilonewton


STROKES = {"strokes.is": "yes", "pump.stroke_volume": "1.2", "pump.efficiency": "92"}


def test_strokes_counted_by_hand_make_the_pump_that_a_hand_would_have_written() -> None:
    found = plan_of(asked_with(STROKES | {"strokes.rate": "55"}, Heard()))
    assert found.pump is not None
    assert found.pump == by_hand('[pump]\nrate = "55 L/min"\nstroke_volume = "1.2 L"\nefficiency = "92 %"\n').pump


def test_a_pump_whose_rate_was_answered_is_asked_for_its_strokes_alone() -> None:
    answers = interviewed(METRIC | STROKES | {"pump.rate": "55", "pump.pressure_limit": "20"})
    assert "strokes.rate" not in answers
    pump = plan_of(answers).pump
    assert pump is not None and pump.stroke_m3 == pytest.approx(0.0012) and pump.efficiency_share == pytest.approx(0.92)
    assert pump.rate_m3_s == pytest.approx(0.055 / 60) and pump.pressure_limit_pa == pytest.approx(20e5)


def test_an_efficiency_that_no_pump_has_is_told_at_its_question() -> None:
    answers = interviewed(METRIC | STROKES | {"strokes.rate": "55"}) | {"pump.efficiency": "120 %"}
    assert [mistake.key for mistake in written.mistakes(answers, "pump.efficiency")] == ["pump.efficiency"]


def test_where_a_port_counts_the_strokes_no_hand_is_asked_to() -> None:
    typed = {"meter.is": "yes", "meter.port": PORT, "meter.kind": "3", "meter.stroke_volume": "1.2"}
    answers = asked_with(typed | {"meter.efficiency": "92"}, COUNTS)
    assert not [name for name in answers if name.startswith(("strokes.", "pump.s", "pump.e"))]


def test_a_tank_by_its_table() -> None:
    rows = {
        "tank.row[1].depth": "0", "tank.row[1].volume": "0", "tank.row[2].depth": "0.5",
        "tank.row[2].volume": "400", "tank.row[3].depth": "1", "tank.row[3].volume": "900",
    }  # fmt: skip
    found = plan_of(asked_with({"tank.shape": "5"} | rows, Heard()))
    assert found.tank is not None
    assert [each for row in found.tank.rows for each in row] == pytest.approx([0, 0, 0.5, 0.4, 1.0, 0.9])


def test_what_is_not_known_yet_is_left_out_and_the_rest_keeps_its_place() -> None:
    typed = {
        "meter.is": "yes", "meter.port": PORT, "meter.kind": "6",
        "instrument[1].channel": "4", "instrument[1].port": "COM8", "instrument[1].kind": "4",
        "instrument[2].channel": "5", "instrument[2].port": "COM7", "instrument[2].kind": "2",
        "instrument[2].at_4_mA": "0", "instrument[2].at_20_mA": "10",
    }  # fmt: skip
    answers = asked_with(typed, Heard())
    found = plan_of(answers)
    assert found.meter is None
    assert [one.measures for one in found.instruments] == ["pressure"]
    # A mistake in the one that stands first in the file is told to the question that made it.
    name = "instrument[2].at_20_mA"
    assert [mistake.key for mistake in written.mistakes(answers | {name: "0 bar"}, name)] == [name]


SHARED = {
    f"{prefix}.{name}": said
    for prefix in ("meter", "instrument[1]")
    for name, said in {
        "port": "COM3", "kind": "modbus", "register[1].reads": "1", "register[1].address": "0",
        "register[1].units": "1", "register[1].order": "1",
    }.items()
} | {"meter.is": "yes", "instrument[1].channel": "2", "instrument[1].unit_id": "2"}  # fmt: skip


def test_two_units_of_one_bus_share_its_port() -> None:
    found = plan_of(asked_with(SHARED, Heard()))
    assert found.meter is not None
    assert [one.port for one in (found.meter, *found.instruments)] == ["COM3", "COM3"]
    assert [one.registers[0].unit for one in (found.meter, *found.instruments)] == [1, 2]


ON_LINES = {"instrument[1].kind": "2", "instrument[1].k_by": "1", "instrument[1].k": "5"}


def test_what_cannot_share_a_port_is_told_as_soon_as_its_kind_is_known() -> None:
    port = "instrument[1].port"
    answers = asked_with(SHARED | ON_LINES | {port: "COM4"}, Heard()) | {port: "COM3"}
    assert "lines and Modbus cannot be on one wire" in written.mistakes(answers, port)[0].given
    half = {name: said for name, said in answers.items() if name != "instrument[1].k"}
    assert "lines and Modbus cannot be on one wire" in written.mistakes(half, port)[0].given
    assert written.mistakes({name: said for name, said in half.items() if name != "instrument[1].kind"}, port) == []


@pytest.mark.parametrize("first", ["lines", "modbus"])
def test_on_a_port_that_is_taken_only_what_can_share_it_is_offered_and_its_speed_is_not_asked(first: str) -> None:
    answers = meter_so_far(kind=first) | {"instrument[1].channel": "returns out", "instrument[1].name": "returns"}
    for port, shares in (("COM9", False), (PORT, True)):
        asked = {each.id: each for each in sequence.questions(answers | {"instrument[1].port": port})}
        kinds = dict(asked["instrument[1].kind"].choices)
        assert ("instrument[1].speed" in asked) is not shares
        assert ("modbus" in kinds) is (not shares or first == "modbus")
        assert ("lines" in kinds) is (not shares or first == "lines")
        assert "later" in kinds
        assert ("the meter is already" in asked["instrument[1].kind"].remark) is shares


def test_a_port_is_opened_as_the_one_that_has_it_says() -> None:
    typed = {"meter.speed": "2", "instrument[1].speed": "3"}
    found = plan_of(asked_with(SHARED | typed, Heard()))
    assert found.meter is not None
    assert [(one.baud, one.bits) for one in (found.meter, *found.instruments)] == [(19_200, "8N1")] * 2
    looked = wiring(asked_with(SHARED | typed, Heard()), "instrument[1]")
    assert looked is not None and looked.baud == 19_200


def test_a_kind_that_cannot_be_on_the_port_it_is_moved_to_is_asked_again() -> None:
    answers = asked_with(SHARED | ON_LINES | {"instrument[1].port": "COM4"}, Heard())
    moved = taken(question(answers, "instrument[1].port", Heard()), "COM3", answers, Heard())
    assert {"instrument[1].kind", "instrument[1].k"} & set(moved) == set()
    assert {"instrument[1].channel", "instrument[1].name", "meter.kind"} <= set(moved)
    following = written.next_open(moved)
    assert following is not None and following.id == "instrument[1].kind"


def question(answers: Answers, name: str, heard: Heard) -> Question:
    return informed(next(each for each in sequence.questions(answers) if each.id == name), answers, heard)


def meter_so_far(**said: str) -> dict[str, str]:
    answers = interviewed(METRIC)
    return answers | {"meter.is": "yes", "meter.port": PORT, "meter.speed": "9600 8N1"} | {
        f"meter.{name}": value for name, value in said.items()
    }  # fmt: skip


def test_a_gallon_of_no_country_is_asked_and_never_offered() -> None:
    heard = Heard(lines=tuple(f"TOTAL {n}.5 GAL" for n in range(6)))
    answers = meter_so_far(kind="lines")
    pattern = question(answers, "meter.pattern", heard)
    answers = taken(pattern, answer(pattern, "", "metric", None), answers, heard)
    assert "meter.units.total" not in answers
    unit = question(answers, "meter.units.total", heard)
    assert (unit.offered, [value for value, _ in unit.choices]) == ("", ["US gal", "imp gal"])
    with pytest.raises(Unfit, match="nothing was given"):
        answer(unit, "", "metric", None)
    assert answer(unit, "2", "metric", None) == "imp gal"


def test_a_unit_that_the_line_does_not_say_is_asked() -> None:
    heard = Heard(lines=tuple(f"{n}.50" for n in range(10, 16)))
    answers = meter_so_far(kind="lines")
    pattern = question(answers, "meter.pattern", heard)
    answers = taken(pattern, answer(pattern, "1", "metric", None), answers, heard)
    assert question(answers, "meter.units.total", heard).offered == ""


def test_units_of_another_pattern_are_forgotten() -> None:
    answers = meter_so_far(kind="lines", pattern=r"(?P<total>[0-9.]+)") | {"meter.units.total": "m3"}
    pattern = question(answers, "meter.pattern", LINES)
    assert taken(pattern, PROPOSED, answers, LINES)["meter.units.total"] == "L"
    assert taken(pattern, r"T (?P<total>[0-9.]+)", answers, LINES).get("meter.units.total") is None


@pytest.mark.parametrize(
    ("changed", "said", "gone", "kept"),
    [
        ("meter.kind", "pulses", ["meter.pattern", "meter.units.total"], ["meter.port", "meter.speed"]),
        ("meter.k_by", "L/pulse", ["meter.k"], ["meter.pattern"]),
        ("meter.register[1].reads", "rate", ["meter.register[1].units", "meter.register[1].form"],
         ["meter.register[1].address", "meter.register[2].units"]),
        ("meter.register[1].address", "7", ["meter.register[1].shows", "meter.register[1].form"],
         ["meter.register[1].units", "meter.register[2].form"]),
        ("meter.bank", "input", ["meter.register[1].form", "meter.register[2].form"], ["meter.register[1].units"]),
        ("instrument[1].channel", "pressure", ["instrument[1].kind", "instrument[1].k"],
         ["instrument[1].port", "meter.k"]),
    ],
)  # fmt: skip
def test_what_rested_on_a_changed_answer_is_asked_again(
    changed: str, said: str, gone: list[str], kept: list[str]
) -> None:
    answers = meter_so_far(kind="lines", pattern="plain", k_by="pulses/L", k="5", bank="holding") | {
        "meter.units.total": "L", "meter.register[1].reads": "total", "meter.register[1].address": "6",
        "meter.register[1].units": "L", "meter.register[1].shows": "12", "meter.register[1].form": "uint16 ABCD 1 6",
        "meter.register[2].units": "L/min", "meter.register[2].form": "uint16 ABCD 1 9",
        "instrument[1].channel": "returns out", "instrument[1].port": "COM4", "instrument[1].kind": "pulses",
        "instrument[1].k": "5",
    }  # fmt: skip
    asked = Question(id=changed, step="instruments", words="")
    found = taken(asked, said, answers, Heard())
    assert [name for name in gone if name in found] == []
    assert [name for name in kept if name not in found] == []
    assert taken(asked, answers[changed], answers, Heard()) == answers


def test_a_dialect_that_a_counter_has_not_is_told_to_the_question_that_made_it() -> None:
    answers = meter_so_far(kind="pulses", pattern="plain", k_by="pulses/L", k="5")
    assert written.mistakes(answers, "meter.pattern")


def test_ports_are_picked_by_number_or_typed() -> None:
    heard = Heard(ports=(("/dev/ttyUSB0", "bridge, serial number 12"), ("/dev/ttyUSB1", "no description")))
    asked = question(meter_so_far(), "meter.port", heard)
    assert next(words for _, words in asked.choices) == "/dev/ttyUSB0  bridge, serial number 12"
    assert answer(asked, "2", "metric", None) == "/dev/ttyUSB1"
    assert answer(asked, "socket://192.0.2.5:4001", "metric", None) == "socket://192.0.2.5:4001"


# --- Modbus: what the display shows tells type and order -------------------------------------------------------------


def as_words(packed: bytes) -> tuple[int, ...]:
    return struct.unpack(f">{len(packed) // 2}H", packed)


def displayed(words: Sequence[int], shows: str, first: int = 100) -> dict[str, str]:
    answers = meter_so_far(kind="modbus", unit_id="1", bank="holding") | {
        "meter.register[1].reads": "total", "meter.register[1].address": "100", "meter.register[1].units": "L",
    }  # fmt: skip
    heard = Heard(registers={first: tuple(words)})
    asked = question(answers, "meter.register[1].shows", heard)
    return taken(asked, answer(asked, shows, "metric", None), answers, heard)


def test_the_one_way_that_reads_the_display_is_taken() -> None:
    # IEC 60559 single precision of 1234.5, by the standard library's packing; words swapped.
    high, low = as_words(struct.pack(">f", 1234.5))
    answers = displayed((low, high, 0, 7), "1234.5")
    assert answers["meter.register[1].form"] == "float32 CDAB 1 100"
    plan = plan_of(_rest(answers))
    assert plan.meter is not None
    assert (plan.meter.registers[0].type, plan.meter.registers[0].order) == ("float32", "CDAB")


def _rest(answers: dict[str, str]) -> dict[str, str]:
    while (asked := _next(answers)) is not None:
        answers = answers | {asked.id: answer(asked, "", "metric", None)}
    return answers


def test_several_ways_are_asked_and_none_is_taken() -> None:
    answers = displayed((0x0101, 0x0101, 0, 0), str(0x01010101))
    assert "meter.register[1].form" not in answers
    asked = question(answers, "meter.register[1].form", Heard(registers={100: (0x0101, 0x0101, 0, 0)}))
    assert len(asked.choices) > 2
    assert asked.offered == ""
    # The count has moved on: those that read the display then are still put, with what each reads now.
    later = question(answers, "meter.register[1].form", Heard(registers={100: (0x0101, 0x0102, 0, 0)}))
    assert [value for value, _ in later.choices] == [value for value, _ in asked.choices]
    assert later.choices[0][1].endswith("16,843,010 now")  # 0x01010102


def test_a_display_that_nothing_reads_is_told() -> None:
    with pytest.raises(Unfit, match="nothing there reads 999"):
        displayed((1, 2, 3, 4), "999.25")


def test_a_manual_that_counts_from_one_is_noticed() -> None:
    high, low = as_words(struct.pack(">f", 1234.5))
    answers = displayed((high, low, 17, 9), "1234.5", first=99)
    assert answers["meter.register[1].form"] == "float32 ABCD 1 99"
    plan = plan_of(_rest(answers))
    assert plan.meter is not None
    assert plan.meter.registers[0].address == 99


def test_a_silent_device_leaves_the_question_open_and_blocks_nothing() -> None:
    answers = meter_so_far(kind="modbus", unit_id="1", bank="holding") | {
        "meter.register[1].reads": "total", "meter.register[1].address": "100", "meter.register[1].units": "L",
        "meter.register[1].shows": "1234.5",
    }  # fmt: skip
    asked = question(answers, "meter.register[1].form", Heard())
    assert [value for value, _ in asked.choices] == ["by hand"]
    answers |= {"meter.register[1].form": "by hand", "meter.register[1].order": "DCBA"}
    plan = plan_of(_rest(answers))
    assert plan.meter is not None
    assert plan.meter.registers[0].order == "DCBA"


# --- what is listened to meanwhile -----------------------------------------------------------------------------------


def test_what_is_listened_to_follows_the_answers() -> None:
    answers = meter_so_far(speed="19200 8E1")
    assert wiring(answers, "meter") == Wiring(PORT, 19_200, "8E1")
    answers |= {"meter.kind": "lines", "meter.pattern": r"(?P<total>[0-9.]+)"}
    assert wiring(answers, "meter") == Wiring(PORT, 19_200, "8E1", pattern=r"(?P<total>[0-9.]+)")
    found = wiring(answers | {"meter.units.total": "m3"}, "meter")
    assert found is not None
    assert found.wired is not None
    assert found.wired.factors == {"total": 1.0}
    assert wiring(answers | {"meter.port": ""}, "meter") is None


def test_a_modbus_device_is_asked_for_the_register_in_question() -> None:
    answers = meter_so_far(port="tcp://192.0.2.5:502", kind="modbus", unit_id="3", bank="input") | {
        "meter.register[1].reads": "total", "meter.register[1].address": "100", "meter.register[1].units": "L",
    }  # fmt: skip
    found = wiring(answers, "meter", "meter.register[1].shows")
    assert found is not None
    assert (found.unit, found.bank, found.address, found.wired) == (3, "input", 100, None)
    assert wiring({**answers, "meter.kind": ""}, "meter") is None  # nothing can be asked over TCP yet


@pytest.mark.parametrize(
    ("by", "k", "says"),
    [("pulses/L", "812", "1,000 counts come to 1.2 L"), ("L/pulse", "0.5", "1,000 counts come to 500 L"),
     # 1,000 x 0.01 gal of 231 in3 are 37.854 L.
     ("US gal/pulse", "0.01", "1,000 counts come to 37.9 L"), ("pulses/L", "0", ""), ("pulses/L", "x", "")],
)  # fmt: skip
def test_k_is_shown_by_an_example(by: str, k: str, says: str) -> None:
    answers = meter_so_far(kind="pulses", k_by=by)
    asked = next(each for each in sequence.questions(answers) if each.id == "meter.k")
    assert comes_to(asked, k, answers, "metric") == says


def test_hostile_answers_of_a_draft_end_in_words() -> None:
    answers = meter_so_far(kind="modbus", unit_id="٣", bank="[/]", speed="x y") | {
        "meter.register[1].reads": "no", "meter.register[1].address": "9" * 400, "meter.register[1].shows": "\x1b[2J",
        "meter.register[1].form": "a b c d", "meter.register[1].ways": "uint16 ABCD ... 1; x; uint16 ABCD 1e-05 7",
    }  # fmt: skip
    assert sequence.questions(answers)
    assert not isinstance(written.whole(answers), Plan)
    assert wiring(answers, "meter", "meter.register[1].shows") is None
    asked = Question(id="meter.register[1].form", step="instruments", words="", form="choice")
    assert [value for value, _ in informed(asked, answers, Heard()).choices] == ["uint16 ABCD 1e-05 7"]
