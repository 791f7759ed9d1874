"""A rule file to rules: every mistake of one pass, or the set. Values in any unit; what is not known is named."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from tally.catalogue import rules as catalogue
from tally.job.rule import Rule, RuleSet
from tally.job.rule_facts import FACTS
from tally.planfile.locator import lines
from tally.planfile.mistake import Mistake
from tally.planfile.named import located, nowhere
from tally.planfile.table import Desk, Table, shown
from tally.units import Gallon

LARGEST_BYTES = 200_000
APPLIES = ("steel", "pvc", "welded", "threaded", "solvent", "tremie", "through casing")
KNOWN = ("R", "R2", "practice", "own")
_ID = re.compile("[a-z0-9][a-z0-9-]{0,59}")


def read_rules(path: Path) -> RuleSet | list[Mistake]:
    """The rules in a file, or everything that is wrong with it."""
    try:
        if path.stat().st_size > LARGEST_BYTES:
            return [Mistake("", None, "a file of more than 200 kB", "a rule file written by a person", path.name)]
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        return [Mistake("", None, "bytes that are not UTF-8 text", "a text file saved as UTF-8", path.name)]
    except OSError as fault:
        why = fault.strerror or "a file that cannot be read"
        return [Mistake("", None, why, "a rule file that can be read", path.name)]
    return rules_in(text, path.name)


def named(name: str, folder: Path = Path()) -> RuleSet | list[Mistake]:
    """A rule file that ships with the program by its name, else a file of the crew's, named in a plan in `folder`."""
    text = catalogue.text(name)
    if text is not None:
        return rules_in(text, f"{name}.toml")
    if not name.lower().endswith(".toml"):
        known = ", ".join(catalogue.names())
        return [Mistake("", None, shown(name), f"one of {known}, or a file of your own that ends in .toml", "rules")]
    path = located(name, folder)
    if path is None:
        accepted = "a rule file that can be read, which a plan counts from its own folder first"
        return [Mistake("", None, nowhere(name, folder), accepted, "rules")]
    return read_rules(path)


def rules_in(text: str, name: str) -> RuleSet | list[Mistake]:
    """The rules in a text. `name` is only for the words."""
    try:
        document = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as fault:
        where = re.search(r"at line (\d+)", str(fault))
        said = f"text that is not TOML: {str(fault).partition(' (at ')[0]}"
        return [
            Mistake("", int(where[1]) if where else None, said, 'lines such as key = "value", under [[rule]]', name)
        ]
    desk = Desk(name, lines(text))
    root = Table(document, (), desk)
    gallon = root.choice("gallons", ("US", "imperial"), required=False)
    desk.gallon = _gallon(gallon)
    title = root.text("name", required=True, example='what the rules are called, such as "Our county"')
    about = root.text("about")
    rules = [_rule(table) for table in root.tables("rule") or []]
    root.close()
    _twice(root, rules)
    if desk.mistakes or title is None:
        return sorted(desk.mistakes, key=lambda mistake: mistake.line or 0)
    return RuleSet(name=title, about=about or "", rules=tuple(rule for rule in rules if rule is not None))


def _gallon(word: str | None) -> Gallon | None:
    match word:
        case "US":
            return "US"
        case "imperial":
            return "imperial"
    return None


def _rule(table: Table) -> Rule | None:
    name = table.text("id", required=True, example='a short name, such as "tremie-start"')
    if name is not None and not _ID.fullmatch(name):
        table.note("id", shown(name), 'small letters, digits and hyphens, such as "tremie-start"')
    words = table.text("text", required=True, example="the rule in your own words")
    fact = table.text("fact", example=f"one of {', '.join(FACTS)}; without it the rule is only shown")
    if fact is not None and fact not in FACTS:
        table.note("fact", shown(fact), f"one of {', '.join(FACTS)}; or no fact for a rule that is only shown")
    value = _value(table, fact)
    applies = table.choice("applies", APPLIES, required=False)
    wide = table.length("casing_from")
    clause = table.text("clause", required=True, example="where it stands in the rules")
    source = table.text("source", required=True, example="the rules' title, or who said it")
    address = table.text("address")
    known = table.choice("known", KNOWN, required=False)
    read = table.day("read", example="the day on which you read it, such as 2026-11-25")
    table.close()
    if not table.sound or name is None or words is None or clause is None or source is None or read is None:
        return None
    return Rule(
        id=name,
        text=words,
        fact=fact or "",
        value=value,
        applies=applies or "",
        casing_from_m=wide,
        clause=clause,
        source=source,
        address=address or "",
        known=known or "own",
        read=read,
    )


def _value(table: Table, fact: str | None) -> float | None:
    known = FACTS.get(fact or "")
    if known is not None and known.kind is not None:
        return table.quantity("value", known.kind, required=True)
    if table.has("value") and (known is not None or fact is None):
        said = f'the fact "{fact}" is so or not' if known else "a rule without a fact is only shown"
        table.note("value", shown(table.peek("value")), f"no value: {said}")
    table.text("value")
    return None


def _twice(root: Table, rules: list[Rule | None]) -> None:
    seen: set[str] = set()
    for place, rule in enumerate(rules):
        if rule is not None and rule.id in seen:
            root.desk.note(("rule", place, "id"), shown(rule.id), "an id that no other rule of the file has")
        if rule is not None:
            seen.add(rule.id)
