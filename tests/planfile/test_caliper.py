"""The log that a plan names: what is left out, turned over or stands in, and the words of each."""

from pathlib import Path

import pytest

from tally.job.hole import MOST_LOG_POINTS
from tally.job.plan import Plan
from tally.planfile import example, read_text
from tests.planfile.logs import STEADY, found, hole, mistake, pairs, rows


def changed(at: float, diameter: float) -> str:
    """The steady log with one reading changed, or one more at its place."""
    return rows(sorted([pair for pair in STEADY if pair[0] != at] + [(at, diameter)]))


def test_the_sections_still_hold_the_bit_sizes(tmp_path: Path) -> None:
    got = hole(tmp_path, rows(STEADY))
    assert [part.diameter_m for part in got.sections] == pytest.approx([0.4064, 0.31115])
    assert pairs(got) == [(float(depth), 0.32) for depth in range(7, 48)]
    assert got.log_notes[0] == "log.csv: 41 points read"


def test_a_log_that_runs_up_is_turned_over(tmp_path: Path) -> None:
    got = hole(tmp_path, rows(STEADY[::-1]))
    assert pairs(got) == pairs(hole(tmp_path, rows(STEADY)))
    assert "logged upward: turned over, top first" in got.log_notes


def test_a_log_that_turns_about_is_refused(tmp_path: Path) -> None:
    words = mistake(tmp_path, rows([*STEADY, (30, 320)]))
    assert "a log whose depths turn about: down from 7.00 m, up from 47.00 m" in words
    assert "accepted: one pass" in words


def test_of_a_repeated_depth_the_widest_counts(tmp_path: Path) -> None:
    log = rows([*STEADY[:3], (9, 350.0), (9, 310.0), *STEADY[3:]])
    got = hole(tmp_path, log)
    assert dict(pairs(got))[9.0] == pytest.approx(0.350)
    assert len(got.log) == 41
    assert "2 of 43 points left out: repeated depth; the widest at each depth counts" in got.log_notes


@pytest.mark.parametrize(
    ("at", "diameter", "words"),
    [
        (20.5, 0, "1 of 42 points left out: not more than nothing, at 20.50 m"),
        (20.5, -5, "1 of 42 points left out: not more than nothing, at 20.50 m"),
        (20.5, 1300, "1 of 42 points left out: over 4 times the bit size, or under a quarter of it, at 20.50 m"),
        (20.5, 70, "1 of 42 points left out: over 4 times the bit size, or under a quarter of it, at 20.50 m"),
        (20.5, 219.1, "1 of 42 points left out: no wider than the casing (219.1 mm), at 20.50 m"),
        (48.2, 320, "1 of 42 points left out: deeper than the hole's bottom at 48.00 m, at 48.20 m"),
        (-0.5, 320, "1 of 42 points left out: above ground level, at -0.50 m"),
    ],
)
def test_what_is_left_out_is_counted_with_its_reason_and_depth(
    tmp_path: Path, at: float, diameter: float, words: str
) -> None:
    got = hole(tmp_path, changed(at, diameter))
    assert words in got.log_notes
    assert pairs(got) == pairs(hole(tmp_path, rows(STEADY)))


def test_readings_just_within_the_limits_are_kept(tmp_path: Path) -> None:
    # bit 311.15 mm: four times is 1244.6 mm; casing 219.1 mm
    for diameter in (1244.6, 219.2):
        assert dict(pairs(hole(tmp_path, changed(20.5, diameter))))[20.5] == pytest.approx(diameter / 1000)


def test_readings_no_wider_than_the_casing_are_kept_apart_the_narrowest_first(tmp_path: Path) -> None:
    log = rows([(d, {20: 215.0, 31: 205.0}.get(int(d), w)) for d, w in STEADY])
    tight = hole(tmp_path, log).log_tight
    assert [(point.depth_m, point.diameter_m) for point in tight] == [(31.0, 0.205), (20.0, 0.215)]


def test_gaps_and_ends_are_told(tmp_path: Path) -> None:
    got = hole(tmp_path, rows([pair for pair in STEADY if not 20 < pair[0] < 26]))
    assert got.log_notes[1:] == (
        "the log begins at 7.00 m: above it, from 0.00 m, the bit size stands in",
        "no readings from 20.00 m to 26.00 m: there the bit size stands in",
        "readings up to 5.00 m apart are joined by a straight line",
        "the log ends at 47.00 m, short of the shoe at 47.50 m: below it, to 48.00 m, the bit size stands in",
    )


def test_the_plan_may_say_what_a_gap_is(tmp_path: Path) -> None:
    log = rows([pair for pair in STEADY if not 20 < pair[0] < 26])
    wide, narrow = hole(tmp_path, log, 'caliper_gap = "6 m"'), hole(tmp_path, log, 'caliper_gap = "0.9 m"')
    assert not any("no readings" in note for note in wide.log_notes)
    assert wide.log_gap_m == 6.0
    assert "28 more gaps" not in " ".join(wide.log_notes)
    assert sum("no readings" in note for note in narrow.log_notes) == 8
    # 41 readings less 5 left 35 steps, 34 of one metre and one of six; eight of a metre are told one by one
    assert "27 more gaps, 32.00 m together: there the bit size stands in" in narrow.log_notes


def test_inside_standing_casing_its_bore_counts_and_the_tool_is_compared(tmp_path: Path) -> None:
    plan = example().replace('diameter = "16 in"', 'diameter = "16 in"\ncased = true')
    log = rows([(2, 410.4), (4, 408.4), *STEADY])
    got = hole(tmp_path, log, plan=plan)
    assert "2 of 43 points left out: inside the casing that already stands, whose bore is known, 2.00 m to 4.00 m" in (
        got.log_notes
    )
    # (410.4 + 408.4) / 2 - 406.4 = 3.0
    assert any(
        note.startswith("in the casing that already stands the tool reads 3.0 mm over") for note in got.log_notes
    )
    assert "the log begins at 7.00 m: above it, from 6.00 m, the bit size stands in" in got.log_notes


def test_offsets_of_tool_and_zero_are_taken_off_and_told(tmp_path: Path) -> None:
    got = hole(tmp_path, rows(STEADY), 'caliper_reads_over = "3 mm"', 'caliper_zero_height = "1.2 m"')
    assert pairs(got)[0] == pytest.approx((5.8, 0.317))
    assert "depths taken 1.20 m less, for the height of the log's zero" in got.log_notes
    assert "diameters taken 3.0 mm less, by which the tool reads over" in got.log_notes
    under = hole(tmp_path, rows(STEADY), 'caliper_reads_over = "-3 mm"')
    assert pairs(under)[0] == pytest.approx((7.0, 0.323))


def test_radii_or_a_wrong_unit_are_refused_rather_than_left_out(tmp_path: Path) -> None:
    words = mistake(tmp_path, rows(STEADY, head="depth_m,diameter_in"))
    assert "hole.caliper_units" in words and "41 of 41 readings of the open hole over 4 times the bit size" in words
    assert "the units that the log is really in, and diameters, not radii" in words


@pytest.mark.parametrize(
    ("log", "words"),
    [
        ("depth_m,diameter_mm\n20,320\n", "1 usable readings of 1"),
        ("depth_m,diameter_mm\n60,320\n61,320\n", "2 of 2 points left out: deeper than the hole's bottom"),
        ("depth_m,diameter_mm\n20,\n21,\n", "2 of 2 points left out: null value"),
    ],
)
def test_a_log_with_nothing_to_use_says_why(tmp_path: Path, log: str, words: str) -> None:
    assert words in mistake(tmp_path, log)


def test_a_hole_that_narrows_to_the_casing_between_two_readings_is_refused(tmp_path: Path) -> None:
    plan = example().replace('to = "48 m"\ndiameter = "12 1/4 in"', 'to = "47.6 m"\ndiameter = "12 1/4 in"', 1)
    plan = plan.replace(
        "[casing]\n", '[[hole.section]]\nfrom = "47.6 m"\nto = "48 m"\ndiameter = "6 in"\n\n[casing]\n', 1
    )
    # from 320 mm at 44 m to 160 mm at 47.8 m: 320 - 160 x 3.5 / 3.8 = 172.6 mm at the shoe
    got = found(tmp_path, rows([*STEADY[:-3], (47.8, 160.0)]), 'caliper_gap = "5 m"', plan=plan)
    assert isinstance(got, list)
    assert ["does not fit the hole as logged" in str(each) for each in got] == [True]


def test_too_many_readings_are_refused_and_the_most_that_is_accepted_is_read(tmp_path: Path) -> None:
    def log(count: int) -> str:
        return rows([(round(7 + at * 0.002, 3), 320.0) for at in range(count)])

    assert len(hole(tmp_path, log(MOST_LOG_POINTS)).log) == MOST_LOG_POINTS
    words = mistake(tmp_path, log(MOST_LOG_POINTS + 1))
    assert "20,001 readings of the open hole; accepted: at most 20,000: thin the file out" in words


def test_the_file_itself(tmp_path: Path) -> None:
    text = example().replace('rock = "5.2 m"', 'rock = "5.2 m"\ncaliper = "missing.csv"', 1)
    got = read_text(text, folder=tmp_path)
    assert isinstance(got, list) and "missing.csv, which is no file" in str(got[0])
    text = text.replace("missing.csv", ".")
    got = read_text(text, folder=tmp_path)
    assert isinstance(got, list) and "given .; accepted: the name of a .csv or .las file" in str(got[0])


def test_keys_without_a_log_and_keys_that_are_wrong(tmp_path: Path) -> None:
    got = read_text(example().replace('rock = "5.2 m"', 'caliper_gap = "2 m"', 1))
    assert isinstance(got, list) and len(got) == 1
    assert 'hole.caliper_gap: given what to do with a log; accepted: it beside caliper = "…"' in str(got[0])
    both = found(tmp_path, rows(STEADY), "caliper_depth = 3", 'caliper_units = { depth = "fathom", width = "mm" }')
    assert isinstance(both, list)
    told = " | ".join(map(str, both))
    assert "hole.caliper_depth" in told and "fathom" in told and "hole.caliper_units.width" in told


def test_mistakes_elsewhere_do_not_hide_those_of_the_log(tmp_path: Path) -> None:
    plan = example().replace('hoist = "8 t"', "hoist = 8", 1).replace('outer_diameter = "219.1 mm"', "", 1)
    got = found(tmp_path, "depth_m,diameter_mm\n10,wide\n", plan=plan)
    assert isinstance(got, list)
    told = " | ".join(map(str, got))
    assert "limits.hoist" in told and "casing.outer_diameter" in told and "line 2 of the log: wide" in told


def test_a_plan_with_a_log_survives_its_session(tmp_path: Path) -> None:
    plan = found(tmp_path, changed(20.5, 205.0))
    assert isinstance(plan, Plan)
    assert Plan.model_validate_json(plan.model_dump_json()) == plan
