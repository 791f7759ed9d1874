"""Modbus packets to readings: whole, cut up, among noise; and from a real device in a process of its own."""

import struct
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tally.meters.current import CurrentLoop
from tally.meters.decoder import Decoder
from tally.meters.meter import Meter
from tally.meters.modbus import ModbusDialect, ModbusFramer, crc16
from tally.meters.modbus_port import modbus_opener
from tally.meters.reading import Reading
from tally.meters.register import Register
from tally.meters.source import MeterState
from tests.meters.modbus_device import FIRST, modbus_device
from tests.meters.support import wait_until
from tests.meters.wires import joined_by_socat, joined_terminals
from tests.published.tables import Row, rows

WORDS = [0x47F1, 0x2000]
"""123 456 L as a float."""
TOTAL = Register("total", FIRST, 1e-3)
TOTAL_M3 = 123.456
QUESTION = struct.pack(">BBHH", 1, 3, FIRST, 2)
ANSWER = struct.pack(">BBBHH", 1, 3, 4, *WORDS)


def rtu(body: bytes) -> bytes:
    return body + crc16(body)


def tcp(body: bytes) -> bytes:
    return struct.pack(">HHH", 7, 0, len(body)) + body


def decoder(registers: tuple[Register, ...] = (TOTAL,), *, over_tcp: bool = False) -> Decoder:
    return Decoder("in", ModbusDialect(registers, tcp=over_tcp))


@pytest.mark.parametrize("row", rows("modbus-crc"), ids=repr)
def test_the_check_of_published_frames(row: Row) -> None:
    assert crc16(bytes.fromhex(row["frame"])) == bytes.fromhex(row["crc"])


@pytest.mark.parametrize("wrapped", [rtu, tcp])
@pytest.mark.parametrize("size", [1, 2, 7, 1000])
def test_question_and_answer_however_they_are_cut_and_whatever_is_around_them(wrapped: object, size: int) -> None:
    assert callable(wrapped)
    noise = b"\x55\xaa\x00\xff\x01\x07"
    for stream in (
        wrapped(QUESTION) + wrapped(ANSWER),
        noise + wrapped(QUESTION) + wrapped(ANSWER) + noise,
        wrapped(QUESTION) + noise + wrapped(ANSWER),
        wrapped(QUESTION) + wrapped(QUESTION) + wrapped(ANSWER),  # the first was not answered
    ):
        read = decoder(over_tcp=wrapped is tcp)
        found = [one for at in range(0, len(stream), size) for one in read.feed(1.0, stream[at : at + size])]
        assert [(one.quantity, round(one.value, 9)) for one in found] == [("total_m3", TOTAL_M3)]


def test_a_damaged_answer_gives_nothing_and_the_next_one_is_read() -> None:
    damaged = bytearray(rtu(ANSWER))
    damaged[4] ^= 0x10
    read = decoder()
    assert read.feed(1.0, rtu(QUESTION) + bytes(damaged)) == []
    assert len(read.feed(2.0, rtu(QUESTION) + rtu(ANSWER))) == 1
    assert read.garbage >= 1


def test_an_answer_without_its_question_is_not_guessed_at() -> None:
    assert decoder().feed(1.0, rtu(ANSWER)) == []


def test_what_a_device_refuses_is_said_in_words() -> None:
    read = decoder()
    assert read.feed(1.0, rtu(QUESTION) + rtu(b"\x01\x83\x02")) == []
    assert read.last_trouble is not None
    assert "no such register" in read.last_trouble.why


def test_a_current_below_its_limit_is_a_failure_and_no_value() -> None:
    register = Register("current", 0, 1e-6, type="uint16")  # the device counts microamperes
    dialect = ModbusDialect((register,), loop=CurrentLoop("pressure_pa", 0.0, 25e6))
    question = struct.pack(">BBHH", 1, 3, 0, 1)
    read = Decoder("p", dialect)
    (found,) = read.feed(0.0, rtu(question) + rtu(struct.pack(">BBBH", 1, 3, 2, 12_000)))
    assert found.quantity == "pressure_pa"
    assert found.value == pytest.approx(12.5e6)  # 12 mA is half of the range
    assert read.feed(1.0, rtu(question) + rtu(struct.pack(">BBBH", 1, 3, 2, 3_500))) == []
    assert read.last_trouble is not None and "3.50 mA, below 3.6" in read.last_trouble.why


@given(st.lists(st.binary(max_size=40), max_size=20), st.booleans())
def test_noise_gives_no_reading_and_is_forgotten(chunks: list[bytes], over_tcp: bool) -> None:
    framer = ModbusFramer(tcp=over_tcp)
    for chunk in chunks:
        framer.feed(chunk)
        assert len(framer._kept) <= 300


@pytest.fixture(params=["joined here", "socat"])
def wire(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[str, str]]:
    """Two ends of one wire, each a device node: joined by the test itself, and by a program of the system."""
    with joined_terminals() if request.param == "joined here" else joined_by_socat(tmp_path) as ends:
        yield ends


def heard(url: str, *, registers: tuple[Register, ...] = (TOTAL,)) -> tuple[list[Reading], bytes, Meter]:
    """What a meter reads of the device at `url`, and the bytes that it handed on."""
    raw = bytearray()
    meter = Meter(
        "in",
        url,
        115_200,
        ModbusDialect(registers, tcp=url.startswith("tcp")),
        opener=modbus_opener(registers, 0.05),
        on_raw=lambda channel, mono_s, data: raw.extend(data),
    )
    meter.start()
    try:
        assert wait_until(lambda: meter.status.lines >= 3 or meter.status.garbage >= 3, 20.0), meter.status
        return meter.drain(), bytes(raw), meter
    finally:
        meter.stop()


@pytest.mark.parametrize("where", ["tcp", "rtu-tcp"])
def test_a_real_device_over_tcp(where: str) -> None:
    with modbus_device(where, WORDS) as port:
        url = f"{'tcp' if where == 'tcp' else 'socket'}://127.0.0.1:{port}"
        readings, raw, meter = heard(url)
        assert {round(reading.value, 6) for reading in readings} == {TOTAL_M3}
        assert meter.status.garbage == 0
        again = decoder(over_tcp=where == "tcp").feed(0.0, raw)
        assert len(again) >= 3  # the raw log alone gives the same readings


def test_a_real_device_on_a_serial_line(wire: tuple[str, str]) -> None:
    theirs, ours = wire
    with modbus_device(theirs, WORDS):
        readings, raw, meter = heard(ours)
        assert {round(reading.value, 6) for reading in readings} == {TOTAL_M3}
        assert meter.status.garbage == 0
        assert len(decoder().feed(0.0, raw)) >= 3


def test_a_real_device_refuses_a_register_that_it_does_not_have() -> None:
    with modbus_device("tcp", WORDS) as port:
        _, _, meter = heard(f"tcp://127.0.0.1:{port}", registers=(Register("total", 9, 1e-3),))
        assert meter.status.lines == 0
        trouble = meter.hearing.decoder.last_trouble
        assert trouble is not None and "no such register" in trouble.why


def test_a_device_that_goes_is_a_fault_in_words() -> None:
    with modbus_device("tcp", WORDS) as port:
        meter = Meter(
            "in",
            f"tcp://127.0.0.1:{port}",
            9600,
            ModbusDialect((TOTAL,), tcp=True),
            opener=modbus_opener((TOTAL,), 0.05),
        )
        meter.start()
        reached = wait_until(lambda: meter.status.state is MeterState.LIVE, 20.0)
    try:
        assert reached
        assert wait_until(lambda: meter.status.state is MeterState.FAULT, 20.0), meter.status
        assert wait_until(lambda: "nothing answers at" in meter.status.why, 20.0), meter.status
    finally:
        meter.stop()


def test_a_device_that_does_not_answer_is_stale_and_stops_in_time(wire: tuple[str, str]) -> None:
    meter = Meter("in", wire[1], 9600, ModbusDialect((TOTAL,)), opener=modbus_opener((TOTAL,), 0.05), stale_after_s=0.3)
    meter.start()
    assert wait_until(lambda: meter.status.state is MeterState.STALE, 20.0), meter.status
    before_s = time.monotonic()
    meter.stop(2.0)
    assert time.monotonic() - before_s < 2.0
