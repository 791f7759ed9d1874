"""`tally meter listen` on Modbus devices in processes of their own: packets, and which order reads the display."""

import os
import struct
from pathlib import Path

import pytest

from tally.planfile.snippet import read_wired
from tests.cli.program import Program
from tests.live.small_job import plan_text
from tests.meters.modbus_device import FIRST, modbus_device, shows
from tests.meters.wires import joined_terminals
from tests.test_cli import here

pytestmark = pytest.mark.skipif(os.name != "posix", reason="the program is started as a shell does it")
FLOAT = list(struct.unpack(">2H", struct.pack(">f", 1234.5)))
HIGH, LOW = FLOAT
ADDRESS = ("--address", str(FIRST))


def table(text: str) -> str:
    return text.partition("# for the plan file")[2]


def test_packets_stand_beside_their_words_and_are_counted(tmp_path: Path) -> None:
    with modbus_device("tcp", [*FLOAT, 0, 7]) as port:
        url = f"tcp://127.0.0.1:{port}"
        with Program("meter", "listen", url, *ADDRESS, "--every", "0.05", home=tmp_path) as listen:
            assert listen.says("449A 5000 0000 0007", times=3), listen.text
            listen.interrupt()
            assert listen.ended() == 0
        assert f"01 03 00 {FIRST:02x} 00 04" in listen.text  # the question, once
        assert listen.text.count("   asks   ") == 1
        row = next(row for row in listen.text.splitlines() if row.endswith("449A 5000 0000 0007"))
        assert "01 03 08 44 9a 50 00 00 00 00 07" in row  # and each answer as it was on the wire
        assert "0 refused, 0 not understood, 0 not answered, 0 garbage" in listen.text


def test_decoded_with_a_type_it_shows_values_and_proposes_its_table(tmp_path: Path) -> None:
    with modbus_device("rtu-tcp", FLOAT) as port:
        url = f"socket://127.0.0.1:{port}"
        described = ("--type", "float32", "--units", "total=L", "--every", "0.05")
        with Program("meter", "listen", url, *ADDRESS, *described, home=tmp_path) as listen:
            assert listen.says("total 1,234.50 L", times=2), listen.text
            listen.interrupt()
            assert listen.ended() == 0
    found = read_wired(table(listen.text))
    assert not isinstance(found, list)
    (register,) = found.registers
    assert (register.address, register.type, register.order) == (FIRST, "float32", "ABCD")
    assert register.factor == pytest.approx(1e-3)
    assert found.every_s == 0.05


@pytest.mark.parametrize(("words", "order"), [([HIGH, LOW], "ABCD"), ([LOW, HIGH], "CDAB")])
def test_the_display_says_which_order_it_is(tmp_path: Path, words: list[int], order: str) -> None:
    with modbus_device("tcp", [*words, 0xFFFF, 0xFFFF]) as port:
        done = here(tmp_path, "meter", "listen", f"tcp://127.0.0.1:{port}", *ADDRESS, "--shows", "1234.5 L")
        assert (done.returncode, done.stderr) == (0, "")
        assert f"float32, order {order}, register {FIRST}, reads 1,234.5 L" in done.stdout
        found = read_wired(table(done.stdout))
        assert not isinstance(found, list)
        assert [(one.reads, one.order) for one in found.registers] == [("total", order)]


def test_on_a_serial_line_and_for_a_gauge(tmp_path: Path) -> None:
    # 72 tenths of a bar in one word
    with joined_terminals() as (theirs, ours), modbus_device(theirs, [72, 0xFFFF, 0xFFFF, 0xFFFF]):
        done = here(tmp_path, "meter", "listen", ours, "--baud", "115200", *ADDRESS, "--shows", "7.2 bar")
        assert done.returncode == 0, done.stdout
        assert "int16 (as uint16 the same), order ABCD" in done.stdout
        found = read_wired(table(done.stdout))
        assert not isinstance(found, list)
        assert getattr(found, "measures", "") == "pressure"
        assert found.registers[0].factor == pytest.approx(1e4)  # a tenth of a bar


def test_several_ways_are_all_named_and_a_second_reading_is_asked_for(tmp_path: Path) -> None:
    with modbus_device("tcp", [1234, 0, 0, 0]) as port:
        url = f"tcp://127.0.0.1:{port}"
        with Program("meter", "listen", url, *ADDRESS, "--shows", "1234 L", home=tmp_path) as listen:
            assert listen.says("type what the display shows then")
            assert "3 ways of reading give 1,234 L" in listen.text
            assert all(words in listen.text for words in ("uint16", "uint32 (as int32 the same), order CDAB", "uint64"))
            listen.types("1234")  # nothing has flowed: they still cannot be told apart
            assert listen.says("type what the display shows then", times=2)
            listen.types("")
            assert listen.ended() == 1
        assert "# for the plan" not in listen.text
        assert "--type uint16 --order ABCD" in listen.text
        told = here(
            tmp_path, "meter", "listen", url, *ADDRESS, "--shows", "1234 L", "--type", "uint32", "--order", "CDAB"
        )
        assert told.returncode == 0
        assert 'type = "uint32", order = "CDAB"' in told.stdout


def test_a_second_reading_after_some_flow_tells_them_apart(tmp_path: Path) -> None:
    with modbus_device("tcp", [1234, 0, 0, 0]) as port:
        url = f"tcp://127.0.0.1:{port}"
        with Program("meter", "listen", url, *ADDRESS, "--shows", "1234 L", home=tmp_path) as listen:
            assert listen.says("type what the display shows then")
            shows(port, [0x86A0, 1, 0, 0])  # 100 000, low word first: four words would read it too
            listen.types("100000")
            assert listen.says("2 ways of reading give 100,000 L"), listen.text
            shows(port, [0x86A1, 1, 0, 5])
            listen.types("100001")
            assert listen.ended() == 0
    found = read_wired(table(listen.text))
    assert not isinstance(found, list)
    assert [(one.type, one.order) for one in found.registers] == [("uint32", "CDAB")]


def test_a_bucket_test_of_pulses_in_a_register(tmp_path: Path) -> None:
    # 2 000 pulses for 20 L each time: 100 pulses a litre
    with modbus_device("tcp", [0, 500]) as port:
        arguments = (f"tcp://127.0.0.1:{port}", *ADDRESS, "--type", "uint32", "--every", "0.05", "--save", "k.toml")
        with Program("meter", "calibrate", *arguments, home=tmp_path) as test:
            for run in range(1, 4):
                assert test.says(f"run {run} of 3"), test.text
                test.types("")
                assert test.says("counting. Fill the bucket", times=run), test.text
                shows(port, [0, 500 + 2_000 * run])
                test.types("20 L")
                assert test.says("2,000 pulses for 20.00 L", times=run), test.text
            assert test.ended() == 0
    found = read_wired((tmp_path / "k.toml").read_text(encoding="utf-8"))
    assert not isinstance(found, list)
    (register,) = found.registers
    assert (register.reads, register.type, register.address) == ("pulses", "uint32", FIRST)
    assert register.factor == pytest.approx(1e-5)


def test_no_way_says_what_each_would_read(tmp_path: Path) -> None:
    with modbus_device("tcp", FLOAT) as port:
        done = here(tmp_path, "meter", "listen", f"tcp://127.0.0.1:{port}", *ADDRESS, "--shows", "999.0 L")
        assert done.returncode == 1
        assert "Nothing reads 999.0 L from register 100. It would read:" in done.stdout
        assert "ABCD 1234.5" in next(row for row in done.stdout.splitlines() if row.startswith("  float32"))
        assert "# for the plan" not in done.stdout


def test_a_manual_that_counts_from_one(tmp_path: Path) -> None:
    with modbus_device("tcp", [0xFFFF, *FLOAT]) as port:
        done = here(tmp_path, "meter", "listen", f"tcp://127.0.0.1:{port}", *ADDRESS, "--shows", "1234.5 L")
        assert done.returncode == 0
        assert f"not from register {FIRST}, but from {FIRST + 1}" in done.stdout


def test_a_register_that_is_not_there_and_a_unit_that_does_not_answer(tmp_path: Path) -> None:
    with modbus_device("tcp", FLOAT) as port:
        url = f"tcp://127.0.0.1:{port}"
        none = here(tmp_path, "meter", "listen", url, "--address", "9", "--shows", "1234.5 L")
        assert none.returncode == 1
        assert "no such register" in none.stdout
        quiet = here(tmp_path, "meter", "listen", url, *ADDRESS, "--unit-id", "9", "--seconds", "1", "--every", "0.05")
        assert quiet.returncode == 1
        assert "No register could be read" in quiet.stdout
        assert "0 read" in quiet.stdout


def test_the_plan_says_the_port_and_the_display_whether_its_table_is_right(tmp_path: Path) -> None:
    with modbus_device("tcp", FLOAT) as port:

        def plan(order: str, more: str = "") -> str:
            meter = (
                f'[meter]\nport = "tcp://127.0.0.1:{port}"\nsource = "modbus"\nevery = "0.05 s"\n{more}'
                f'register = [{{reads = "total", address = {FIRST}, order = "{order}", units = "L"}}]\n'
            )
            head, _, tail = plan_text("none").partition("[meter]")
            _, mark, rest = tail.partition("\n[")
            (tmp_path / "plan.toml").write_text(head + meter + (mark + rest).removeprefix("\n"), encoding="utf-8")
            return str(tmp_path / "plan.toml")

        right = here(tmp_path, "meter", "listen", "--plan", plan("ABCD", "correction = 1.01\n"), "--shows", "1234.5 L")
        assert right.returncode == 0, right.stdout + right.stderr
        assert "the plan's float32, order ABCD, reads 1,234.5 L: what the display shows" in right.stdout
        wrong = here(tmp_path, "meter", "listen", "--plan", plan("CDAB"), "--shows", "1234.5 L")
        assert "NOT the same: the plan's float32, order CDAB" in wrong.stdout
        assert "float32, order ABCD, register 100, reads 1,234.5 L" in wrong.stdout
        seen = here(tmp_path, "meter", "listen", "--plan", plan("ABCD"), "--seconds", "1")
        assert "total 1,234.50 L" in seen.stdout
        assert "# for the plan" not in seen.stdout
        other = here(tmp_path, "meter", "listen", "--plan", plan("ABCD"), "--instrument", "gauge")
        assert other.returncode == 2
        assert "no instrument 'gauge'; it names no [[instrument]] either" in other.stderr


def test_the_rate_at_which_a_device_answers_is_found(tmp_path: Path) -> None:
    with joined_terminals() as (theirs, ours), modbus_device(theirs, FLOAT):
        done = here(tmp_path, "meter", "listen", ours, *ADDRESS, "--try-bauds")
        assert done.returncode == 0
        assert (
            f"next: tally meter listen {ours} --baud 9600 --bits 8N1 --address 100" in done.stdout
        )  # no rate on a pty


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("tcp://127.0.0.1:1",), "which register? --address N"),
        (("x", "--address", "70000"), "given 70000"),
        (("x", "--address", "1", "--type", "uint16"), "what is it, and in which unit?"),
        (("x", "--address", "1", "--shows", "1234.5"), "accepted: the display's number and unit"),
        (("x", "--address", "1", "--shows", "0.0 L"), "tells nothing"),
        (("x", "--address", "1", "--shows", "12.5 gal"), "--gallons US or imperial"),
        ((), "name the meter's port, or a plan"),
        (("x", "--plan", "p.toml", "--k-factor", "1 pulses/L"), "leave the other options out"),
    ],
)
def test_what_is_missing_is_told_in_words(tmp_path: Path, arguments: tuple[str, ...], words: str) -> None:
    done = here(tmp_path, "meter", "listen", *arguments)
    assert done.returncode == 2
    assert words in done.stderr
    assert done.stdout == ""
