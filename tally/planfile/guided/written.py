"""Answers to the text of a plan file that a person can read and change, and to the plan itself."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from tally.job.plan import Plan
from tally.planfile.guided import ground, grouting, sequence
from tally.planfile.guided.question import Answers, Question
from tally.planfile.mistake import Mistake
from tally.planfile.reader import read_text

HEAD = """\
# A plan for casing and grouting a water well, made question by question. Change what you like.
#
# Every value is a text with its unit: "219.1 mm", "8 5/8 in", "15.6 lb/gal". Counts and true/false stand bare.
# Depths run along the hole from ground level, down positive. `tally plan --example` shows all that may stand here.
"""
TABLES = (
    "job",
    "crew",
    "hole",
    "hole.section",
    "hole.zone",
    "casing",
    "limits",
    "line",
    "pump",
    "tremie",
    "mix",
    "stage",
    "aboard",
    "meter",
)
SHOE = "casing.target_shoe_depth"
_COMMENT_AT = 40
_ITEM = re.compile(r"(.+)\[([0-9]+)\]")
_TABLE = re.compile(r"(.+?)(?:\[([0-9]+)\])?\.([a-z_]+)")


@dataclass(slots=True)
class _Table:
    name: str
    many: bool
    lines: dict[str, tuple[list[str], bool, str]] = field(default_factory=dict)
    """Key to (values as TOML, whether they are a list, comment)."""


def plan_text(answers: Answers, asked: Sequence[Question] | None = None) -> str:
    """The plan file that these answers make; of the questions `asked` alone, if they are given."""
    asked = sequence.questions(answers) if asked is None else asked
    tables: dict[tuple[str, int], _Table] = {}
    for key, value, comment in _values(answers, asked):
        item = _ITEM.fullmatch(key)
        found = _TABLE.fullmatch(item[1] if item else key)
        assert found is not None, key
        name, number, last = found[1], int(found[2] or 0), found[3]
        table = tables.setdefault((name, number), _Table(name, bool(number)))
        values, _, said = table.lines.get(last, ([], False, ""))
        table.lines[last] = ([*values, value], item is not None, said or comment)
    ordered = sorted(tables, key=lambda place: (TABLES.index(place[0]), place[1]))
    return "\n".join([HEAD, *("\n".join(_table(tables[place])) + "\n" for place in ordered)])


def _values(answers: Answers, asked: Sequence[Question]) -> Iterator[tuple[str, str, str]]:
    """(key, value as TOML, comment), in the order of asking, with what follows from the answers."""
    ends = "0 m"
    names = grouting.mix_names(answers)
    for question in asked:
        key, said = question.key, answers.get(question.id, "")
        if re.fullmatch(r"hole\.section\[\d+\]\.to", key) and said:
            yield f"{key.removesuffix('to')}from", quoted(ends), ""
            ends = said
        if key and said:
            bare = question.form in ("count", "flag")
            yield key, said if bare else quoted(said), question.comment
        if re.fullmatch(r"stage\[\d+\]\.name", key) and said:
            stage = key.removesuffix("name")
            yield f"{stage}method", quoted(answers.get("line.way", "tremie")), '"tremie" or "through casing"'
            if len(names) == 1:
                yield f"{stage}mix", quoted(names[0]), ""
        if key == "meter.port" and said:
            yield "meter.dialect", quoted("plain"), "or a pattern with units, for a meter that sends other lines"


def _table(table: _Table) -> Iterator[str]:
    yield f"[[{table.name}]]" if table.many else f"[{table.name}]"
    for key, (values, is_list, comment) in table.lines.items():
        line = f"{key} = [{', '.join(values)}]" if is_list else f"{key} = {values[0]}"
        yield f"{line:<{_COMMENT_AT}} # {comment}" if comment else line


_ESCAPED = {'"': '\\"', "\\": "\\\\"}


def quoted(text: str) -> str:
    """A TOML basic string."""
    return '"' + "".join(_ESCAPED.get(each, each if each.isprintable() else _point(each)) for each in text) + '"'


def _point(character: str) -> str:
    number = ord(character)
    return f"\\u{number:04x}" if number <= 0xFFFF else f"\\U{number:08x}"


def mistakes(answers: Answers, upto: str) -> list[Mistake]:
    """What the plan file's reader finds wrong in the answers down to the question `upto`: its own first."""
    asked = sequence.questions(answers)
    place = next((place for place, question in enumerate(asked) if question.id == upto), len(asked) - 1)
    shoe = next((question for question in asked[place + 1 :] if question.id == SHOE), None)
    asked = asked[: place + 1]
    if shoe is not None and (deep := ground.bottom(answers)):
        # Until its depth is known the casing is taken to go to the bottom, so that a hole too narrow shows at once.
        found = read_text(plan_text({**answers, SHOE: deep}, [*asked, shoe]))
    else:
        found = read_text(plan_text(answers, asked))
    if isinstance(found, Plan):
        return []
    said = [question for question in asked if question.key and answers.get(question.id)]
    own = asked[place]
    wrong = [mistake for mistake in found if any(_concerns(mistake.key, question) for question in said)]
    return sorted(wrong, key=lambda mistake: not _concerns(mistake.key, own))


def _concerns(wrong: str, question: Question) -> bool:
    """Whether a mistake is about this answer, or about the list in which it stands."""
    return bool(question.key) and (
        question.key == wrong or (not question.half and question.key.startswith(f"{wrong}["))
    )


def next_open(answers: Answers, zone: str = "") -> Question | None:
    """The first question that is not answered, or whose answer does not fit with the others; None where all do."""
    asked = sequence.questions(answers, zone)
    place = next((place for place, question in enumerate(asked) if question.id not in answers), len(asked))
    if not place:
        return asked[0]
    wrong = mistakes(answers, asked[place - 1].id)
    unfit = next((each for each in asked[:place] if any(_concerns(mistake.key, each) for mistake in wrong)), None)
    return unfit or (asked[place] if place < len(asked) else None)


def saved(path: Path, answers: Answers, *, overwrite: bool = False) -> str:
    """Writes the plan file; empty, or why it was not written. An existing file is only overwritten where it is said."""
    try:
        with path.open("w" if overwrite else "x", encoding="utf-8", newline="\n") as file:
            file.write(plan_text(answers))
    except FileExistsError:
        return f"{path} is there already"
    except (OSError, ValueError) as error:
        return f"{path} cannot be written: {getattr(error, 'strerror', None) or error}"
    return ""


def whole(answers: Answers) -> Plan | list[Mistake]:
    """The plan that these answers make, or what is wrong with it."""
    return read_text(plan_text(answers))


def filled(answers: Answers) -> tuple[Plan | None, frozenset[str]]:
    """A plan to work out meanwhile, and what of it is answered to the end: steps by name, stages by their key.

    Whatever is not answered yet is stood in for: nothing that rests on it may be shown. None where no plan comes of it.
    """
    said = dict(answers)
    whole_parts, open_parts = set(sequence.STEPS), set[str]()
    while missing := [question for question in sequence.questions(said) if question.id not in said]:
        # What is asked may depend on what is stood in for, so again until nothing is left.
        for question in missing:
            open_parts |= {question.step, _part(question)}
            said[question.id] = question.stands_in
    whole_parts |= {_part(question) for question in sequence.questions(said)}
    found = whole(said)
    return (found if isinstance(found, Plan) else None), frozenset(whole_parts - open_parts)


def _part(question: Question) -> str:
    """The stage that it is about: "stage[2]"."""
    return question.id.partition(".")[0] if not question.id.endswith(".more") else ""
