"""Caliper logs in the LAS format: hand-written after the format's published descriptions, and written by lasio.

Layout of versions 1.2 and 2.0 (sections ~V, ~W, ~C, ~A; WRAP; NULL; units M, F and FT): Canadian Well Logging Society,
"LAS 1.2" and "LAS 2.0", which name these sections and mnemonics.
"""

import io
from pathlib import Path

import lasio  # type: ignore[import-untyped]
import pytest

from tests.planfile.logs import hole, mistake, pairs

THREE = [(10.0, 0.32), (10.5, 0.33), (11.0, 0.34)]
PLAIN = """\
~Version Information
 VERS.                 2.0 : CWLS log ASCII standard, version 2.0
 WRAP.                  NO : one line a depth
~Well Information
 STRT.M               10.0 : first depth
 STOP.M               11.0 : last depth
 STEP.M                0.5 : step
 NULL.             -999.25 : missing
 WELL.   INVENTED HOLE 7   : name
~Curve Information
 DEPT.M                    : depth
 GR  .API                  : gamma
 CALI.MM                   : caliper
~Parameter Information
~ASCII
   10.0     55.0    320.0
   10.5  -999.25    330.0
   11.0     58.0    340.0
"""
NO_DATA = PLAIN.partition("   10.0     55")[0]
OLD = PLAIN.replace("2.0 : CWLS log ASCII standard, version 2.0", "1.2 : CWLS log ASCII standard, version 1.2")
WRAPPED = PLAIN.replace("NO : one line a depth", "YES : several").partition("~ASCII")[0] + (
    "~ASCII\n10.0\n55.0 320.0\n10.5\n-999.25 330.0\n11.0\n58.0 340.0\n"
)


@pytest.mark.parametrize(
    "log", [PLAIN, OLD, WRAPPED, PLAIN.replace("\n", "\r\n")], ids=["2.0", "1.2", "wrapped", "crlf"]
)
def test_hand_written_files(tmp_path: Path, log: str) -> None:
    assert pairs(hole(tmp_path, log, name="run.las")) == THREE


@pytest.mark.parametrize("version", [1.2, 2.0])
@pytest.mark.parametrize("wrap", [False, True])
def test_files_as_the_library_writes_them(tmp_path: Path, version: float, wrap: bool) -> None:
    las = lasio.LASFile()
    las.append_curve("DEPT", [10.0, 10.5, 10.75, 11.0], unit="M")
    for extra in range(8):
        las.append_curve(f"X{extra}", [1.0, 2.0, 3.0, 4.0], unit="")
    las.append_curve("CALI", [320.0, 330.0, float("nan"), 340.0], unit="MM")
    written = io.StringIO()
    las.write(written, version=version, wrap=wrap)
    got = hole(tmp_path, written.getvalue(), name="run.LAS")
    assert pairs(got) == THREE
    assert "1 of 4 points left out: null value, at 10.75 m" in got.log_notes


@pytest.mark.parametrize("unit", ["F", "FT"])
def test_feet_as_the_format_spells_them(tmp_path: Path, unit: str) -> None:
    log = PLAIN.replace("DEPT.M ", f"DEPT.{unit} ").replace(".MM ", ".IN ").replace("STRT.M ", f"STRT.{unit} ")
    log = log.partition("~ASCII")[0] + "~ASCII\n40 1 12.5\n41 1 13\n"
    assert pairs(hole(tmp_path, log, name="run.las")) == [
        pytest.approx((12.192, 0.3175)),
        pytest.approx((12.4968, 0.3302)),
    ]


def test_a_curve_is_named_by_the_plan_and_twins_are_told_apart(tmp_path: Path) -> None:
    twins = PLAIN.replace("GR  .API", "CALI.MM ").replace("55.0", "300.0").replace("58.0", "300.0")
    twins = twins.replace("-999.25    330", "300.0    330")
    words = mistake(tmp_path, twins, name="run.las")
    assert "DEPT, CALI:1, CALI:2" in words and "hole.caliper_diameter" in words
    assert pairs(hole(tmp_path, twins, 'caliper_diameter = "CALI:2"', name="run.las")) == THREE


@pytest.mark.parametrize(
    ("log", "words"),
    [
        ("not a log\n", "a log that is not LAS"),
        ("", "a log that is not LAS"),
        (PLAIN.replace("VERS.                 2.0", "VERS.                 3.0"), "LAS version 3.0"),
        (PLAIN.replace("   10.5  -999.25    330.0", "   10.5    330.0"), "line 17 of the log: 2 values; accepted: 3"),
        (PLAIN.replace("330.0", "33O.0"), "reading 2 of CALI in the log: 33O.0; accepted: a number"),
        (PLAIN.replace("330.0", "330,0"), "reading 2 of CALI in the log: 330,0; accepted: a number"),
        (PLAIN.replace("CALI.MM", "CALI.  "), "no unit for the diameter in the log's column CALI"),
        (PLAIN.replace("STRT.M ", "STRT.FT"), "depths in M that start in FT"),
        (NO_DATA, "0 usable readings of 0"),
        (WRAPPED.replace("58.0 340.0", "58.0"), "a log that is not LAS"),
    ],
)
def test_a_file_that_cannot_be_read_says_why(tmp_path: Path, log: str, words: str) -> None:
    assert words in mistake(tmp_path, log, name="run.las")


def test_the_null_value_of_the_header_counts_and_no_other(tmp_path: Path) -> None:
    log = PLAIN.replace("NULL.             -999.25", "NULL.             9999   ").replace("340.0", "9999")
    got = hole(tmp_path, log, name="run.las")
    assert pairs(got) == THREE[:2]
    assert "1 of 3 points left out: null value, at 11.00 m" in got.log_notes


def test_nothing_of_the_library_reaches_the_terminal(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> None:
    mistake(tmp_path, NO_DATA, name="run.las")
    mistake(tmp_path, PLAIN.replace("330.0", "33O.0"), name="run.las")
    assert capfd.readouterr() == ("", "")
