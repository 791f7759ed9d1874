"""Ports: real pseudo-terminals and loopback sockets, and what is said when one cannot be opened."""

import os
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tally.meters.transport import Port, PortFault, is_device, open_port, port_signature

posix = pytest.mark.skipif(os.name != "posix", reason="needs device nodes")


def read_all(port: Port, count: int) -> bytes:
    data, end_s = b"", time.monotonic() + 5
    while len(data) < count and time.monotonic() < end_s:
        data += port.read(4096)
    return data


@posix
def test_bytes_cross_a_pseudo_terminal_both_ways() -> None:
    import pty
    import tty

    master, slave = pty.openpty()
    tty.setraw(slave)
    port = open_port(os.ttyname(slave), 9600)
    try:
        every_byte = bytes(range(256)) * 4
        os.write(master, every_byte)
        assert read_all(port, len(every_byte)) == every_byte
        port.write(b"ask\r")
        assert os.read(master, 10) == b"ask\r"
        assert port.read(10) == b""  # silence is no fault
        os.close(master)
        with pytest.raises(PortFault, match="has gone"):
            while True:
                port.read(10)
    finally:
        port.close()
        os.close(slave)


@posix
def test_a_port_in_use_is_told_from_one_that_is_absent(tmp_path: Path) -> None:
    import pty

    master, slave = pty.openpty()
    first = open_port(os.ttyname(slave), 9600)
    try:
        with pytest.raises(PortFault, match="in use by another program"):
            open_port(os.ttyname(slave), 9600)
    finally:
        first.close()
        os.close(master)
        os.close(slave)
    with pytest.raises(PortFault, match=r"there is no port .*no-such-port"):
        open_port(str(tmp_path / "no-such-port"), 9600)


@posix
def test_what_is_no_serial_port_is_refused(tmp_path: Path) -> None:
    plain_file = tmp_path / "notes.txt"
    plain_file.write_text("no port\n")
    for path in (plain_file, tmp_path):
        with pytest.raises(PortFault, match="is not a serial port"):
            open_port(str(path), 9600)


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="the superuser may open everything")
def test_no_permission_is_said(tmp_path: Path) -> None:
    shut = tmp_path / "shut"
    shut.touch(mode=0)
    with pytest.raises(PortFault, match="no permission"):
        open_port(str(shut), 9600)


@pytest.mark.parametrize("url", ["socket://127.0.0.1", "socket://:", "nonsense://x", "", "socket://127.0.0.1:99999999"])
def test_an_address_that_cannot_be_read_says_what_is_accepted(url: str) -> None:
    with pytest.raises(PortFault, match=r"socket://host:port|there is no port"):
        open_port(url, 9600)


def test_an_impossible_baud_rate_is_refused() -> None:
    with pytest.raises(PortFault, match="baud"):
        open_port("loop://", -5)


def test_bytes_cross_a_socket_until_the_other_side_closes() -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:
        number = server.getsockname()[1]
        port = open_port(f"socket://127.0.0.1:{number}", 9600)
        client, _ = server.accept()
        with client:
            client.sendall(b"x" * 20_000)
            assert read_all(port, 20_000) == b"x" * 20_000
            port.write(b"ask")
            assert client.recv(10) == b"ask"
        with pytest.raises(PortFault, match="has gone"):
            while True:
                port.read(10)
        port.close()
    with pytest.raises(PortFault, match="nothing answers"):
        open_port(f"socket://127.0.0.1:{number}", 9600)


def test_the_loop_port_gives_back_what_is_written() -> None:
    port = open_port("loop://", 9600)
    port.write(b"abc")
    assert read_all(port, 3) == b"abc"
    port.close()
    with pytest.raises(PortFault):
        port.read(1)


@posix
def test_the_signature_changes_when_a_device_comes_goes_or_is_replaced(tmp_path: Path) -> None:
    link = tmp_path / "meter"
    assert port_signature(str(link)) is None
    link.symlink_to("/dev/null")
    first = port_signature(str(link))
    assert first == port_signature(str(link)) is not None
    link.unlink()
    link.symlink_to("/dev/zero")
    assert port_signature(str(link)) != first
    assert port_signature("socket://127.0.0.1:1") is None
    assert is_device("/dev/ttyUSB0")
    assert not is_device("socket://127.0.0.1:1")


def test_the_serial_library_is_loaded_only_when_a_port_is_opened() -> None:
    code = "import sys, tally.meters.meter, tally.meters.simulator_process; sys.exit('serial' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], cwd=Path(__file__).parents[2], check=False).returncode == 0
