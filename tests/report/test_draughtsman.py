"""The drawings made in a process of their own: the same as those made here, also where that process cannot be had."""

import os
import sys
from pathlib import Path

import pytest

from tally.job.view.charted import Charts, charts
from tally.report.charts import drawings
from tally.report.draughtsman import Draughtsman
from tests.eventful import eventful_day


@pytest.fixture(scope="module")
def wanted() -> Charts:
    return charts(eventful_day().state)


@pytest.mark.parametrize("units", ["metric", "us"])
def test_another_process_draws_what_this_one_would(wanted: Charts, units: str) -> None:
    with Draughtsman() as draughtsman:
        draughtsman.ask(wanted, "us" if units == "us" else "metric")
        assert draughtsman._process is not None
        assert draughtsman.drawings() == drawings(wanted, "us" if units == "us" else "metric")
        assert draughtsman._process.returncode == 0


def test_without_an_interpreter_to_start_it_draws_itself(wanted: Charts, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", "/no/such/interpreter")
    with Draughtsman() as draughtsman:
        draughtsman.ask(wanted, "metric")
        assert draughtsman.drawings() == drawings(wanted, "metric")


@pytest.mark.parametrize("when", ["before it is asked", "while it draws"])
def test_a_process_that_ends_is_no_loss(wanted: Charts, when: str) -> None:
    with Draughtsman() as draughtsman:
        process = draughtsman._process
        assert process is not None
        if when == "while it draws":
            draughtsman.ask(wanted, "metric")
        process.kill()
        process.wait()
        if when != "while it draws":
            draughtsman.ask(wanted, "metric")
        assert draughtsman.drawings() == drawings(wanted, "metric")


def test_one_that_cannot_draw_is_no_loss(
    wanted: Charts, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "matplotlib.py").write_text("raise ImportError('damaged')\n")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    with Draughtsman() as draughtsman:
        draughtsman.ask(wanted, "metric")
        assert draughtsman.drawings() == drawings(wanted, "metric")
    assert capfd.readouterr() == ("", "")  # nothing is written over a screen


def test_nobody_is_left_behind_where_nothing_was_asked() -> None:
    with Draughtsman() as draughtsman:
        assert draughtsman._process is not None
        process = draughtsman._process
    assert process.returncode is not None
    if os.name == "posix":
        with pytest.raises(ProcessLookupError):
            os.kill(process.pid, 0)
