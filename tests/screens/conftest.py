"""`pytest tests/screens --rebuild-goldens` writes the screens as they are; read the difference before it is kept."""

from pathlib import Path

import pytest

from tally.screens import guide_live
from tests.screens.table import Stage


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--rebuild-goldens", action="store_true", help="write the screens' text afresh")


@pytest.fixture
def rebuild_goldens(request: pytest.FixtureRequest) -> bool:
    return bool(request.config.getoption("--rebuild-goldens", default=False))


@pytest.fixture
def stage(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Stage:
    """A private folder to play a row of the table in; what depends on place and time zone is the same everywhere."""
    monkeypatch.setenv("TZ", "Europe/Oslo")
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(guide_live, "ports", lambda: ())
    return Stage(tmp_path)
