"""The drawings: nothing but black, white and grey, the same bytes everywhere, text that can be read in print."""

import os
import re
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from tally.formats import Units
from tally.job.view.charted import charts
from tally.report.charts import drawings
from tally.report.drawn import WIDTH_IN
from tally.report.hole_drawn import _spread
from tally.report.sheet import GAP_PT, MARGIN_PT
from tests.eventful import eventful_day
from tests.scenario import Day, grouting_day

ROOT = Path(__file__).resolve().parents[2]
BYTES = """
import sys
from tally.job.view.charted import charts
from tally.report.charts import drawings
from tests.eventful import eventful_day
for row in drawings(charts(eventful_day().state), "us"):
    for drawn in row:
        sys.stdout.buffer.write(drawn["svg"].encode())
"""


@cache
def rows(units: Units = "metric") -> list[list[dict[str, Any]]]:
    return drawings(charts(eventful_day().state), units)


def test_hole_load_and_each_stage_are_drawn() -> None:
    told = [drawn["alt"] for row in rows() for drawn in row]
    assert [words.split(",")[0].split(":")[0] for words in told] == [
        "The hole to scale", "Hook load expected and 1 readings against depth", "Stage 1", "Stage 2",
    ]  # fmt: skip
    assert "990 L pumped" in told[-1]
    assert all(sum(drawn["share"] for drawn in row) <= 1.0 + 1e-9 for row in rows())


def test_grey_alone() -> None:
    for row in rows():
        for drawn in row:
            ElementTree.fromstring(drawn["svg"])
            for colour in re.findall(r"#([0-9a-fA-F]{6})\b", drawn["svg"]):
                assert colour[0:2] == colour[2:4] == colour[4:6], colour


def test_drawn_in_the_size_in_which_it_is_printed() -> None:
    """So that 7 pt stay 7 pt on the narrower paper, which is A4: ISO 216, 210 mm wide."""
    column_pt = (210 / 25.4 * 72 - 2 * MARGIN_PT - GAP_PT) / 2
    scale = column_pt / (WIDTH_IN * 72)
    assert scale == pytest.approx(1.0, abs=0.01)
    for row in rows():
        for drawn in row:
            told = [float(size) for size in re.findall(r"font-size: ([\d.]+)px", drawn["svg"])]
            assert told
            assert min(told) * scale >= 7.0


def test_letters_stay_letters() -> None:
    """The typesetter sets them in the page's own font, and they can be searched for."""
    words = [word for row in rows() for drawn in row for word in re.findall(r">([^<>]+)</text>", drawn["svg"])]
    assert {"The hole, to scale", "Hook load", "Stage 1: pumped against planned", "pumped", "planned"} <= set(words)


def test_the_same_bytes_on_every_machine() -> None:
    told = {
        subprocess.run(
            [sys.executable, "-c", BYTES],
            cwd=ROOT,
            env=os.environ | {"PYTHONHASHSEED": seed, "TZ": zone, "LC_ALL": language},
            capture_output=True,
            check=True,
            timeout=120,
        ).stdout
        for seed, zone, language in (("1", "Asia/Tokyo", "de_DE.UTF-8"), ("2", "America/Denver", "C"))
    }
    assert len(told) == 1


def test_a_day_that_has_hardly_begun_can_be_drawn() -> None:
    assert len(drawings(charts(Day().state), "metric")[0]) == 1
    assert [len(row) for row in drawings(charts(grouting_day().state), "us")] == [2, 1]


def test_labels_do_not_cover_each_other() -> None:
    assert _spread([0.0, 0.1, 5.0, 9.9, 10.0], 1.0, 10.0) == [0.0, 1.0, 5.0, 9.0, 10.0]


def test_words_that_are_not_said_again_push_none_down_onto_the_axis() -> None:
    """Water, the same again a little later, then none: the letters of "none" stand above those of the axis."""
    day = grouting_day()
    day.pump(0.4, seconds=100)
    day.returns("weak", "water")
    day.pump(0.01, seconds=3)
    day.returns("full", "water")
    day.pump(0.05, seconds=10)
    day.returns("none")
    day.pump(0.6, seconds=60)
    (chart,) = drawings(charts(day.state), "metric")[-1]
    low_pt = {word: float(y) for y, word in re.findall(r'y="([\d.]+)"[^>]*>([^<>]+)</text>', chart["svg"])}
    numbers_pt = max(y for word, y in low_pt.items() if word.isdigit())
    assert low_pt["water"] < numbers_pt - 7.6 and low_pt["none"] < numbers_pt - 7.6
