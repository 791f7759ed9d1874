"""Rule files: what ships, what a contractor writes, and every mistake of one pass."""

from pathlib import Path

import pytest

from tally.catalogue import rules as catalogue
from tally.job.plan import Plan
from tally.job.rule import RuleSet
from tally.job.rule_facts import FACTS
from tally.job.rules import applies
from tally.job.view.ruled import DEFERS, rule_notes
from tally.planfile import example, read_text
from tally.planfile.rules import named, rules_in
from tally.report.ruled import looked_through

ROOT = Path(__file__).resolve().parents[2]


class TestShipped:
    def test_a_neutral_one_and_published_ones(self) -> None:
        assert "neutral" in catalogue.names()
        assert len(catalogue.names()) >= 3

    @pytest.mark.parametrize("name", catalogue.names())
    def test_each_reads_and_says_where_every_rule_stands(self, name: str) -> None:
        found = named(name)
        assert not isinstance(found, list), found
        for rule in found.rules:
            assert rule.clause and rule.source and rule.read, rule.id
            # R and R2: read on the named page, or on a secondary one; nothing recalled from memory is called a rule
            assert rule.known in ({"R", "R2", "practice"} if name == "neutral" else {"R", "R2"}), rule.id
        assert any(rule.fact for rule in found.rules)

    def test_values(self) -> None:
        # Minn. Rules 4725.3050: within 10 ft; Quebec Q-2 r. 6: 5.3 m, 30 cm; COMAR 26.04.04.19: 6 gal to 94 lb
        wanted = {
            ("minnesota", "tremie-start"): 10 * 0.3048,
            ("minnesota", "set"): 24 * 3600,
            ("quebec", "length"): 5.3,
            ("quebec", "above-ground"): 0.30,
            ("maryland", "neat-water"): 6 * 231 * 0.0254**3,
            ("maryland", "bentonite"): 6 / 94,
            ("wisconsin", "neat-lightest"): 15.0 * 0.45359237 / (231 * 0.0254**3),
        }
        for (name, rule), value in wanted.items():
            found = named(name)
            assert not isinstance(found, list)
            assert {each.id: each.value for each in found.rules}[rule] == pytest.approx(value, rel=1e-6)


class TestOwn:
    def test_the_file_in_the_readme(self) -> None:
        readme = (ROOT / "README.md").read_text(encoding="utf-8")
        text = readme.partition("## Rule files")[2].partition("```toml\n")[2].partition("```")[0]
        found = rules_in(text, "ours.toml")
        assert not isinstance(found, list), found
        assert len(found.rules) == 2

    def test_the_readme_names_every_fact(self) -> None:
        section = (ROOT / "README.md").read_text(encoding="utf-8").partition("## Rule files")[2].partition("\n## ")[0]
        assert [fact for fact in FACTS if f"`{fact}`" not in section] == []

    def test_in_a_plan(self, tmp_path: Path) -> None:
        (tmp_path / "ours.toml").write_text(OWN, encoding="utf-8")
        text = example().replace("[job]", '[job]\nrules = ["neutral", "ours.toml"]', 1)
        found = read_text(text, folder=tmp_path)
        assert isinstance(found, Plan), found
        assert [each.name for each in found.rules] == ["Common practice", "Ours"]
        assert found.rules[1].rules[0].value == pytest.approx(0.05)

    def test_a_plan_without_them_has_none(self) -> None:
        found = read_text(example())
        assert isinstance(found, Plan)
        assert found.rules == ()


OWN = """
name = "Ours"
[[rule]]
id = "space"
text = "Two inches all round."
fact = "annulus_min"
value = "5 cm"
clause = "our letter"
source = "the county"
read = "2026-02-03"
"""


def told(text: str) -> list[str]:
    found = rules_in(text, "ours.toml")
    assert isinstance(found, list)
    return [str(mistake) for mistake in found]


class TestMistakes:
    def test_all_at_once_with_line_key_and_what_is_accepted(self) -> None:
        wrong = (
            OWN.replace('id = "space"', 'id = "A space"')
            .replace("annulus_min", "annulus_minimum")
            .replace('"2026-02-03"', '"3 Feb"')
            .replace('clause = "our letter"\n', "")
            + 'colour = "red"\n'
        )
        lines = told(wrong)
        assert len(lines) == 5
        for key, line, accepted in (
            ("rule[1].id", 4, "small letters"),
            ("rule[1].fact", 6, "annulus_min"),
            ("rule[1].read", 9, "2026-11-25"),
            ("rule[1].colour", 10, "one of id"),
        ):
            (found,) = [words for words in lines if f", {key}:" in words]
            assert f"line {line}," in found
            assert accepted in found.partition("accepted:")[2]
        assert any("rule[1].clause" in words and "given nothing" in words for words in lines)

    @pytest.mark.parametrize(
        ("change", "words"),
        [
            (('value = "5 cm"', "value = 5"), "rule[1].value"),
            (('value = "5 cm"', 'value = "5 L"'), "rule[1].value"),
            (('value = "5 cm"\n', ""), "rule[1].value: given nothing"),
            (("annulus_min", "batches_weighed"), "is so or not"),
            (('fact = "annulus_min"\n', ""), "only shown"),
            (('name = "Ours"', ""), "name: given nothing"),
            (("[[rule]]", "[rule]"), "one or more tables [[rule]]"),
            (("name =", "name"), "text that is not TOML"),
            (('source = "the county"', 'source = "the county"\napplies = "wood"'), '"steel" or "pvc"'),
        ],
    )
    def test_each(self, change: tuple[str, str], words: str) -> None:
        assert words in "\n".join(told(OWN.replace(*change)))

    def test_an_id_twice(self) -> None:
        assert "no other rule" in told(OWN + OWN.partition("\n[[rule]]")[2].join(["[[rule]]", ""]))[0]

    def test_of_a_rule_file_stand_beside_those_of_the_plan(self, tmp_path: Path) -> None:
        (tmp_path / "ours.toml").write_text(OWN.replace("5 cm", "5 L"), encoding="utf-8")
        text = example().replace("[job]", '[job]\nrules = ["ours.toml", "nowhere", "gone.toml"]', 1)
        found = read_text(text.replace('units = "metric"', 'units = "parsec"'), folder=tmp_path)
        assert isinstance(found, list)
        words = "\n".join(map(str, found))
        assert "ours.toml line 7, rule[1].value" in words
        assert "one of maryland" in words
        assert "gone.toml" in words
        assert "job.units" in words


def test_rule_notes_on_a_screen_say_first_who_decides() -> None:
    plan = read_text(example())
    assert isinstance(plan, Plan)
    neutral = named("neutral")
    assert isinstance(neutral, RuleSet)
    first, _, name, *rows = looked_through(rule_notes((neutral,), plan), "metric")
    assert first == DEFERS
    assert name == neutral.name
    assert all(any(f" {rule.id}: " in row for row in rows) for rule in neutral.rules if applies(rule, plan))
    assert rows[-1].endswith("not shown")
    assert max(map(len, rows)) <= 70, "it is not folded again in a frame on 80 columns"
    assert "names no rule file" in looked_through((), "metric")[0]
