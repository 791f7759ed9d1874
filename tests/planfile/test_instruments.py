"""[meter] and [[instrument]] of a plan file: what each source becomes, and each mistake in words."""

import pytest

from tally.job.plan import Plan
from tally.planfile import read_text
from tally.planfile.example import example

L = 1e-3
US_GAL = 3.785411784e-3
IMP_GAL = 4.54609e-3


def text(meter: str, rest: str = "") -> str:
    """The example plan with another [meter] and whatever follows it."""
    before, _, after = example().partition("[meter]")
    return f"{before}{meter}\n{rest}\n[alarms]{after.partition('[alarms]')[2]}"


def plan_of(meter: str, rest: str = "") -> Plan:
    found = read_text(text(meter, rest))
    assert isinstance(found, Plan), [str(mistake) for mistake in found]
    return found


def refused(meter: str, rest: str = "") -> str:
    found = read_text(text(meter, rest))
    assert not isinstance(found, Plan)
    return "\n".join(map(str, found))


@pytest.mark.parametrize(
    ("k", "pulse_m3"),
    [
        ("812 pulses/L", L / 812),
        ("0.5 L/pulse", 0.5 * L),
        ("3078 pulses per US gal", US_GAL / 3078),
        ("3078 pulses/imp gal", IMP_GAL / 3078),  # 20 % more than by the other gallon
        ("0.0987 US gal per pulse", 0.0987 * US_GAL),
    ],
)
def test_pulses_with_k_in_either_sense(k: str, pulse_m3: float) -> None:
    meter = plan_of(f'[meter]\nport = "/dev/ttyS0"\nsource = "pulses"\nk = "{k}"\nrolls_over_at_count = 65536').meter
    assert meter is not None
    assert meter.factors == pytest.approx({"pulses": pulse_m3})
    assert meter.modulus_m3 == pytest.approx(65536 * pulse_m3)


def test_strokes_by_hand() -> None:
    # 1.2 L a stroke at 90 % is 1.08 L
    meter = plan_of(
        '[meter]\nport = "/dev/ttyS0"\nsource = "strokes"\nstroke_volume = "1.2 L"\nefficiency = "90 %"'
    ).meter
    assert meter is not None
    assert meter.factors == pytest.approx({"pulses": 1.08 * L})


def test_a_current_and_its_range() -> None:
    plan = plan_of(
        '[meter]\nport = "/dev/ttyS0"\nsource = "current"\nat_4_mA = "0 L/min"\nat_20_mA = "120 L/min"',
        '[[instrument]]\nname = "hook"\nchannel = "hook load"\nport = "COM4"\nsource = "current"\n'
        'at_4_mA = "-1 t"\nat_20_mA = "15 t"',
    )
    assert plan.meter is not None and plan.meter.loop is not None
    assert plan.meter.loop.quantity == "rate_m3_s"
    assert plan.meter.loop.at_20 == pytest.approx(2 * L)
    loop = plan.instruments[0].loop
    assert loop is not None
    assert loop.quantity == "force_n"
    assert loop.at_4 == pytest.approx(-9806.65)


def test_registers_of_a_modbus_device() -> None:
    meter = plan_of(
        '[meter]\nport = "tcp://192.0.2.5:502"\nsource = "modbus"\nevery = "0.5 s"\nregister = [\n'
        '  { reads = "total", address = 7, unit = 3, bank = "input", type = "uint32", order = "CDAB", units = "L",'
        " scale = 0.1 },\n"
        '  { reads = "rate", address = 9, units = "L/min" },\n]'
    ).meter
    assert meter is not None
    total, rate = meter.registers
    assert (total.address, total.unit, total.bank, total.type, total.order) == (7, 3, "input", "uint32", "CDAB")
    assert total.factor == pytest.approx(0.1 * L)
    assert (rate.type, rate.order, rate.unit) == ("float32", "ABCD", 1)
    assert meter.every_s == 0.5


def test_others_check_and_one_of_them_may_count() -> None:
    plan = plan_of(
        "",
        '[[instrument]]\nname = "main"\nchannel = "grout in"\ncounts = true\nport = "COM3"\ndialect = "plain"\n'
        '[[instrument]]\nname = "returns"\nchannel = "returns out"\nport = "COM4"\ndialect = "plain"\n',
    )
    assert plan.meter is not None
    assert (plan.meter.port, plan.meter.name, plan.meter.channel) == ("COM3", "main", "grout")
    assert [(one.name, one.measures) for one in plan.instruments] == [("returns", "returns out")]


METER = '[meter]\nport = "COM3"\n'
OTHER = '[[instrument]]\nname = "other"\nchannel = "grout in"\nport = "COM4"\ndialect = "plain"\n'


@pytest.mark.parametrize(
    ("meter", "rest", "words"),
    [
        (METER + 'source = "pulses"\nk = "812"', "", "whether pulses per volume or volume per pulse"),
        (METER + 'source = "pulses"\nk = "812 pulses/gal"', "", "which gallon is not said"),
        (METER + 'source = "pulses"', "", "meter.k: given nothing"),
        (METER + 'source = "strokes"\nstroke_volume = "1 L"\nefficiency = "120 %"', "", "from 10 % to 100 %"),
        (METER + 'source = "current"\nat_4_mA = "0 L/min"', "", "meter.at_20_mA: given nothing"),
        (METER + 'source = "current"\nat_4_mA = "1 L/min"\nat_20_mA = "1 L/min"', "", "other end of the range"),
        (METER + 'source = "modbus"', "", "[[meter.register]]"),
        (
            METER + 'source = "modbus"\nregister = [{ reads = "total", address = 65535, units = "L" }]',
            "",
            "accepted is 0 to 65534",
        ),
        (
            METER + 'source = "modbus"\nregister = [{ reads = "density", address = 1, units = "SG" }]',
            "",
            "total or pulses or rate or current, for grout in",
        ),
        (METER + "pattern = '(?P<total>([0-9]+)+)'\nunits = {total = \"L\"}", "", "a repeat inside a repeat"),
        ('[meter]\nport = "tcp://192.0.2.5:502"\ndialect = "plain"', "", 'tcp:// is for source = "modbus"'),
        (METER + 'bits = "9N1"\ndialect = "plain"', "", "data bits, parity and stop bits"),
        (METER + 'dialect = "plain"', OTHER + "counts = true", "one source that counts"),
        (METER + 'dialect = "plain"', OTHER.replace("COM4", "COM3") + "baud = 300", "instrument[1].port"),
        (METER + 'dialect = "plain"', OTHER + OTHER.replace("COM4", "COM5"), "two instruments are called 'other'"),
        (METER + 'dialect = "plain"', OTHER.replace('"grout in"', '"density"'), "plain lines give a total and a rate"),
        (METER + 'dialect = "plain"', OTHER.replace('"other"', '"grout"'), 'other than "grout"'),
    ],
)  # fmt: skip
def test_each_mistake_in_words(meter: str, rest: str, words: str) -> None:
    assert words in refused(meter, rest)


def test_a_tank_and_what_it_lacks() -> None:
    plan = plan_of(METER + 'dialect = "plain"', '[tank]\nshape = "lying cylinder"\ndiameter = "1 m"\nlength = "2 m"')
    assert plan.tank is not None
    assert plan.tank.volume_m3(0.5) == pytest.approx(0.785398, abs=1e-6)
    rows = 'row = [{ depth = "0 cm", volume = "0 L" }, { depth = "10 cm", volume = "50 L" }]'
    plan = plan_of(METER + 'dialect = "plain"', f'[tank]\nshape = "table"\n{rows}\ndipped = "from the bottom"')
    assert plan.tank is not None
    assert plan.tank.volume_m3(0.05) == pytest.approx(0.025)
    assert "tank.length: given nothing" in refused(METER + 'dialect = "plain"', '[tank]\nshape = "box"')
    assert "growing from row to row" in refused(
        METER + 'dialect = "plain"', f'[tank]\nshape = "table"\n{rows.replace("10 cm", "0 cm")}'
    )
