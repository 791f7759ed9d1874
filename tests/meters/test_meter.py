"""The meter's thread, on real pseudo-terminals and sockets with the simulator in a process of its own."""

import os
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from tally.meters.backlog import Backlog
from tally.meters.dialect import plain
from tally.meters.meter import Meter
from tally.meters.reading import Reading
from tally.meters.simulator_process import SimulatorProcess
from tally.meters.source import MeterState
from tally.meters.transport import Port, PortFault
from tests.meters.support import PLAIN_LINE, BytesPort, SetClock, wait_until

posix = pytest.mark.skipif(os.name != "posix", reason="needs pseudo-terminals")


@pytest.fixture(params=["pty", "socket"])
def simulator(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[SimulatorProcess]:
    if request.param == "socket":
        where = ["--listen", "127.0.0.1:0"]
    elif os.name == "posix":
        where = ["--pty", "--link", str(tmp_path / "meter")]
    else:
        pytest.skip("needs pseudo-terminals")
    with SimulatorProcess(*where, "--speed", "20", "--start-total", "1234.5") as process:
        yield process


def last_total_l(readings: list[Reading]) -> float:
    return [r.value * 1000 for r in readings if r.quantity == "total_m3"][-1]


def until_total(meter: Meter, total_l: float) -> list[Reading]:
    """What is drained until the total is what the meter prints of `total_l`, or the deadline passes."""
    readings: list[Reading] = []

    def there() -> bool:
        readings.extend(meter.drain())
        return bool(readings) and abs(last_total_l(readings) - total_l) < 0.006

    assert wait_until(there), (total_l, readings[-2:], meter.status)
    return readings


def test_what_the_rig_pumped_is_what_is_read_also_after_the_plug_was_pulled(simulator: SimulatorProcess) -> None:
    raw: list[tuple[float, bytes]] = []
    meter = Meter("in", simulator.port, 9600, plain(), on_raw=lambda _, mono_s, data: raw.append((mono_s, data)))
    assert meter.status.state is MeterState.CLOSED
    meter.start()
    try:
        assert wait_until(lambda: meter.status.state is MeterState.LIVE)
        simulator.command("rate 60")
        assert wait_until(lambda: simulator.tell()["pumped_l"] > 5)
        simulator.command("stop")
        readings = until_total(meter, simulator.tell()["total_l"])
        assert {r.channel for r in readings} == {"in"}
        assert {r.quantity for r in readings} == {"total_m3", "rate_m3_s"}

        simulator.command("unplug")
        assert wait_until(lambda: meter.status.state is MeterState.FAULT)
        assert simulator.port.rpartition("/")[2] in meter.status.why
        simulator.command("rate 60")
        assert wait_until(lambda: simulator.tell()["pumped_l"] > 20)
        simulator.command("stop")
        simulator.command("replug")
        assert wait_until(lambda: meter.status.state is MeterState.LIVE)
        until_total(meter, simulator.tell()["total_l"])
        assert [data for _, data in raw].count(b"") == 2  # opened twice
        assert raw == sorted(raw, key=lambda chunk: chunk[0])
    finally:
        meter.stop()
    assert meter.status.state is MeterState.CLOSED


def test_garbage_is_counted_and_reading_goes_on(simulator: SimulatorProcess) -> None:
    meter = Meter("in", simulator.port, 9600, plain())
    meter.start()
    try:
        assert wait_until(lambda: meter.status.lines > 2)
        simulator.command("garbage")
        assert wait_until(lambda: meter.status.garbage > 0)
        lines = meter.status.lines
        assert wait_until(lambda: meter.status.lines > lines)
        assert meter.status.state is MeterState.LIVE
        assert all(r.value >= 0 for r in meter.drain())
    finally:
        meter.stop()


def test_silence_is_stale_and_ends(simulator: SimulatorProcess) -> None:
    meter = Meter("in", simulator.port, 9600, plain(), stale_after_s=0.3, stale_floor_wall_s=0.0)
    meter.start()
    try:
        assert wait_until(lambda: meter.status.state is MeterState.LIVE)
        simulator.command("silent 20")
        assert wait_until(lambda: meter.status.state is MeterState.STALE)
        assert "no reading for" in meter.status.why
        assert wait_until(lambda: meter.status.state is MeterState.LIVE)
    finally:
        meter.stop()


@posix
@pytest.mark.parametrize("url", ["/dev/no-such-meter", "socket://127.0.0.1:9"])
def test_a_port_that_does_not_exist_is_tried_again_and_stops_at_once(url: str) -> None:
    tries = []

    def opener(url: str, baud: int) -> Port:
        from tally.meters.transport import open_port

        tries.append(time.monotonic())
        return open_port(url, baud)

    meter = Meter("in", url, 9600, plain(), opener=opener)
    meter.start()
    assert wait_until(lambda: meter.status.state is MeterState.FAULT)
    assert url in meter.status.why
    assert wait_until(lambda: len(tries) >= 2)
    assert tries[1] - tries[0] >= 0.5
    since = meter.status.since_mono_s
    assert wait_until(lambda: len(tries) >= 3)
    assert meter.status.since_mono_s == since  # one fault, however often it was tried
    assert stopped_within(meter, 2.0)


@posix
def test_a_port_that_appears_is_opened_without_waiting_the_full_time(tmp_path: Path) -> None:
    import pty

    link = tmp_path / "meter"
    meter = Meter("in", str(link), 9600, plain())
    meter.start()
    assert wait_until(lambda: meter.status.state is MeterState.FAULT)
    master, slave = pty.openpty()
    try:
        link.symlink_to(os.ttyname(slave))
        assert wait_until(lambda: "waiting for the first line" in meter.status.why)
        os.write(master, PLAIN_LINE)
        assert wait_until(lambda: meter.status.state is MeterState.LIVE)
    finally:
        meter.stop()
        os.close(master)
        os.close(slave)


@posix
def test_a_silent_port_stops_at_once() -> None:
    import pty

    master, slave = pty.openpty()
    try:
        meter = Meter("in", os.ttyname(slave), 9600, plain())
        meter.start()
        assert wait_until(lambda: "waiting" in meter.status.why)
        assert stopped_within(meter, 2.0)
    finally:
        os.close(master)
        os.close(slave)


@posix
def test_a_flood_is_read_to_the_last_line() -> None:
    import pty
    import tty

    master, slave = pty.openpty()
    tty.setraw(slave)
    meter = Meter("in", os.ttyname(slave), 115_200, plain())
    meter.start()
    try:
        assert wait_until(lambda: "waiting" in meter.status.why)
        flood = b"".join(f"T {i / 10:09.2f} L R 60.00 L/min\r\n".encode() for i in range(1, 5001))
        while flood:
            flood = flood[os.write(master, flood[:1000]) :]
        assert wait_until(lambda: meter.status.lines == 5000)
        readings = meter.drain()
        assert len(readings) == 10_000
        assert last_total_l(readings) == pytest.approx(500.0)
        assert meter.status.garbage == 0
    finally:
        meter.stop()
        os.close(master)
        os.close(slave)


def test_an_undrained_meter_keeps_the_last_total() -> None:
    chunks = [f"T {i / 10:09.2f} L R 60.00 L/min\r\n".encode() for i in range(1, 1001)]
    meter = Meter("in", "made-of-bytes", 9600, plain(), opener=lambda *_: BytesPort(chunks), backlog=Backlog(50))
    meter.start()
    assert wait_until(lambda: meter.status.lines == 1000)
    meter.stop()
    readings = meter.drain()
    assert len(readings) <= 52
    assert last_total_l(readings) == pytest.approx(100.0)


@pytest.mark.parametrize("end", [PortFault("pulled out"), OSError(5, "input/output error"), RuntimeError("a bug")])
def test_whatever_a_port_raises_is_a_fault_and_the_port_is_closed_before_the_next(end: Exception) -> None:
    ports: list[BytesPort] = []

    def opener(url: str, baud: int) -> Port:
        assert all(port.closed for port in ports)
        ports.append(BytesPort([PLAIN_LINE], end))
        return ports[-1]

    meter = Meter("in", "made-of-bytes", 9600, plain(), opener=opener)
    meter.start()
    try:
        assert wait_until(lambda: meter.status.state is MeterState.FAULT)
        assert str(end) in meter.status.why
        assert wait_until(lambda: meter.status.lines >= 2)
        assert len(ports) >= 2
    finally:
        meter.stop()
    assert all(port.closed for port in ports)


def test_an_opener_that_hangs_does_not_hold_up_stopping_and_its_port_is_closed() -> None:
    free, port = threading.Event(), BytesPort([PLAIN_LINE])

    def opener(url: str, baud: int) -> Port:
        free.wait(10)
        return port

    meter = Meter("in", "made-of-bytes", 9600, plain(), opener=opener)
    meter.start()
    assert stopped_within(meter, 2.0, timeout_s=0.1)
    free.set()
    assert wait_until(lambda: port.closed)
    assert meter.status.state is MeterState.CLOSED
    assert meter.drain() == []


def test_a_raw_log_that_fails_is_told_and_does_not_stop_the_count() -> None:
    def on_raw(channel: str, mono_s: float, data: bytes) -> None:
        raise OSError(28, "No space left on device")

    meter = Meter("in", "made-of-bytes", 9600, plain(), on_raw=on_raw, opener=lambda *_: BytesPort([PLAIN_LINE]))
    meter.start()
    assert wait_until(lambda: meter.status.lines == 1)
    assert meter.status.state is MeterState.LIVE
    assert "No space left" in meter.status.why
    meter.stop()


def test_raw_bytes_come_before_their_reading() -> None:
    seen: list[int] = []
    meter = Meter(
        "in",
        "made-of-bytes",
        9600,
        plain(),
        on_raw=lambda *_: seen.append(len(meter.drain())),
        opener=lambda *_: BytesPort([PLAIN_LINE, PLAIN_LINE]),
    )
    meter.start()
    assert wait_until(lambda: len(seen) == 3)
    meter.stop()
    assert seen == [0, 0, 2]  # opened; before the first line was decoded; before the second


def test_staleness_runs_on_the_given_clock_and_has_a_reason() -> None:
    clock = SetClock()
    port = BytesPort([b"Q 17 gal\r\n"])
    meter = Meter("in", "made-of-bytes", 9600, plain(), clock=clock, opener=lambda *_: port, stale_floor_wall_s=0.0)
    meter.start()
    try:
        assert wait_until(lambda: meter.status.garbage == 1)
        assert state_of(meter) is MeterState.OPENING
        clock.now_s = 103.5
        assert state_of(meter) is MeterState.STALE
        assert meter.status.since_mono_s == 103.0
        assert "does not fit the pattern: Q 17 gal" in meter.status.why
        port.chunks.append(PLAIN_LINE)
        assert wait_until(lambda: meter.status.state is MeterState.LIVE)
        assert meter.status.last_reading_mono_s == 103.5
        clock.now_s = 110.0
        assert state_of(meter) is MeterState.STALE
        assert "no reading for 6 s" in meter.status.why  # 6.5 s, rounded half to even
    finally:
        meter.stop()


def test_a_fast_clock_does_not_make_a_short_hiccup_stale() -> None:
    clock = SetClock()
    meter = Meter(
        "in", "made-of-bytes", 9600, plain(), clock=clock, opener=lambda *_: BytesPort([]), stale_floor_wall_s=60.0
    )
    meter.start()
    try:
        assert wait_until(lambda: "waiting" in meter.status.why)
        clock.now_s = 130.0
        assert meter.status.state is MeterState.OPENING
    finally:
        meter.stop()


def test_it_can_be_started_again() -> None:
    meter = Meter("in", "made-of-bytes", 9600, plain(), opener=lambda *_: BytesPort([PLAIN_LINE]))
    for lines in (1, 2):
        meter.start()
        meter.start()
        assert wait_until(lambda lines=lines: meter.status.lines == lines)  # type: ignore[misc]
        meter.stop()
        meter.stop()
    assert len(meter.drain()) == 4


def state_of(meter: Meter) -> MeterState:
    """A call each time, since a state that was seen once says nothing about the next."""
    return meter.status.state


def stopped_within(meter: Meter, deadline_s: float, *, timeout_s: float = 1.0) -> bool:
    started_s = time.monotonic()
    meter.stop(timeout_s)
    return time.monotonic() - started_s < deadline_s and meter.status.state is MeterState.CLOSED
