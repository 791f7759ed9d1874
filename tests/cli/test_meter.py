"""`tally meter` on real pseudo-terminals, without a terminal of its own."""

import os
import signal
from pathlib import Path

import pytest

from tally.record.raw_log import read_raw
from tests.cli.program import Program, PtyMeter, Talking
from tests.live.small_job import plan_text
from tests.test_cli import here

pytestmark = pytest.mark.skipif(os.name != "posix", reason="needs pseudo-terminals")
PATTERN = r"V=(?P<total>[0-9.]+) Q=(?P<rate>[0-9.]+)"


@pytest.fixture
def home(tmp_path: Path) -> Path:
    return tmp_path


# --- ports -----------------------------------------------------------------------------------------------------------


def test_ports_says_which_can_be_opened_and_why_one_cannot(home: Path) -> None:
    with PtyMeter() as free, PtyMeter() as taken, Program("meter", "listen", taken.port, home=home) as other:
        assert other.says("listening on")
        done = here(home, "meter", "ports", free.port, taken.port, "/dev/no-such-port")
        assert done.returncode == 0
        rows = done.stdout.splitlines()
        assert rows[0:2] == [free.port, "    can be opened"]
        assert "in use by another program" in rows[3]
        assert "there is no port" in rows[5]
        assert here(home, "meter", "ports", taken.port).returncode == 1
        other.interrupt()


def test_no_port_says_what_to_try_next(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tally.meters.transport.known_ports", list)
    done = here(home, "meter", "ports")
    assert done.returncode == 1
    assert "What to try next" in done.stdout


# --- listen ----------------------------------------------------------------------------------------------------------


def test_raw_and_decoded_stand_side_by_side_and_ctrl_c_ends_with_a_summary(home: Path) -> None:
    arguments = ("--pattern", PATTERN, "--units", "total=L, rate=L/min")
    with PtyMeter() as meter, Program("meter", "listen", meter.port, *arguments, home=home) as listen:
        assert listen.says("listening on")
        meter.send("x\r\nV=100.00 Q=60.0\r\n\x00\xfe\x01\r\nV=102.50 Q=60.0\r\nV 1\r\nV=102.75 Q=60.0\r\n")
        assert listen.says("102.75 L")
        rows = {
            words: next(row for row in listen.text.splitlines() if words in row)
            for words in ("=102.50", "00 fe", "V 1")
        }
        assert rows["=102.50"].split()[1:] == ["V=102.50", "Q=60.0", "total", "102.50", "L", "rate", "60", "L/min"]
        assert "baud" in rows["00 fe"]
        assert "does not fit the pattern" in rows["V 1"]
        listen.interrupt()
        assert listen.ended() == 0
        assert "3 read, 1 not understood, 1 garbage" in listen.text
        assert "moved 2.75 L; the total stands at 102.75 L" in listen.text
        assert "Traceback" not in listen.text


def test_a_pattern_is_proposed_tried_and_written_for_the_plan(home: Path) -> None:
    from tally.planfile.snippet import read_meter

    with PtyMeter() as meter, Program("meter", "listen", meter.port, home=home) as listen:
        assert listen.says("listening on")
        for count in range(8):
            meter.send(f"FLOW 12.5 l/s; SUM {count + 7}.25 m3\r\n")
        assert listen.says("-- reads them as")
        meter.send("FLOW 12.5 l/s; SUM 14.26 m3\r\n")
        assert listen.says("total 14,260.00 L")
        listen.interrupt()
        assert listen.ended() == 0
    assert "8 read, 0 not understood" in listen.text  # the first is the tail of a line for all one knows
    assert "moved 10.00 L" in listen.text  # a cubic metre at once is a leap, not a flow
    assert "jump: 6" in listen.text
    found = read_meter(listen.text.partition("# for the plan file")[2])
    assert not isinstance(found, list)
    assert found.factors == pytest.approx({"rate": 1e-3, "total": 1.0})
    assert found.port == meter.port


def test_a_gallon_of_no_country_is_left_for_the_person_to_say(home: Path) -> None:
    with PtyMeter() as meter, Program("meter", "listen", meter.port, home=home) as listen:
        assert listen.says("listening on")
        for count in range(8):
            meter.send(f"TOTAL {count}.5 gal\r\n")
        assert listen.says("TOTAL 7.5")
        listen.interrupt()
        assert listen.ended() == 1  # nothing was read
    assert "it takes 7 of the last 7 lines" in listen.text
    assert "which gallon?" in listen.text


def test_a_current_is_seen_and_its_range_is_asked(home: Path) -> None:
    with PtyMeter() as meter, Program("meter", "listen", meter.port, home=home) as listen:
        assert listen.says("listening on")
        for tenths in range(8):
            meter.send(f"I {12 + tenths / 10:.2f} mA\r\n")
        assert listen.says("I 12.70 mA")
        listen.interrupt()
        assert listen.ended() == 1
    assert "what do 4 and 20 mA stand for?" in listen.text
    assert 'source = "current"' in listen.text


def test_a_gauge_on_a_current_loop(home: Path) -> None:
    from tally.planfile.snippet import read_wired

    # 12 mA is half of the range from 0 to 250 bar; 3.5 mA is no pressure at all
    arguments = ("--at-4", "0 bar", "--at-20", "250 bar", "--channel", "pressure", "--shows", "125 bar")
    with PtyMeter() as meter, Program("meter", "listen", meter.port, *arguments, home=home) as listen:
        assert listen.says("listening on")
        meter.send("\r\nI 12.00 mA\r\nI 3.50 mA\r\n")
        assert listen.says("below 3.6"), listen.text
        listen.interrupt()
        assert listen.ended() == 0
    assert "pressure 125.0 bar" in listen.text
    assert "-- it reads 125 bar; the display shows 125 bar: the same within its last digit" in listen.text
    found = read_wired(listen.text.partition("# for the plan file")[2])
    assert not isinstance(found, list)
    assert found.loop is not None and found.loop.at_20 == pytest.approx(25e6)


def test_strokes_and_a_display_that_disagrees(home: Path) -> None:
    # 100 strokes of 1.2 L at 90 % are 108 L, and the display shows 120 L: it sweeps, but does not deliver
    arguments = ("--stroke-volume", "1.2 L", "--efficiency", "90 %", "--shows", "120.0 L")
    with PtyMeter() as meter, Program("meter", "listen", meter.port, *arguments, home=home) as listen:
        assert listen.says("listening on")
        meter.send("\r\nP 100\r\n")
        assert listen.says("total 108.00 L"), listen.text
        listen.interrupt()
        assert listen.ended() == 1
    assert "-- NOT the same: it reads 108 L, 0.9 times as much; the display shows 120.0 L" in listen.text
    assert 'efficiency = "90 %"' in listen.text


def test_an_instrument_of_a_plan_is_listened_to_on_another_port(home: Path) -> None:
    gauge = (
        '[[instrument]]\nname = "mud balance"\nchannel = "density"\nport = "x"\npattern = "D (?P<density>[0-9.]+)"\n'
    )
    text = plan_text("none") + "\n" + gauge + 'units = {density = "kg/L"}\n'
    (home / "plan.toml").write_text(text, encoding="utf-8")
    arguments = ("--plan", "plan.toml", "--instrument", "mud balance")
    with PtyMeter() as meter, Program("meter", "listen", meter.port, *arguments, home=home) as listen:
        assert listen.says("listening on")
        meter.send("\r\nD 1.88\r\n")
        assert listen.says("density 1.88"), listen.text
        listen.interrupt()
        assert listen.ended() == 0
    assert "# for the plan" not in listen.text  # the plan has it


def test_a_port_that_says_nothing_readable_says_what_to_try_next(home: Path) -> None:
    with PtyMeter() as meter, Program("meter", "listen", meter.port, home=home) as listen:
        assert listen.says("listening on")
        meter.send("x\r\n\x00\xff\xfe\r\n")
        assert listen.says("not text"), listen.text
        listen.interrupt()
        assert listen.ended() == 1
        assert "--try-bauds" in listen.text


def test_a_port_that_goes_and_comes_back_is_listened_to_again(home: Path, tmp_path: Path) -> None:
    link = tmp_path / "port"
    with Program("meter", "listen", str(link), home=home) as none:
        assert none.ended() == 2
        assert "tally meter ports" in none.text
    with PtyMeter() as first:
        link.symlink_to(first.port)
        listen = Program("meter", "listen", str(link), "--keep", "kept.raw", home=home)
        assert listen.says("listening on")
        first.send("x\r\nT 1.00 L R 1.00 L/min\r\n")
        assert listen.says("T 1.00 L")
        link.unlink()
    with listen, PtyMeter() as second:
        assert listen.says("trying again")
        link.symlink_to(second.port)
        with Talking(second, "T 2.00 L R 1.00 L/min\r\n"):
            assert listen.says("T 2.00 L")
        listen.process.send_signal(signal.SIGINT)
        listen.ended()
    chunks = list(read_raw(home / "kept.raw"))
    assert [chunk.data for chunk in chunks].count(b"") == 2  # opened twice
    assert b"".join(chunk.data for chunk in chunks).startswith(b"x\r\nT 1.00 L")
    assert "nothing is written over" in here(home, "meter", "listen", "none", "--keep", "kept.raw").stderr


def test_the_rate_that_gives_text_is_found(home: Path) -> None:
    with (
        PtyMeter(baud=19_200) as meter,
        Talking(meter, "T 1.00 L R 1.00 L/min\r\n"),
        Program("meter", "listen", meter.port, "--try-bauds", "--seconds", "0.4", home=home) as tried,
    ):
        assert tried.ended() == 0
    assert "--baud 19200" in tried.text.splitlines()[-1]
    assert ": T 1.00 L" not in next(row for row in tried.text.splitlines() if row.strip().startswith("9600 "))
    assert "no baud rate here" in here(home, "meter", "listen", "socket://x:1", "--try-bauds").stderr


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--pattern", "(?P<total>.+)"), "units"),
        (("--pattern", "(?P<total>.+)", "--units", "total"), "NAME=UNIT"),
        (("--pattern", "(?P<total>.+)", "--units", "total=gal"), "--gallons"),
        (("--pattern", "(?P<total>", "--units", "total=L"), "regular expression"),
        (("--k-factor", "98.5"), "pulses per volume"),
        (("--baud", "7"), "given 7"),
        (("--seconds", "-1"), "given -1"),
        ((), "there is no port"),
    ],
)
def test_what_is_wrong_is_told_in_words(home: Path, arguments: tuple[str, ...], words: str) -> None:
    done = here(home, "meter", "listen", "/dev/no-such-port", *arguments)
    assert done.returncode == 2
    assert words in done.stderr
    assert done.stdout == ""


def test_meter_alone_says_what_there_is(home: Path) -> None:
    done = here(home, "meter")
    assert done.returncode == 0
    assert all(part in done.stdout for part in ("ports", "listen", "calibrate", "simulate"))


@pytest.mark.parametrize("what", ["", "ports", "listen", "calibrate", "simulate"])
def test_the_help_reads_without_a_job(home: Path, what: str) -> None:
    done = here(home, "meter", *filter(None, [what]), "--help")
    assert (done.returncode, done.stderr) == (0, "")
    assert f"usage: tally meter {what}".strip() in done.stdout
