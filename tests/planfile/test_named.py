"""Files that a plan names are found from wherever one stands: beside the plan first, then in the working folder."""

import os
from pathlib import Path

import pytest

from tally import planfile
from tally.job.plan import Plan
from tally.planfile import example
from tally.planfile.guided import written
from tests.planfile.logs import STEADY, rows
from tests.planfile.test_guided import METRIC, interviewed
from tests.planfile.test_rules import OWN


@pytest.fixture
def truck(tmp_path: Path) -> Path:
    """The plan's folder."""
    (tmp_path / "truck").mkdir()
    return tmp_path / "truck"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    return tmp_path / "here"


def read(truck: Path, log: str, rules: str) -> Plan | list[planfile.Mistake]:
    text = example().replace('water_level = "18 m"', f"water_level = \"18 m\"\ncaliper = '{log}'", 1)
    (truck / "plan.toml").write_text(text.replace("[job]", f"[job]\nrules = ['{rules}']", 1), encoding="utf-8")
    return planfile.read(truck / "plan.toml")


def put(folder: Path, diameter: float, name: str) -> None:
    folder.mkdir(exist_ok=True)
    (folder / "log.csv").write_text(rows([(depth, diameter) for depth, _ in STEADY]), encoding="utf-8")
    (folder / "ours.toml").write_text(OWN.replace('name = "Ours"', f'name = "{name}"'), encoding="utf-8")


def shows(plan: Plan | list[planfile.Mistake]) -> tuple[float, str]:
    assert isinstance(plan, Plan), "\n".join(map(str, plan))
    return plan.hole.log[0].diameter_m, plan.rules[0].name


def test_beside_the_plan_comes_before_the_working_folder(truck: Path, here: Path) -> None:
    put(here, 330.0, "from here")
    assert shows(read(truck, "log.csv", "ours.toml")) == (0.330, "from here")
    put(truck, 320.0, "beside")
    assert shows(read(truck, "log.csv", "ours.toml")) == (0.320, "beside")


def test_a_whole_path_is_taken_as_it_is(truck: Path, here: Path, tmp_path: Path) -> None:
    put(truck, 320.0, "beside")
    put(here, 330.0, "from here")
    put(tmp_path / "shelf", 340.0, "shelf")
    found = read(truck, str(tmp_path / "shelf" / "log.csv"), str(tmp_path / "shelf" / "ours.toml"))
    assert shows(found) == (0.340, "shelf")


def test_what_is_in_neither_place_names_both(truck: Path, here: Path) -> None:
    found = read(truck, "gone.csv", "gone.toml")
    assert isinstance(found, list) and len(found) == 2
    for name, mistake in zip(("gone.csv", "gone.toml"), sorted(found, key=lambda each: each.given), strict=True):
        assert f"looked for {truck / name} and for {here / name}" in mistake.given
    assert len({mistake.accepted for mistake in found}) == 2


def test_a_name_longer_than_a_path_may_be_ends_in_words(truck: Path, here: Path) -> None:
    found = read(truck, f"{'x' * 1500}.csv", f"{'x' * 1500}.toml")
    assert isinstance(found, list) and len(found) == 2


@pytest.mark.parametrize("saved_to", ["truck", "here", "tmp_path"])
def test_a_guided_plan_saved_anywhere_is_read_from_anywhere(
    truck: Path, here: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, saved_to: str
) -> None:
    put(here / "logs", 330.0, "as answered")
    put(truck / "logs", 320.0, "another well's")
    folder = {"truck": truck, "here": here, "tmp_path": tmp_path}[saved_to]
    typed = {"hole.caliper": "logs/log.csv", "job.rules[1]": "logs/ours.toml", "job.rules[2]": "neutral"}
    answers = interviewed(METRIC | typed, checked=True)
    path = Path(os.path.relpath(folder)) / "well.toml"
    assert written.saved(path, written.plan_text(written.lodged(answers, path.parent))) == ""
    (tmp_path / "away").mkdir()
    monkeypatch.chdir(tmp_path / "away")
    found = planfile.read(folder / "well.toml")
    assert shows(found) == (0.330, "as answered")
    text = (folder / "well.toml").read_text(encoding="utf-8")
    assert (str(tmp_path) in text) is (saved_to == "truck")  # a folder that is moved as a whole keeps its log
