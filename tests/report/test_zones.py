"""Known zones as the plan prints them and as the report lists them."""

from tally.job.view.planned import planned
from tally.job.view.report import report
from tally.report.markdown import markdown
from tally.report.planned import as_json, text
from tally.report.planned_drawing import ZONE
from tests.job.test_alarms import metered_day
from tests.scenario import plan

ZONES = [{"top_m": 40.0, "bottom_m": 45.0, "kind": "fracture", "note": "lost flush | for a metre"}]


def test_the_plan_draws_a_zone_and_lists_it_within_80_columns() -> None:
    lines = text(planned(plan(hole={"zones": ZONES})), "metric").splitlines()
    # 24 rows of 2.5 m: two rows from 40 to 45 m, and the row of its label
    drawn = [line for line in lines if ZONE in line[:28]]
    assert len(drawn) == 2 and any("≈ fracture to 45.00 m" in line for line in drawn)
    assert any("40.00 m to 45.00 m" in line and "fracture" in line and "± 50 %" in line for line in lines)
    assert max(map(len, lines)) <= 80
    assert ZONE not in text(planned(plan()), "metric")


def test_json_holds_it_in_si() -> None:
    (zone,) = as_json(planned(plan(hole={"zones": ZONES})))["zones"]
    assert zone == {
        "top_m": 40.0, "bottom_m": 45.0, "kind": "fracture", "spread_share": 0.5, "note": "lost flush | for a metre",
    }  # fmt: skip


def test_the_report_says_who_told_of_a_zone() -> None:
    day = metered_day(hole={"zones": ZONES})
    day.pump(0.440)
    lost = day.tag(50.0, lost=True)
    written = markdown(report(day.state, digest="", program="", problems=[], disagreements=[]), "metric")
    row = next(line for line in written.splitlines() if "fracture" in line)
    assert "the plan" in row and r"lost flush \| for a metre" in row
    assert f"entry {lost.number}, " in next(line for line in written.splitlines() if "grout lost below a tag" in line)
