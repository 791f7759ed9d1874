"""`tally meter simulate`: as a process at a port, and printed at once."""

import os
from pathlib import Path

import pytest

from tally.record.raw_log import read_raw
from tests.cli.program import Program
from tests.test_cli import here

posix = pytest.mark.skipif(os.name != "posix", reason="needs pseudo-terminals")


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path


def test_the_example_script_is_followed_and_gives_the_same_bytes_each_time(home: Path) -> None:
    (home / "rig.toml").write_text(here(home, "meter", "simulate", "--example").stdout, encoding="utf-8")
    arguments = ("meter", "simulate", "--script", "rig.toml", "--print", "--seconds", "310")
    one, same = here(home, *arguments), here(home, *arguments)
    assert (one.returncode, one.stderr) == (0, "")
    assert one.stdout == same.stdout != here(home, *arguments, "--seed", "8").stdout
    lines = one.stdout.splitlines()
    # five a second for 310 s, less 8 s of silence and 6 s without the plug
    assert len(lines) == pytest.approx(5 * (310 - 8 - 6), abs=3)
    assert lines[0].startswith("T 009900.00 L")
    assert any(line.startswith("T 000000.") for line in lines)  # it rolled over at 10,000 L


def test_what_is_printed_can_be_kept_as_a_raw_log(home: Path) -> None:
    arguments = ("meter", "simulate", "--line", "pulse", "--rate", "60", "--seconds", "4", "--keep", "kept.raw")
    assert here(home, *arguments).stdout == "kept in kept.raw\n"
    chunks = list(read_raw(home / "kept.raw"))
    assert [chunk.data for chunk in chunks][:2] == [b"", b"P 0000020\r\n"]  # 0.2 s at 1 L/s and 100 pulses a litre
    assert len(chunks) == 21
    assert "nothing is written over" in here(home, *arguments).stderr


@posix
def test_a_rig_at_a_port_obeys_and_its_returns_have_a_port_of_their_own(home: Path) -> None:
    arguments = ("meter", "simulate", "--hole", "5", "--speed", "20", "--rate", "60", "--link", str(home / "rig"))
    with Program(*arguments, home=home) as rig:
        assert rig.says(f"returns {home / 'rig'}-returns")
        with Program("meter", "listen", str(home / "rig-returns"), home=home) as listen:
            assert listen.says("-- reads them as the plain dialect"), listen.text
            listen.interrupt()
            assert listen.ended() == 0
        rig.types("dance")
        assert rig.says("fault 'dance' is no command")
        rig.types("tell")
        assert rig.says("returned_l=")
        rig.interrupt()
        assert rig.ended() == 0
        assert "Traceback" not in rig.text


def test_it_goes_on_when_its_input_ends_and_ends_after_its_seconds(home: Path) -> None:
    with Program("meter", "simulate", "--socket", "0", "--seconds", "20", "--speed", "40", home=home) as rig:
        assert rig.ended() == 0
        assert "port socket://127.0.0.1:" in rig.text


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--print",), "--seconds"),
        (("--script", "none.toml", "--print", "--seconds", "1"), "No such file"),
        (("--script", "loss.txt", "--print", "--seconds", "1"), "needs a hole"),
        (("--socket", "x"), "give HOST:PORT"),
        (("--speed", "0"), "above zero"),
    ],
)
def test_what_is_wrong_is_told(home: Path, arguments: tuple[str, ...], words: str) -> None:
    (home / "loss.txt").write_text("at 1 loss 40\n", encoding="utf-8")
    done = here(home, "meter", "simulate", *arguments)
    assert done.returncode == 2
    assert words in done.stderr
