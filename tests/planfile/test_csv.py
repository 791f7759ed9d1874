"""Caliper logs as tables of text. The files are written here by hand, each as some program on some desk writes it."""

from pathlib import Path

import pytest

from tests.planfile.logs import STEADY, hole, mistake, pairs, rows

THREE = [(10.0, 0.32), (10.5, 0.33), (11.0, 0.34)]


@pytest.mark.parametrize(
    "log",
    [
        "depth_m,diameter_mm\n10,320\n10.5,330\n11,340\n",
        "Depth [m],Caliper [mm]\r\n10.0,320.0\r\n10.5,330.0\r\n11.0,340.0\r\n",
        "DEPTH (m);CALI (cm)\n10,0;32,0\n10,5;33,0\n11,0;34\n",
        "depth_m\tdiam_m\n10\t0.32\n10.5\t0.33\n11\t0.34\n",
        '# run of the morning\n\n"depth_m", "diameter_mm"\n10, 320\n\n# paused\n10.5, 330\n11, 340\n',
        "depth,caliper\nm,mm\n10,320\n10.5,330\n11,340\n",
        "gamma,diameter_mm,depth_m\n55,320,10\n60,330,10.5\n58,340,11\n",
        "depth_m,diameter_mm\n1e1,3.2e2\n10.50,+330\n11.,340\n",
    ],
    ids=["plain", "brackets", "decimal commas", "tabulators", "remarks", "row of units", "other columns", "exponents"],
)
def test_the_same_three_readings_however_they_are_written(tmp_path: Path, log: str) -> None:
    assert pairs(hole(tmp_path, log)) == THREE


def test_feet_and_inches_by_their_definition(tmp_path: Path) -> None:
    # NIST Special Publication 811 (2008), appendix B.8: 1 ft = 0.3048 m, 1 in = 25.4 mm, exactly
    got = pairs(hole(tmp_path, "depth [ft], caliper [in]\n40, 12.5\n42, 13\n"))
    assert got == [(12.192, 0.3175), (12.8016, 0.3302)]


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_encodings_in_which_desks_save_tables(tmp_path: Path, encoding: str) -> None:
    log = "depth_m;diameter_mm;über\n10;320;a\n10,5;330;é\n11;340;ö\n".encode(encoding)
    assert pairs(hole(tmp_path, log)) == THREE


def test_missing_readings_are_counted_and_told(tmp_path: Path) -> None:
    log = "depth_m;diameter_mm\n10;320\n10,1;\n10,2;-999,25\n10,3;NaN\n10,5;330\n;331\n11;340\n"
    got = hole(tmp_path, log)
    assert pairs(got) == THREE
    assert "4 of 7 points left out: null value, 10.10 m to 10.30 m" in got.log_notes


@pytest.mark.parametrize(
    ("log", "words"),
    [
        ("", "a log without a line"),
        ("# nothing\n", "a log without a line"),
        ("10,320\n11,330\n", "numbers in line 1 and no names of columns above them"),
        ("depth_m,diameter_mm\n10,320\n11,wide\n", "line 3 of the log: wide; accepted: a number"),
        ("depth_m,diameter_mm\n10,320\n11\n", "line 3 of the log: 1 values; accepted: at least 2"),
        (
            "depth_m;diameter_mm\n10,5;320\n11.5;330\n",
            "line 3 of the log: 11.5, after 10,5; accepted: one decimal mark",
        ),
        ("depth_m;diameter_mm\n1.010,5;320\n", "line 2 of the log: 1.010,5"),
        ('depth_m,diameter_mm\n10,"320\n', "of the log: unexpected end of data"),
        ("depth_m,width_mm\n10,320\n", "no caliper_diameter, which is none of the log's columns"),
        ("depth_m,cal_mm,diameter_mm\n10,320,321\n", 'caliper_diameter = "…", one of depth_m, cal_mm, diameter_mm'),
        ("depth,diameter\n10,320\n11,330\n", "no unit for the depth in the log's column depth"),
        ("depth_m,diameter [dm]\n10,3.2\n11,3.3\n", "dm, which is not known here, for the diameter"),
    ],
)
def test_a_table_that_cannot_be_read_says_where_and_what_is_accepted(tmp_path: Path, log: str, words: str) -> None:
    assert words in mistake(tmp_path, log)


def test_a_column_is_named_by_the_plan(tmp_path: Path) -> None:
    log = "run,MD [m],X arm [mm],Y arm [mm]\n1,10,320,1\n1,10.5,330,1\n1,11,340,1\n"
    assert pairs(hole(tmp_path, log, 'caliper_diameter = "x arm"')) == THREE
    assert pairs(hole(tmp_path, log, 'caliper_depth = "MD"', 'caliper_diameter = "X arm [mm]"')) == THREE
    words = mistake(tmp_path, log, 'caliper_diameter = "Z arm"')
    assert "hole.caliper_diameter" in words and '"Z arm", which is none of' in words and "Y arm [mm]" in words


def test_units_come_from_the_plan_where_the_log_names_none(tmp_path: Path) -> None:
    log = rows([(10, 320), (10.5, 330), (11, 340)], head="depth,diameter [arms]")
    got = hole(tmp_path, log, 'caliper_units = { depth = "m", diameter = "mm" }')
    assert pairs(got) == THREE
    assert "depth taken in m, as the plan says: the log names no unit" in got.log_notes
    assert "diameter taken in mm, as the plan says: its own 'arms' is not known here" in got.log_notes


def test_units_that_contradict_the_log_are_refused(tmp_path: Path) -> None:
    words = mistake(tmp_path, rows(STEADY), 'caliper_units = { diameter = "in" }')
    assert "hole.caliper_units: given diameter in in, where the log says mm" in words
    same = hole(tmp_path, rows(STEADY), 'caliper_units = { diameter = "mm" }')
    assert len(same.log) == len(STEADY)
