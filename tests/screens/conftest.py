"""`pytest tests/screens --rebuild-goldens` writes the screens as they are; read the difference before it is kept."""

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--rebuild-goldens", action="store_true", help="write the screens' text afresh")


@pytest.fixture
def rebuild_goldens(request: pytest.FixtureRequest) -> bool:
    return bool(request.config.getoption("--rebuild-goldens", default=False))
