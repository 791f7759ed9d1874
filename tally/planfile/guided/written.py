"""Answers to the text of a plan file that a person can read and change, and to the plan itself."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from tally.job.plan import Plan
from tally.planfile import rules
from tally.planfile.guided import ground, grouting, inscribed, instruments, recipe, sequence
from tally.planfile.guided.question import Answers, Question
from tally.planfile.mistake import Mistake
from tally.planfile.named import lasting
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
    "mix.ingredient",
    "stage",
    "aboard",
    "meter",
    "meter.units",
    "meter.register",
    "instrument",
    "instrument.units",
    "instrument.register",
    "tank",
    "tank.row",
)
SHOE = "casing.target_shoe_depth"
_COMMENT_AT = 40
_NAME = re.compile(r"([A-Za-z0-9_]+)(?:\[([0-9]+)\])?")

Place = tuple[tuple[str, int], ...]
"""Names of a table from the outermost, each with its number where there are several, else 0."""


@dataclass(slots=True)
class _Table:
    name: str
    many: bool
    lines: dict[str, tuple[list[str], bool, str]] = field(default_factory=dict)
    """Key to (values as TOML, whether they are a list, comment)."""


def plan_text(answers: Answers, asked: Sequence[Question] | None = None, head: str = HEAD) -> str:
    """The plan file that these answers make; of the questions `asked` alone, if they are given."""
    asked = sequence.questions(answers) if asked is None else asked
    tables: dict[Place, _Table] = {}
    for key, value, comment in _values(answers, asked):
        *names, (last, item) = _names(key)
        place = tuple(names)
        table = tables.setdefault(place, _Table(_dotted(place), bool(place[-1][1])))
        values, _, said = table.lines.get(last, ([], False, ""))
        table.lines[last] = ([*values, value], bool(item), said or comment)
    ordered = sorted(tables, key=_rank)
    return "\n".join([head, *("\n".join(_table(tables[place])) + "\n" for place in ordered)])


def _names(key: str) -> list[tuple[str, int]]:
    """ "hole.section[2].to" as its names with their numbers; of an item of a list the last has one."""
    return [(found[1], int(found[2] or 0)) for found in _NAME.finditer(key)]


def _dotted(place: Place) -> str:
    return ".".join(name for name, _ in place)


def _rank(place: Place) -> tuple[int, int, int, list[int]]:
    """In the order of `TABLES`; what belongs to one of several tables stands behind that one."""
    (first, number), *_ = place
    return TABLES.index(first), number, TABLES.index(_dotted(place)), [each for _, each in place]


def _values(answers: Answers, asked: Sequence[Question]) -> Iterator[tuple[str, str, str]]:
    """(key, value as TOML, comment), in the order of asking, with what follows from the answers."""
    ends = "0 m"
    names = grouting.mix_names(answers)
    for question in asked:
        key, said = question.key, answers.get(question.id, "")
        if (lines := inscribed.inscribed(question, answers)) is not None:
            yield from lines
            continue
        if re.fullmatch(r"hole\.section\[\d+\]\.to", key) and said:
            yield f"{key.removesuffix('to')}from", quoted(ends), ""
            ends = said
        if key and said:
            bare = question.form in ("count", "flag")
            yield key, said if bare else quoted(said), question.comment
        if key and said:
            yield from ((beside, value, "") for beside, value in recipe.lines(question))
        if said == recipe.RECIPE and question.id.endswith(".common"):
            yield question.id.replace(".common", ".kind"), quoted(recipe.RECIPE), "by what goes into it"
        if re.fullmatch(r"stage\[\d+\]\.name", key) and said:
            stage = key.removesuffix("name")
            yield f"{stage}method", quoted(answers.get("line.way", "tremie")), '"tremie" or "through casing"'
            if len(names) == 1:
                yield f"{stage}mix", quoted(names[0]), ""


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


def mistakes(answers: Answers, upto: str, asked: Sequence[Question] | None = None) -> list[Mistake]:
    """What the plan file's reader finds wrong in the answers down to the question `upto`: its own first."""
    every = asked = sequence.questions(answers) if asked is None else asked
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
    own = asked[place]
    said = [question for question in asked if question.key and (answers.get(question.id) or question is own)]
    found = [replace(mistake, key=inscribed.own_key(mistake.key, answers)) for mistake in found]
    found = [mistake for mistake in found if not inscribed.early(mistake.key, answers, every)]
    found += [
        replace(mistake, key=question.key)
        for question in said
        if question.key.startswith(f"{ground.RULES}[")
        for mistake in _unfit_rules(answers.get(question.id, ""))
    ]
    wrong = [mistake for mistake in found if any(_concerns(mistake.key, question) for question in said)]
    return sorted(wrong, key=lambda mistake: not _concerns(mistake.key, own))


def _unfit_rules(name: str) -> list[Mistake]:
    found = rules.named(name) if name else ()
    return found if isinstance(found, list) else []


def _concerns(wrong: str, question: Question) -> bool:
    """Whether a mistake is about this answer, or about the list in which it stands."""
    return bool(question.key) and (
        wrong in (question.key, *question.covers) or (not question.half and question.key.startswith(f"{wrong}["))
    )


def next_open(answers: Answers, zone: str = "", asked: Sequence[Question] | None = None) -> Question | None:
    """The first question that is not answered, or whose answer does not fit with the others; None where all do."""
    asked = sequence.questions(answers, zone) if asked is None else asked
    place = next((place for place, question in enumerate(asked) if question.id not in answers), len(asked))
    if not place:
        return asked[0]
    wrong = mistakes(answers, asked[place - 1].id, asked)
    unfit = next((each for each in asked[:place] if any(_concerns(mistake.key, each) for mistake in wrong)), None)
    return unfit or (asked[place] if place < len(asked) else None)


def misfit(answers: Answers, changed: str, asked: Sequence[Question]) -> Question | None:
    """The first answer behind `changed` from which on the answers do not fit; None where they do."""
    place = next(place for place, question in enumerate(asked) if question.id == changed)
    for later in asked[place + 1 :]:
        if later.id in answers and mistakes(answers, later.id, asked):
            return later
    return None


def saved(path: Path, text: str, *, overwrite: bool = False) -> str:
    """Writes the plan file; empty, or why it was not written. An existing file is only overwritten where it is said."""
    try:
        with path.open("w" if overwrite else "x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        return f"{path} is there already"
    except (OSError, ValueError) as error:
        return f"{path} cannot be written: {getattr(error, 'strerror', None) or error}"
    return ""


def lodged(answers: Answers, folder: Path) -> Answers:
    """The same for a plan file in `folder`: log and rule files, which were named from the working folder, are found."""
    return {
        name: lasting(said, folder)
        if said and (name == ground.LOG or (name.startswith(f"{ground.RULES}[") and said.lower().endswith(".toml")))
        else said
        for name, said in answers.items()
    }


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
            if instrument := inscribed.part(question.id):
                said[f"{instrument}.kind"] = instruments.LATER  # half of one is none
    whole_parts |= {_part(question) for question in sequence.questions(said)}
    found = whole(said)
    return (found if isinstance(found, Plan) else None), frozenset(whole_parts - open_parts)


def _part(question: Question) -> str:
    """The stage that it is about: "stage[2]"."""
    return question.id.partition(".")[0] if not question.id.endswith(".more") else ""
