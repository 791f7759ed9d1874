"""The measured hole on the screens: its walls stand to scale, and a short washout is not missed between two rows."""

from typing import Any

from tally.job.plan import Plan
from tally.job.view.hole import hole
from tally.screens.drawing import LABEL_WIDTH, drawing
from tests.scenario import Day, plan


def logged(readings: list[tuple[float, float]]) -> Plan:
    points: list[dict[str, Any]] = [{"depth_m": depth, "diameter_m": width} for depth, width in readings]
    return plan(hole={"log": points, "rock_m": None})


def walls(of: Plan, height: int = 31) -> list[int]:
    """Columns of ground to the left of each row's wall."""
    lines = drawing(hole(Day(of).state), 60, height, "metric")
    return [line[LABEL_WIDTH + 1 :].index("│") for line in lines[1:]]


def test_without_a_log_all_rows_of_one_bit_are_as_wide() -> None:
    assert len(set(walls(plan(hole={"rock_m": None})))) == 1


def test_a_cone_opens_downward() -> None:
    columns = walls(logged([(0.0, 0.2), (60.0, 0.5)]))
    assert columns == sorted(columns, reverse=True)
    assert columns[0] > columns[-1] + 5


def test_a_washout_shorter_than_a_row_shows() -> None:
    # rows of 2 m; between the middles of two of them 0.6 m of 900 mm
    narrow = [(0.0, 0.25), (19.6, 0.25), (19.7, 0.9), (20.3, 0.9), (20.4, 0.25), (60.0, 0.25)]
    columns = walls(logged(narrow))
    assert columns[9] < columns[5] and columns[10] < columns[5]
    assert columns[5] == columns[20]


def test_every_size_of_screen_draws_whole_lines() -> None:
    view = hole(Day(logged([(0.0, 0.2), (30.0, 0.9), (60.0, 0.3)])).state)
    for width in (20, 33, 60, 90):
        for height in (2, 7, 24, 50):
            lines = drawing(view, width, height, "us")
            assert len(lines) == height
            assert {len(line) for line in lines} == {width}
