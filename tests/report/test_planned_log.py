"""The logged hole in the printed plan, its drawing and its JSON."""

import json
from pathlib import Path

import pytest

from tally.formats import Units
from tally.job.plan import Plan
from tally.job.view.planned import PlanView, planned
from tally.planfile import example, read
from tally.report.planned import as_json, text
from tally.report.planned_drawing import drawing


@pytest.fixture
def view(tmp_path: Path) -> PlanView:
    """The example plan, logged each half metre: 311.15 mm by bit, 320 mm by caliper, and 500 mm from 20 to 24 m."""
    rows = [f"{half / 2},{500 if 20 <= half / 2 <= 24 else 320}" for half in range(12, 97)] + ["30.25,-999.25"]
    rows = sorted(rows, key=lambda row: float(row.split(",")[0]))
    (tmp_path / "log.csv").write_text("\n".join(["depth_m,diameter_mm", *rows]))
    plan = tmp_path / "plan.toml"
    plan.write_text(example().replace('rock = "5.2 m"', 'rock = "5.2 m"\ncaliper = "log.csv"', 1), encoding="utf-8")
    found = read(plan)
    assert isinstance(found, Plan), found
    return planned(found)


@pytest.mark.parametrize("units", ["metric", "us"])
def test_every_line_fits_the_terminal(view: PlanView, units: Units) -> None:
    assert max(map(len, text(view, units).splitlines())) <= 80


def test_the_log_is_told_with_what_was_left_out(view: PlanView) -> None:
    shown = text(view, "metric")
    for part in (
        "HOLE BY CALIPER LOG, 85 points, 6.00 m to 48.00 m",
        "log.csv: 86 points read",
        "1 of 86 points left out: null value, at 30.25 m",
        "the log begins at 6.00 m: above it, from 0.00 m, the bit size stands in",
        "section                          bit size",
        "washouts, 20 % over bit ",
    ):
        assert part in shown, part


def test_without_a_log_nothing_is_said_of_one(tmp_path: Path) -> None:
    (tmp_path / "plan.toml").write_text(example(), encoding="utf-8")
    found = read(tmp_path / "plan.toml")
    assert isinstance(found, Plan)
    assert "CALIPER" not in text(planned(found), "metric")
    assert as_json(planned(found))["log"] is None


def test_the_json_holds_the_log_with_units_in_its_keys(view: PlanView) -> None:
    log = json.loads(json.dumps(as_json(view)))["log"]
    assert log["points"] == 85
    assert log["widest_m"] == 0.5
    assert len(log["stretches"]) == 24
    # 320 mm at 19.5 m to 500 mm at 20 m: 373.38 mm (1.2 x 311.15) is crossed at 19.5 + 0.5 x 53.38 / 180 = 19.648 m
    (washout,) = log["washouts"]
    assert washout["top_m"] == pytest.approx(19.6483, abs=5e-5)
    assert washout["bottom_m"] == pytest.approx(24.3517, abs=5e-5)
    assert log["notes"][0] == "log.csv: 86 points read"


def test_the_washout_is_drawn_wider_to_scale(view: PlanView) -> None:
    rows = list(drawing(view, "metric"))[2:]
    walls = [row.index("│") for row in rows if "│" in row]
    # 2 m a row. 500 mm is the widest and takes 10 columns on each side; 320 mm 6.4, so 6; 406.4 mm 8.1, so 8
    assert walls[0] == 4 + 10 - 8
    assert walls[10] == walls[11] == 4
    assert walls[14] == 4 + 10 - 6
