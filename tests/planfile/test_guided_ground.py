"""What the guided plan asks besides: rule files, caliper log, a mix by its recipe, its thickness, the plug inside."""

import tomllib
from pathlib import Path

import pytest

from tally.job.plan import Plan
from tally.planfile.guided import sequence, written
from tally.planfile.guided.beside import beside
from tally.planfile.guided.question import Question
from tests.planfile.logs import STEADY, rows
from tests.planfile.test_guided import GALLON_M3, METRIC, POUND_KG, interviewed, plan_of


def asked(answers: dict[str, str], name: str) -> Question:
    return next(each for each in sequence.questions(answers) if each.id == name)


def wrong(answers: dict[str, str], name: str) -> list[str]:
    return [str(mistake) for mistake in written.mistakes(answers, name)]


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


class TestRules:
    def test_by_name_and_by_file(self, here: Path) -> None:
        (here / "ours.toml").write_text(
            'name = "Our county"\n[[rule]]\nid = "a"\ntext = "Words."\nclause = "1"\nsource = "S"\nread = 2026-11-25\n',
            encoding="utf-8",
        )
        plan = plan_of(METRIC | {"job.rules[1]": "neutral", "job.rules[2]": "ours.toml"})
        assert [each.name for each in plan.rules][1:] == ["Our county"]
        assert len(plan.rules) == 2

    def test_enter_alone_is_none(self) -> None:
        assert plan_of(METRIC).rules == ()

    @pytest.mark.parametrize(("said", "words"), [("county", "one of"), ("gone.toml", "can be read")])
    def test_what_is_no_rule_file_is_said_at_once(self, here: Path, said: str, words: str) -> None:
        answers = interviewed(METRIC) | {"job.rules[1]": said}
        (told,) = wrong(answers, "job.rules[1]")
        assert "job.rules[1]" in told and words in told
        at_first = written.next_open({name: answers[name] for name in answers if name.startswith(("job.", "crew."))})
        assert at_first is not None and at_first.id == "job.rules[1]"


class TestCaliper:
    def test_a_log_is_read_and_told(self, here: Path) -> None:
        """Readings of 320 mm each metre from 7 to 47 m: 41 points, by hand."""
        (here / "hole.csv").write_text(rows(STEADY), encoding="utf-8")
        answers = interviewed(METRIC | {"hole.caliper": "hole.csv"}, checked=True)
        told = beside(asked(answers, "hole.caliper"), answers, "metric")
        assert told == "41 points read, from 7.00 m to 47.00 m, 320.0 mm on the average"
        plan = written.whole(answers)
        assert isinstance(plan, Plan)
        assert plan.hole.log[-1].diameter_m == pytest.approx(0.320)

    def test_a_log_without_units_is_asked_for_them(self, here: Path) -> None:
        (here / "hole.csv").write_text(rows(STEADY, "depth,diameter"), encoding="utf-8")
        answers = interviewed(METRIC | {"hole.caliper": "hole.csv"})
        assert wrong(answers, "hole.caliper") == []
        (told,) = wrong(answers, "hole.caliper_units")
        assert "no unit" in told
        whole = interviewed(METRIC | {"hole.caliper": "hole.csv", "hole.caliper_units": "2"}, checked=True)
        plan = written.whole(whole)
        assert isinstance(plan, Plan)
        assert plan.hole.log[0].diameter_m == pytest.approx(0.320)

    @pytest.mark.parametrize(
        ("name", "text", "words"),
        [
            ("gone.csv", "", "which is no file"),
            ("hole.txt.pdf", "", ".csv or .las"),
            ("hole.csv", "a,b\n1,2\n", "column"),
        ],
    )
    def test_what_is_no_log_is_said_at_once(self, here: Path, name: str, text: str, words: str) -> None:
        if text:
            (here / name).write_text(text, encoding="utf-8")
        answers = interviewed(METRIC) | {"hole.caliper": name}
        assert words in wrong(answers, "hole.caliper")[0]


RECIPE = METRIC | {"mix[1].common": "by its recipe: weigh what goes in", "mix[1].name": "ours"}


class TestRecipe:
    def test_its_density_and_yield_are_worked_out(self) -> None:
        """N.J.A.C. 7:9D Appendix A, table 2: 94 lb of cement, 5 lb of bentonite and 8.3 gal weigh 13.9 lb/gal. By hand,
        99 lb and 8.3 gal of water at 8.34 lb/gal are 168.2 lb, which at 13.9 lb/gal are 12.1 gal."""
        typed = RECIPE | {
            "mix[1].recipe.cement": "94 lb",
            "mix[1].recipe.bentonite": "5 lb",
            "mix[1].water_per_bag": "8.3 US gal",
        }
        answers = interviewed(typed, checked=True)
        plan = written.whole(answers)
        assert isinstance(plan, Plan)
        (mix,) = plan.mixes
        assert mix.kind == "recipe"
        assert [part.name for part in mix.parts] == ["cement", "bentonite"]
        assert mix.density_kg_m3 * GALLON_M3 / POUND_KG == pytest.approx(13.9, abs=0.05)
        assert mix.yield_per_bag_m3 / GALLON_M3 == pytest.approx(12.1, abs=0.05)
        told = beside(asked(answers, "mix[1].water_per_bag"), answers, "us")
        assert told == "weighs 13.9 lb/gal, a bag makes 12.1 US gal"

    def test_what_is_left_out_leaves_no_gap_in_the_file(self) -> None:
        typed = RECIPE | {"mix[1].recipe.cement": "40", "mix[1].recipe.sand": "40", "mix[1].water_per_bag": "20"}
        answers = interviewed(typed, checked=True)
        (mix,) = tomllib.loads(written.plan_text(answers))["mix"]
        assert [(each["name"], each["mass"], each["sg"]) for each in mix["ingredient"]] == [
            ("cement", "40 kg", 3.15),
            ("sand", "40 kg", 2.65),
        ]
        assert "bag" not in mix

    def test_a_mass_of_nothing_is_refused_where_it_was_typed(self) -> None:
        answers = interviewed(RECIPE | {"mix[1].recipe.cement": "40", "mix[1].water_per_bag": "20"})
        answers["mix[1].recipe.sand"] = "0 kg"
        (told,) = wrong(answers, "mix[1].recipe.sand")
        assert "mix[1].ingredient[2].mass" in told


class TestThickness:
    def test_both_stand_in_the_plan(self) -> None:
        plan = plan_of(METRIC | {"mix[1].plastic_viscosity": "40", "mix[1].yield_point": "15"})
        assert plan.mixes[0].plastic_viscosity_pa_s == pytest.approx(0.040)
        assert plan.mixes[0].yield_stress_pa == pytest.approx(15.0)

    def test_neither_is_asked_for_where_the_first_is_not_known(self) -> None:
        answers = interviewed(METRIC)
        assert answers["mix[1].plastic_viscosity"] == ""
        assert "mix[1].yield_point" not in answers


class TestPlug:
    def test_is_asked_for_down_the_casing_alone(self) -> None:
        assert "stage[1].plug" not in interviewed(METRIC)
        down = {name: said for name, said in METRIC.items() if not name.startswith("tremie")} | {"line.way": "2"}
        assert plan_of(down).stages[0].plug_m is None
        assert plan_of(down | {"stage[1].plug": "3"}).stages[0].plug_m == pytest.approx(3.0)
