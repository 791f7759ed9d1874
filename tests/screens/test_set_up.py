"""Instruments set up in the app, on real ports: what arrives stands beside what it is read as while it is asked."""

import os
import struct
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from tally import planfile
from tally.job.plan import Plan
from tally.job.wired import MeterPlan, Wiring
from tally.live.picture import Picture, Row, Value
from tally.meters.simulator_process import SimulatorProcess
from tally.meters.transport import open_port
from tally.planfile.guided import draft, written
from tally.planfile.snippet import read_meter
from tally.screens import guide_live, themes
from tally.screens.start import Choice, StartApp
from tests.cli.program import PtyMeter
from tests.meters.modbus_device import FIRST, modbus_device
from tests.meters.modbus_device import shows as device_shows
from tests.meters.wires import joined_terminals
from tests.planfile.test_guided import METRIC, interviewed
from tests.screens.contrast import weak_in
from tests.screens.support import LARGE, MIDDLE, SMALL, TINY, Bench, started

pytestmark = pytest.mark.skipif(os.name != "posix", reason="needs pseudo-terminals")
ORDER = interviewed(METRIC)
FLOAT = struct.unpack(">2H", struct.pack(">f", 1234.5))


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("TZ", "Europe/Oslo")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(guide_live, "ports", lambda: ())
    return tmp_path


@asynccontextmanager
async def trying(here: Path, size: tuple[int, int] = SMALL, **more: str) -> AsyncIterator[Bench]:
    async with started(StartApp((), here, **more), size=size) as screen:  # type: ignore[arg-type]
        await screen.keys("4")
        await screen.shows("TRY A METER", "It is on port ▸")
        yield screen


@asynccontextmanager
async def planning(here: Path) -> AsyncIterator[Bench]:
    """The guided plan with all but the instruments answered."""
    said = dict(list(ORDER.items())[: list(ORDER).index("meter.is")])
    assert draft.saved(here, said) == ""
    async with started(StartApp((), here)) as screen:
        await screen.keys("1", "1")
        await screen.shows("A meter that counts grout? ▸")
        yield screen


async def sends(screen: Bench, meter: PtyMeter, text: str, condition: Callable[[], bool]) -> None:
    """Sends the same line until something has come of it."""

    def sent() -> bool:
        meter.offer(text)
        return condition()

    await screen.until(sent, f"nothing came of {text!r}")


def plan_in(here: Path) -> Plan:
    found = planfile.read(here / "upper-brook-well-4.toml")
    assert isinstance(found, Plan), found
    return found


@pytest.fixture
def meter() -> Iterator[PtyMeter]:
    with PtyMeter() as found:
        yield found


async def test_a_meter_is_set_up_in_the_guided_plan_and_its_port_is_free_for_the_job(
    here: Path, meter: PtyMeter
) -> None:
    async with planning(here) as screen:
        await screen.keys("2", "enter")
        await screen.shows("It is on port ▸")
        await screen.write(meter.port)
        await screen.shows("It runs at ▸", "[Enter: 9600 baud")
        total = iter(range(100, 10_000))
        await screen.until(
            lambda: (meter.send(f"VOL {next(total)}.50 L FLOW 61.2 L/min\r\n"), "VOL 10" in screen.text)[1],  # type: ignore[func-returns-value]
            "lines came",
        )
        for _ in range(4):
            meter.send(f"VOL {next(total)}.50 L FLOW 61.2 L/min\r\n")
        await screen.keys("enter")
        await screen.shows("What kind is it? ▸", "[Enter: prints lines")
        await screen.keys("enter")
        await screen.shows("total in L, rate in L/min;", "= total", "rate 61.2")
        await screen.keys("enter")
        await screen.shows("It may be off by (%) ▸", "The total is in                  L", "rate 61 L/min")
        await screen.keys("enter", "enter", "enter", "enter")
        await screen.shows("Save the plan as ▸")
        await screen.keys("enter")
        await screen.shows("Start recording now?")
        await screen.keys("1")
        await screen.until(lambda: screen.app._exit, "it ended")
        assert screen.app.return_value == Choice("record", Path("upper-brook-well-4.toml"))
        open_port(meter.port, 9600).close()  # as the job will
    hand = read_meter(
        f'''[meter]\nport = "{meter.port}"\nunits = {{total = "L", rate = "L/min"}}
        pattern = 'VOL\\s+(?P<total>[+-]?[0-9.]+)\\s+L\\s+FLOW\\s+(?P<rate>[+-]?[0-9.]+)\\s+L/min'\n'''
    )
    assert isinstance(hand, MeterPlan)
    assert plan_in(here).meter == hand


async def test_a_pulse_counter_shows_what_a_thousand_counts_come_to(here: Path) -> None:
    with SimulatorProcess("--listen", "127.0.0.1:0", "--line", "pulse", "--rate", "60", "--hz", "20") as simulator:
        async with trying(here) as screen:
            await screen.write(simulator.port)
            await screen.shows("What kind is it? ▸", "P 000", "[Enter: pulse counter")
            await screen.keys("enter")
            await screen.shows("A line is read as ▸", '"P 0001234"')
            await screen.keys("enter", "1", "enter")
            await screen.shows("Pulses to the L ▸")
            await screen.keys(*"812")
            await screen.shows("= 812: 1,000 counts come to 1.2 L   Enter takes it")
            await screen.keys("enter")
            await screen.shows("= total")
            await screen.keys("enter", "enter")
            await screen.shows("Write the lines to ▸", 'k = "812 pulses/L"')
            await screen.keys("enter")
            await screen.shows("The lines for a plan were written to meter.toml")
    found = read_meter((here / "meter.toml").read_text(encoding="utf-8"))
    assert isinstance(found, MeterPlan), found
    assert found.factors == {"pulses": pytest.approx(1e-3 / 812)}


@pytest.mark.parametrize("kind", ["tcp", "rtu"])
async def test_a_display_tells_the_order_of_a_modbus_device(here: Path, kind: str) -> None:
    high, low = FLOAT
    with joined_terminals() as (theirs, ours), modbus_device(kind if kind == "tcp" else theirs, [low, high]) as port:
        async with trying(here) as screen:
            if kind == "tcp":
                await screen.write(f"tcp://127.0.0.1:{port}")
                await screen.shows("What kind is it? ▸", "1  Modbus")
                await screen.keys("1", "enter")
            else:
                await screen.write(ours)
                await screen.write("3")
                await screen.write("5")
            await screen.shows("Unit id of the device ▸")
            await screen.keys("enter", "enter", "1", "enter")
            await screen.write(str(FIRST))
            await screen.shows("The total is in ▸", f"register {FIRST}: 5000 449A")
            await screen.keys("1", "enter")
            await screen.shows("Its own display shows now ▸", "float32", "CDAB 1234.5")
            await screen.write("999.1")
            await screen.shows("✗ nothing there reads 999.1")
            await screen.keys(*["backspace"] * 5, *"1234.5")
            await screen.shows("float32, order CDAB, register 100: that alone reads it")
            await screen.keys("enter")
            await screen.shows("Another value of this device? ▸", "= total 1,234.50 L")
            await screen.keys("enter", "enter", "enter")
            await screen.shows("Write the lines to ▸")
            await screen.keys("enter")
            await screen.shows("were written to meter.toml")
    found = read_meter((here / "meter.toml").read_text(encoding="utf-8"))
    assert isinstance(found, MeterPlan), found
    (register,) = found.registers
    assert (register.address, register.type, register.order) == (FIRST, "float32", "CDAB")


async def test_several_orders_are_put_to_the_driller(here: Path) -> None:
    with modbus_device("tcp", [0x0101, 0x0101]) as port:
        async with trying(here) as screen:
            await screen.write(f"tcp://127.0.0.1:{port}")
            for keys in (["1"], [], [], ["1"], list(str(FIRST)), ["1"]):
                await screen.keys(*keys, "enter")
            await screen.shows("Its own display shows now ▸", "float32")
            await screen.write("16843009")
            await screen.shows("Which reads that? ▸", "2  uint32, order CDAB, register 100: 16,843,009 now", "by hand")
            assert "[Enter" not in screen.text
            # After some flow only one of them follows the display, by hand: 0x01010103 is 16843011.
            device_shows(port, [0x0101, 0x0103])
            await screen.shows("1  uint32, order ABCD, register 100: 16,843,011 now")
            await screen.keys("1", "enter")
            await screen.shows("= total 16,843,011.00 L")


async def test_a_port_in_use_or_absent_is_said_and_blocks_nothing(here: Path, meter: PtyMeter) -> None:
    other = open_port(meter.port, 9600)
    try:
        async with planning(here) as screen:
            await screen.keys("2", "enter")
            await screen.write(meter.port)
            await screen.shows("NO PORT", "in use by another program")
            await screen.keys("enter", "6", "enter")
            await screen.shows("Another instrument? ▸")
            await screen.keys("enter", "enter", "enter")
            await screen.shows("Save the plan as ▸")
            await screen.keys("enter")
            await screen.shows("Start recording now?")
            await screen.keys("2")
            await screen.shows("The plan was saved")
    finally:
        other.close()
    assert plan_in(here).meter is None


async def test_what_was_answered_is_there_again_after_leaving(here: Path, meter: PtyMeter) -> None:
    async with planning(here) as screen:
        await screen.keys("2", "enter")
        await screen.write(meter.port)
        await screen.keys("enter")
        await screen.shows("What kind is it? ▸")
        await screen.keys("escape")
        await screen.shows("A NEW JOB")
        open_port(meter.port, 9600).close()
        await screen.keys("1", "1")
        await screen.shows("What kind is it? ▸", meter.port, "LISTENING")


async def test_a_speed_is_heard_before_it_is_taken(here: Path) -> None:
    with PtyMeter(baud=19_200) as meter:
        async with trying(here) as screen:
            await screen.write(meter.port)
            await screen.shows("It runs at ▸")
            await screen.keys("2")
            await sends(screen, meter, "VOL 1.50 L\r\n", lambda: "VOL 1.50 L" in screen.text)


async def test_hostile_bytes_are_drawn_as_text(here: Path, meter: PtyMeter) -> None:
    async with trying(here) as screen:
        await screen.write(meter.port)
        await sends(
            screen,
            meter,
            "\n[red]x[/] [@click=app.quit]y[/]\n\x1b[2J\x1b]0;t\x07\n",
            lambda: "[red]x[/]" in screen.text,
        )
        await screen.shows("1b 5b 32 4a")
        assert "\x1b" not in screen.text


async def test_ports_of_the_machine_are_picked_by_number(
    here: Path, meter: PtyMeter, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guide_live, "ports", lambda: (("/dev/none", "bridge"), (meter.port, "converter, number 12")))
    async with trying(here) as screen:
        await screen.shows("1  /dev/none  bridge", f"2  {meter.port}  converter, number 12")
        await screen.keys("2")
        await screen.shows("LISTENING")  # before it is taken
        await screen.keys("enter")
        await screen.shows("It runs at ▸")


async def test_the_instruments_of_a_plan_file_are_heard_before_it_is_recorded(here: Path, meter: PtyMeter) -> None:
    gauge = f"""
    [meter]\nport = "{here}/none"\ndialect = "plain"
    [[instrument]]\nname = "pump gauge"\nchannel = "pressure"\nport = "{meter.port}"\nsource = "current"
    at_4_mA = "0 bar"\nat_20_mA = "100 bar"
    """
    text = written.plan_text(ORDER) + gauge
    (here / "job.toml").write_text(text, encoding="utf-8")
    async with started(StartApp((), here)) as screen:
        await screen.keys("2", "1")
        await screen.shows("Start recording Upper Brook, well 4?", "3  listen to its instruments first")
        await screen.keys("3")
        await screen.shows("▸ the meter that counts grout", "there is no port")
        await screen.keys("down")
        await sends(screen, meter, "I 12.00 mA\r\n", lambda: "= pressure 50.0 bar" in screen.text)
        await screen.keys("escape")
        await screen.shows("Start recording Upper Brook, well 4?")
        open_port(meter.port, 9600).close()


# --- how it looks --------------------------------------------------------------------------------------------------


class Still:
    """Stands in for a port: one picture, whatever is asked."""

    picture = Picture()

    def listen(self, setting: Wiring | None) -> None:
        """As it is."""

    def stop(self, timeout_s: float = 1.0) -> None:
        """Nothing runs."""


AT = Wiring("/dev/ttyUSB0", pattern="plain")
LINES = Picture(
    AT, "open", "", 57, 55, 2, 1.0,
    (
        *(Row(f"VOL {n}.50 L FLOW 61.2 L/min", (Value("total", n + 0.5, None), Value("rate", 61.2, None)))
          for n in range(100, 105)),
        Row("VOL 1#5.50 L FL", (), "the line does not fit the pattern"),
        Row("a5 00 ff", (), "not text: check the baud rate"),
    ),
    tuple(f"VOL {n}.50 L FLOW 61.2 L/min" for n in range(100, 110)),
)  # fmt: skip
HELD = Picture(
    Wiring("tcp://192.0.2.5:502", modbus=True, address=100), "open", "", 9, 0, 0, None,
    (Row("register 100: 5000 449A 0000 0007"),), (), {100: (0x5000, 0x449A, 0, 7)},
)  # fmt: skip
FAULT = Picture(AT, "fault", "'/dev/ttyUSB0' is in use by another program: close that program")
SO_FAR = {"meter.is": "yes", "meter.port": "/dev/ttyUSB0", "meter.speed": "9600 8N1"}
MODBUS = {
    "meter.is": "yes", "meter.port": "tcp://192.0.2.5:502", "meter.kind": "modbus", "meter.unit_id": "1",
    "meter.bank": "holding", "meter.register[1].reads": "total", "meter.register[1].address": "100",
    "meter.register[1].units": "L",
}  # fmt: skip
SHOTS = {
    "kind": (SO_FAR, LINES),
    "pattern": ({**SO_FAR, "meter.kind": "lines"}, LINES),
    "display": (MODBUS, HELD),
    "busy": (SO_FAR, FAULT),
    "lines": (
        {**SO_FAR, "meter.kind": "lines", "meter.pattern": r"VOL (?P<total>[0-9.]+) L", "meter.units.total": "US gal",
         "meter.tolerance": "2 %", "instrument[1].channel": ""}, LINES,
    ),
}  # fmt: skip


@asynccontextmanager
async def shot(
    here: Path, name: str, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int] = SMALL, **more: str
) -> AsyncIterator[Bench]:
    said, picture = SHOTS[name]
    monkeypatch.setattr(Still, "picture", picture)
    monkeypatch.setattr(guide_live, "Trial", Still)
    assert draft.saved(here, said, draft.METER) == ""
    async with started(StartApp((), here, **more), size=size) as screen:  # type: ignore[arg-type]
        await screen.keys("4")
        await screen.shows("A meter was tried before")
        await screen.keys("1")
        await screen.until(lambda: screen.app.screen._live.picture is picture, "it was drawn")
        await screen.settled()
        yield screen


@pytest.mark.parametrize("size", [SMALL, MIDDLE, LARGE], ids=lambda size: "{}x{}".format(*size))
@pytest.mark.parametrize("name", SHOTS)
async def test_the_screen_reads_as_kept(
    here: Path, name: str, size: tuple[int, int], rebuild_goldens: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = Path(__file__).parent / "goldens" / "start" / "set-up-{}-{}x{}.txt".format(name, *size)
    async with shot(here, name, monkeypatch, size) as screen:
        text = screen.text + "\n"
    if rebuild_goldens:
        path.write_text(text, encoding="utf-8", newline="\n")
    assert text == path.read_text(encoding="utf-8")


async def test_on_a_tiny_terminal_the_question_still_stands(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    async with shot(here, "display", monkeypatch, TINY) as screen:
        await screen.shows("Its own display shows")
        await screen.keys("up", "f6")
        await screen.shows("A PLAN, QUESTION BY QUESTION")


@pytest.mark.parametrize("theme", [theme.name for theme in themes.ALL])
async def test_everything_drawn_stands_out(here: Path, theme: str, monkeypatch: pytest.MonkeyPatch) -> None:
    async with shot(here, "pattern", monkeypatch, theme=theme) as screen:
        assert weak_in(screen) == []
