"""Several instruments on one port: it is opened once, every byte is kept once, and the log read again gives the record.

The peers are real: a pseudo-terminal that says lines with several values, and Modbus devices in a process of their own.
"""

import os
import struct
import threading
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from itertools import pairwise
from pathlib import Path

import pytest

from tally.job import events as ev
from tally.job import intents as want
from tally.job.plan import Plan
from tally.job.state import State
from tally.live.clock import SystemClock
from tally.live.instruments import grout_meter
from tally.live.loading import load
from tally.live.recorder import Recorder
from tally.live.reread import Reread, reread
from tally.live.session import Saved
from tally.planfile import read_text
from tally.record.raw_log import raw_log_path, read_raw
from tests.cli.program import PtyMeter
from tests.live.small_job import plan_text
from tests.meters.modbus_device import modbus_device, shows
from tests.meters.support import wait_until
from tests.meters.wires import joined_terminals

pytestmark = pytest.mark.skipif(os.name != "posix", reason="needs pseudo-terminals")
DEADLINE_S = 20.0
LINES = """\
[meter]
port = "{port}"
pattern = 'T (?P<total>[0-9.]+) L R (?P<rate>[0-9.]+) L/min D [0-9.]+ P [0-9.]+'
units = {{total = "L", rate = "L/min"}}

[[instrument]]
name = "balance"
channel = "density"
port = "{port}"
pattern = 'T [0-9.]+ L R [0-9.]+ L/min D (?P<density>[0-9.]+) P [0-9.]+'
units = {{density = "kg/L"}}

[[instrument]]
name = "gauge"
channel = "pressure"
port = "{port}"
pattern = 'T [0-9.]+ L R [0-9.]+ L/min D [0-9.]+ P (?P<pressure>[0-9.]+)'
units = {{pressure = "bar"}}
"""
SAID_ONCE = """\
[meter]
port = "{port}"
pattern = 'T (?P<total>[0-9.]+) L D (?P<density>[0-9.]+) P (?P<pressure>[0-9.]+)'
units = {{total = "L", density = "kg/L", pressure = "bar"}}

[[instrument]]
name = "gauge"
channel = "pressure"
port = "{port}"
"""
BUS = """\
[meter]
port = "{port}"
source = "modbus"
every = "0.1 s"
register = [{{reads = "total", address = 100, type = "uint32", units = "L"}}]

[[instrument]]
name = "gauge"
channel = "pressure"
port = "{port}"
source = "modbus"
every = "0.1 s"
register = [{{reads = "pressure", address = 100, unit = 2, type = "uint16", units = "bar", scale = 0.1}}]
"""


def planned(instruments: str) -> Plan:
    head, _, tail = plan_text("none").partition("[meter]")
    rest = tail.partition("\n[")[2]
    found = read_text(f"{head}{instruments}\n{'[' + rest if rest else ''}")
    assert isinstance(found, Plan), [str(each) for each in found]
    return found


@contextmanager
def recording(plan: Plan, home: Path) -> Iterator[Recorder]:
    recorder = Recorder.opened(plan, home, SystemClock(), grout_meter)
    recorder.start()
    try:
        yield recorder
    finally:
        recorder.stop()


def conditions(state: State) -> Mapping[str, str]:
    return {"grout": state.flow.condition} | {one.name: one.flow.condition for one in state.watched}


def until(recorder: Recorder, there: object) -> None:
    assert callable(there)
    assert wait_until(lambda: there(recorder.snapshot.state), DEADLINE_S), recorder.snapshot.state


def comes_out_again(path: Path) -> Reread:
    """What the log alone gives is what was recorded, heartbeat for heartbeat."""
    loaded = load(path)
    found = reread(loaded.entries, read_raw(raw_log_path(path)), lambda meter: meter)
    assert found.agrees(loaded.entries)
    assert found.readings > 0
    return found


def test_one_line_feeds_three_instruments(tmp_path: Path) -> None:
    said: list[str] = []
    with PtyMeter() as rig:

        def say(total_l: float) -> None:
            said.append(f"T {total_l:.2f} L R 60.00 L/min D 1.870 P 7.20\r\n")
            rig.send(said[-1])

        with recording(planned(LINES.format(port=rig.port)), tmp_path) as recorder:
            until(recorder, lambda state: set(conditions(state).values()) == {"OPENING"})
            assert [thread.name for thread in threading.enumerate() if thread.name.startswith("meter ")] == [
                "meter grout"
            ]
            say(99.0)  # the tail of a line, for all one knows
            for count in range(8):
                say(100.0 + count)
            until(recorder, lambda state: state.flow.last_total_m3 == pytest.approx(0.107))
            until(recorder, lambda state: set(conditions(state).values()) == {"LIVE"})
            state = recorder.snapshot.state
            assert state.gauges.pressure_pa == pytest.approx(7.2e5)
            rig.send("spoiled\r\n")
            say(108.0)
            until(recorder, lambda state: state.flow.last_total_m3 == pytest.approx(0.108))
        path = recorder.path
    samples = [
        one for entry in load(path).entries if isinstance(entry.event, ev.Heartbeat) for one in entry.event.samples
    ]
    assert {one.quantity for one in samples if one.channel == "grout"} == {"total_m3", "rate_m3_s"}
    assert {(one.quantity, *one.values[:1]) for one in samples if one.channel == "balance"} == {
        ("density_kg_m3", 1870.0)
    }
    assert sum(len(one.values) for one in samples if one.channel == "gauge") >= 9
    chunks = list(read_raw(raw_log_path(path)))
    assert {chunk.channel for chunk in chunks} == {"grout"}  # each byte once, under the first
    assert b"".join(chunk.data for chunk in chunks).decode() == "".join([*said[:9], "spoiled\r\n", *said[9:]])
    assert [chunk.data for chunk in chunks].count(b"") == 1  # opened once
    comes_out_again(path)


def test_the_pattern_is_said_once_for_all_that_its_lines_hold(tmp_path: Path) -> None:
    with PtyMeter() as rig, recording(planned(SAID_ONCE.format(port=rig.port)), tmp_path) as recorder:
        until(recorder, lambda state: set(conditions(state).values()) == {"OPENING"})
        rig.send("\r\n" + "".join(f"T {100 + count}.0 L D 1.87 P 7.2\r\n" for count in range(5)))
        until(recorder, lambda state: state.gauges.pressure_pa == pytest.approx(7.2e5))
    samples = [
        one
        for entry in load(recorder.path).entries
        if isinstance(entry.event, ev.Heartbeat)
        for one in entry.event.samples
    ]
    assert {one.quantity for one in samples if one.channel == "gauge"} == {"pressure_pa"}  # and no total of its own
    comes_out_again(recorder.path)


TWO_KINDS = (
    '[meter]\nport = "{port}"\npattern = "T (?P<total>[0-9.]+)"\nunits = {{total = "L"}}\n'
    '[[instrument]]\nname = "gauge"\nchannel = "pressure"\nport = "{port}"\n'
    'pattern = "P (?P<pressure>[0-9.]+)"\nunits = {{pressure = "bar"}}\n'
)


def test_lines_of_two_kinds_are_no_garbage_to_each_other(tmp_path: Path) -> None:
    with PtyMeter() as rig, recording(planned(TWO_KINDS.format(port=rig.port)), tmp_path) as recorder:
        until(recorder, lambda state: set(conditions(state).values()) == {"OPENING"})
        for count in range(40):  # three lines of pressure to one of the total: most would be garbage
            rig.send(f"T {100 + count}\r\nP 7.2\r\nP 7.2\r\nP 7.2\r\n")
        until(recorder, lambda state: state.flow.last_total_m3 == pytest.approx(0.139))
        counted_s = recorder.snapshot.state.elapsed_s
        until(recorder, lambda state: state.elapsed_s > counted_s + 1.0)  # a doubt would have been told by now
        assert [recorder.snapshot.state.flow.doubt, recorder.snapshot.state.watched[0].flow.doubt] == ["", ""]
    assert comes_out_again(recorder.path).unread == 0


@pytest.mark.long  # a doubt goes once its lines are a quarter of a minute old
def test_what_none_of_them_reads_is_garbage(tmp_path: Path) -> None:
    with PtyMeter() as rig, recording(planned(TWO_KINDS.format(port=rig.port)), tmp_path) as recorder:
        until(recorder, lambda state: set(conditions(state).values()) == {"OPENING"})
        for count in range(40):
            rig.send(f"T {100 + count}\r\nP 7.2\r\nP 7.2\r\nP 7.2\r\n")
        until(recorder, lambda state: state.flow.last_total_m3 == pytest.approx(0.139))
        rig.send("X\r\n" * 40)
        until(recorder, lambda state: state.flow.doubt == "garbage")  # what nobody reads is
        until(recorder, lambda state: state.watched[0].flow.doubt == "")  # three good lines to one for it
    assert comes_out_again(recorder.path).unread == 40  # nor are they when the log is read again


def test_a_port_that_goes_is_gone_for_all_of_them(tmp_path: Path) -> None:
    link = tmp_path / "port"
    with ExitStack() as stack:
        with PtyMeter() as rig:
            link.symlink_to(rig.port)
            recorder = stack.enter_context(recording(planned(LINES.format(port=link)), tmp_path))
            until(recorder, lambda state: set(conditions(state).values()) == {"OPENING"})
            link.unlink()
        until(recorder, lambda state: set(conditions(state).values()) == {"FAULT"})
        other = stack.enter_context(PtyMeter())
        link.symlink_to(other.port)
        until(recorder, lambda state: set(conditions(state).values()) == {"OPENING"})
        other.send("\r\n" + "T 100.00 L R 60.00 L/min D 1.870 P 7.20\r\n" * 3)
        until(recorder, lambda state: set(conditions(state).values()) == {"LIVE"})


def test_one_that_is_planned_later_comes_beside_the_meter_on_its_port(tmp_path: Path) -> None:
    with PtyMeter() as rig:
        text = SAID_ONCE.format(port=rig.port)
        alone, both = planned(text.partition("[[")[0]), planned(text)
        with recording(alone, tmp_path) as recorder:
            until(recorder, lambda state: conditions(state) == {"grout": "OPENING"})
            rig.send("\r\nT 100.0 L D 1.87 P 7.2\r\n")
            until(recorder, lambda state: conditions(state) == {"grout": "LIVE"})
            assert isinstance(recorder.submit(want.AmendPlan(both, "gauge plugged in")).result(DEADLINE_S), Saved)
            until(recorder, lambda state: conditions(state) == {"grout": "OPENING", "gauge": "OPENING"})
            rig.send("\r\nT 103.0 L D 1.87 P 6.5\r\n")
            until(recorder, lambda state: state.gauges.pressure_pa == pytest.approx(6.5e5))
            until(recorder, lambda state: state.flow.last_total_m3 == pytest.approx(0.103))
    comes_out_again(recorder.path)


def test_two_units_of_a_bus_take_turns(tmp_path: Path) -> None:
    with joined_terminals() as (theirs, ours), modbus_device(theirs, [0x0001, 0x86A0], [72]):
        plan = planned(BUS.replace("source", "baud = 115200\nsource").format(port=ours))
        with recording(plan, tmp_path) as recorder:
            until(recorder, lambda state: set(conditions(state).values()) == {"LIVE"})
            until(recorder, lambda state: state.gauges.pressure_pa == pytest.approx(7.2e5))
            assert recorder.snapshot.state.flow.last_total_m3 == pytest.approx(100.0)  # 0x000186A0 litres
            state = recorder.snapshot.state
            assert [state.flow.doubt, state.watched[0].flow.doubt] == ["", ""]
    chunks = [chunk for chunk in read_raw(raw_log_path(recorder.path)) if chunk.data]
    assert {chunk.channel for chunk in chunks} == {"grout"}
    units = [chunk.data[0] for chunk in chunks]  # each piece begins with its question, answered or not
    assert set(pairwise(units)) <= {(1, 2), (2, 1)}
    comes_out_again(recorder.path)


def test_a_unit_that_is_missing_costs_the_other_nothing(tmp_path: Path) -> None:
    words = list(struct.unpack(">2H", struct.pack(">I", 500)))
    with modbus_device("rtu-tcp", words) as port:
        with recording(planned(BUS.format(port=f"socket://127.0.0.1:{port}")), tmp_path) as recorder:
            until(recorder, lambda state: state.flow.condition == "LIVE")
            shows(port, [0, 510], rtu=True)
            until(recorder, lambda state: state.flow.metered_m3 == pytest.approx(0.010))
            until(recorder, lambda state: state.watched[0].flow.condition == "STALE")
            assert recorder.snapshot.state.flow.doubt == ""
        comes_out_again(recorder.path)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ("baud = 19200", "9600 baud and 8N1, not 19200 and 8N1"),
        ('bits = "7E1"', "not 9600 and 7E1"),
        ('source = "modbus"\nregister = [{reads = "pressure", address = 1, units = "bar"}]', "lines and Modbus"),
        ('channel = "hook load"', "force or current named in that pattern"),
    ],
)
def test_what_cannot_share_a_port_is_refused_in_words(more: str, words: str) -> None:
    head = plan_text("none").partition("[meter]")[0]
    gauge = SAID_ONCE.format(port="COM3") + more
    gauge = gauge.replace('channel = "pressure"\n', "") if "channel" in more else gauge
    found = read_text(head + gauge)
    assert isinstance(found, list)
    assert any(words in str(each) and "instrument[1]" in str(each) for each in found), [str(each) for each in found]


def test_what_an_instrument_does_not_say_is_as_on_the_port_that_it_shares() -> None:
    plan = planned(SAID_ONCE.format(port="COM3").replace("[[", 'baud = 19200\nbits = "7E1"\n[[', 1))
    (gauge,) = plan.instruments
    assert (gauge.baud, gauge.bits) == (19_200, "7E1")
    assert gauge.factors == pytest.approx({"pressure": 1e5})
    assert "(?P<total>" not in gauge.pattern and "(?P<pressure>" in gauge.pattern
