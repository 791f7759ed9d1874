"""What a port sends, and which ports there are, brought to the questions: choices, offers, what one tells of others.

Nothing is guessed: a unit or a gallon that a line does not say stays open, and of several ways to read a register's
display each is put to the driller.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from types import MappingProxyType

from tally.job.wired import PLAIN
from tally.meters import proposal
from tally.meters.proposal import GALLONS, OPEN, Proposal
from tally.planfile.guided.displayed import Registers, asked_which, held_against
from tally.planfile.guided.inscribed import part
from tally.planfile.guided.instruments import cannot_share
from tally.planfile.guided.question import LONGEST, Answers, Question
from tally.planfile.guided.values import groups

MOST_PORTS = 8
_ENOUGH = 60
"""Lines that are looked at for a pattern."""
_CURRENT, _COUNT = r"I\s+(?P<current>\S+)\s+mA", r"P\s+(?P<pulses>\S+)"


@dataclass(frozen=True, slots=True)
class Heard:
    """Ports as (name, the system's words), lines that came, and registers by their first."""

    ports: tuple[tuple[str, str], ...] = ()
    lines: tuple[str, ...] = ()
    registers: Registers = field(default_factory=dict)


def informed(question: Question, answers: Answers, heard: Heard) -> Question:
    """The question, with what was heard."""
    prefix, name = part(question.id), question.id.rpartition(".")[2]
    if not prefix:
        return question
    if name == "port":
        return replace(question, choices=_ports(heard))
    if name == "kind":
        kind = _kind(question, heard.lines)
        return replace(question, offered=dict(question.choices).get(kind, question.offered))
    if name == "pattern":
        return _pattern(question, answers, heard.lines)
    if ".units." in question.id and ".register[" not in question.id:
        return _unit(question, answers.get(f"{prefix}.pattern", ""), name, heard.lines)
    if name == "form":
        return asked_which(question, answers, heard.registers)
    return question


def taken(question: Question, said: str, answers: Answers, heard: Heard) -> dict[str, str]:
    """The answers with this one, and with what follows from it and from what was heard; raises `Unfit`."""
    before, name = answers.get(question.id), question.id.rpartition(".")[2]
    found = {**answers, question.id: said}
    prefix = part(question.id)
    if not prefix or (said == before and name != "shows"):
        return found
    if before is not None:
        found = {key: one for key, one in found.items() if not _rested_on(key, question.id, prefix)}
    if name == "port" and cannot_share(found, prefix):
        found = {key: one for key, one in found.items() if part(key) != prefix or key.rpartition(".")[2] in _WHATEVER}
    if name == "pattern":
        for value, unit in _units(said, heard.lines).items():
            if unit != OPEN and unit not in GALLONS and value != "current":
                found[f"{prefix}.units.{value}"] = unit
    if name == "shows":
        return held_against(question.id.removesuffix(".shows"), found, heard.registers)
    return found


_BY_VALUE = ("units", "k_by", "k", "shows", "form", "ways", "type", "order", "scale")
_FORGOTTEN: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "kind": ("pattern", "units"),
        "pattern": ("units",),
        "reads": _BY_VALUE,
        "address": ("shows", "form", "ways"),
        "units": ("shows", "form", "ways"),
        "k_by": ("k",),
        "unit_id": ("shows", "form", "ways"),
        "bank": ("shows", "form", "ways"),
    }
)
"""What no longer holds where an answer changes; of an instrument that measures something else all but its port."""
_OF_ITS_PORT = ("channel", "port", "speed", "baud", "bits")
_WHATEVER = (*_OF_ITS_PORT, "name")
"""What holds of an instrument whatever kind it is."""


def _rested_on(key: str, changed: str, prefix: str) -> bool:
    """Whether the answer `key` says nothing any more now that `changed` is another."""
    where, _, name = changed.rpartition(".")
    if part(key) != prefix or key == changed:
        return False
    rest = key.removeprefix(f"{prefix}.")
    if name == "channel":
        return rest not in _OF_ITS_PORT
    forgotten = _FORGOTTEN.get(name, ())
    if name in ("unit_id", "bank"):
        return key.rpartition(".")[2] in forgotten
    below = key.removeprefix(f"{where}.")
    return below != key and below.partition(".")[0] in forgotten


# --- ports and lines -----------------------------------------------------------------------------------------------


def _ports(heard: Heard) -> tuple[tuple[str, str], ...]:
    return tuple((url, f"{url}  {said}".strip()) for url, said in heard.ports[:MOST_PORTS])


def proposals(lines: Sequence[str]) -> list[Proposal]:
    return _proposals(tuple(lines[-_ENOUGH:]))


@lru_cache(maxsize=4)
def _proposals(lines: tuple[str, ...]) -> list[Proposal]:
    return [each for each in proposal.proposals(lines) if each.takes and len(each.pattern) <= LONGEST]


def _kind(question: Question, lines: Sequence[str]) -> str:
    """What kind the lines speak of; "" where they say nothing."""
    kinds = dict(question.choices)
    if "lines" not in kinds:
        return "modbus"
    if proposal.is_plain(lines[-_ENOUGH:]):
        return "lines"
    for each in proposals(lines)[:1]:
        named = [name for name in ("pulses", "current") if name in each.units]
        return named[0] if named and named[0] in kinds else "lines"
    return ""


def _pattern(question: Question, answers: Answers, lines: Sequence[str]) -> Question:
    """Patterns that take what came, the best first and offered."""
    kind = answers.get(f"{part(question.id)}.kind", "lines")
    if proposal.decimal_comma(lines[-_ENOUGH:]):
        said = "the numbers seem to have a decimal comma, which cannot be read: set the meter to print points"
        return replace(question, remark=said)
    needs = {"pulses": "pulses", "strokes": "pulses", "current": "current"}.get(kind, "")
    if not needs and question.stands_in == PLAIN and proposal.is_plain(lines[-_ENOUGH:]):
        words = 'plain: lines such as "T 001234.56 L R 62.10 L/min"'
        return replace(question, choices=((PLAIN, words),), offered=words)
    found: list[tuple[str, str]] = []
    usual = {"pulses": _COUNT, "current": _CURRENT}.get(needs, "")
    if usual and (not lines or _fits(usual, lines)):
        return question
    for each in proposals(lines):
        pattern = each.pattern.replace("(?P<total>", "(?P<pulses>") if needs == "pulses" else each.pattern
        if not needs or needs in groups(pattern):
            found.append((pattern, _reads(each, pattern)))
    choices = (*found, *question.choices)
    return replace(question, choices=choices, offered=found[0][1] if found else "")


def _reads(proposed: Proposal, pattern: str) -> str:
    """ "total in L, rate in L/min; 30 of 30 lines: VOL ..." """
    said = (name if unit == OPEN else f"{name} in {unit}" for name, unit in proposed.units.items())
    return f"{', '.join(said)}; {proposed.takes} of {proposed.of} lines: {pattern}"


def _fits(pattern: str, lines: Sequence[str]) -> bool:
    from tally.meters.current import CurrentLoop
    from tally.meters.dialect import LineDialect

    loop = CurrentLoop("rate_m3_s", 0.0, 1.0) if "current" in pattern else None
    dialect = LineDialect(pattern, dict.fromkeys(groups(pattern), 1e-3), loop=loop)
    some = lines[-_ENOUGH:]
    return 2 * proposal.takes(dialect, some) > len(some)


def _units(pattern: str, lines: Sequence[str]) -> Mapping[str, str]:
    """Units that the lines say themselves of this pattern's values."""
    return next((each.units for each in proposals(lines) if each.pattern == pattern), {})


def _unit(question: Question, pattern: str, name: str, lines: Sequence[str]) -> Question:
    said = _units(pattern, lines).get(name, OPEN)
    if said in GALLONS:
        both = tuple(choice for choice in question.choices if " gal" in choice[0])
        return replace(question, choices=both, remark="the line says gal alone: US or imperial? They differ by 20 %")
    return question if said == OPEN else replace(question, offered=said)
