"""How the answers about instruments stand in the plan file: one answer may make several keys, or none."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from tally.job.wired import PLAIN
from tally.planfile.guided.instruments import LATER, METER, SPEEDS, cannot_share, first_on_port, others
from tally.planfile.guided.question import Answers, Question
from tally.planfile.guided.values import USUAL
from tally.planfile.snippet import quoted

_PART = re.compile(r"(meter|instrument\[([0-9]+)\])\.(.+)")
_REGISTER = re.compile(r"register\[[0-9]+\]\.")
_FORM = re.compile(r"(?P<type>\w+) (?P<order>\w+) (?P<scale>[0-9.e+-]+) (?P<address>[0-9]+)", re.ASCII)
"""As `displayed.form` keeps it."""
_NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?")

Line = tuple[str, str, str]
"""Key, value as TOML, comment."""


def part(name: str) -> str:
    """The instrument that a question or a key is about: "meter", "instrument[2]"; empty for any other."""
    found = _PART.match(name)
    return found[1] if found else ""


def left_out(answers: Answers, prefix: str) -> bool:
    """Whether it is left for later, and so out of the plan."""
    return answers.get(f"{prefix}.kind") == LATER


def inscribed(question: Question, answers: Answers) -> list[Line] | None:
    """The lines that this answer makes; None where it is written like any other."""
    found = _PART.match(question.id)
    if found is None:
        return None
    prefix, said = found[1], answers.get(question.id, "")
    if left_out(answers, prefix) or not said:
        return []
    key = _place(prefix, answers)
    one, name = _split(found[3])
    if one:
        return list(_register(f"{key}.{one}", f"{prefix}.{one}", name, said, answers, prefix, question.comment))
    return list(_wired(key, name, said, answers, prefix, question))


def _split(rest: str) -> tuple[str, str]:
    """ "register[1].type" as ("register[1]", "type")."""
    found = _REGISTER.match(rest)
    return (rest[: found.end() - 1], rest[found.end() :]) if found else ("", rest)


def _wired(key: str, name: str, said: str, answers: Answers, prefix: str, question: Question) -> Iterator[Line]:
    match name:
        case "speed" if said != "other" and said in dict(SPEEDS):
            baud, bits = said.split()
            yield f"{key}.baud", baud, ""
            if bits != "8N1":
                yield f"{key}.bits", quoted(bits), "data bits, parity, stop bits"
        case "kind" if said != "lines":
            yield f"{key}.source", quoted(said), ""
        case "pattern" if said == PLAIN:
            yield f"{key}.dialect", quoted(said), "or a pattern with units, for a meter that sends other lines"
        case "port" if said.lower().startswith("tcp://") and not answers.get(f"{prefix}.kind"):
            yield f"{key}.port", quoted(said), ""
            yield f"{key}.source", quoted("modbus"), ""  # nothing else is reached like that
        case "k":
            yield f"{key}.k", _k(said, answers.get(f"{prefix}.k_by", "")), "what one pulse stands for"
        case "pattern" if said == USUAL:
            return
        case "is" | "speed" | "kind" | "k_by" | "unit_id" | "bank":
            return
        case _:
            bare = question.form in ("count", "flag")
            yield f"{key}.{name}", said if bare else quoted(said), question.comment


def _register(key: str, one: str, name: str, said: str, answers: Answers, prefix: str, comment: str) -> Iterator[Line]:
    form = _FORM.fullmatch(answers.get(f"{one}.form", ""))
    match name:
        case "reads":
            yield f"{key}.reads", quoted(said), ""
            yield f"{key}.unit", _bare(answers.get(f"{prefix}.unit_id", "1")), "id of the device"
            yield f"{key}.bank", quoted(answers.get(f"{prefix}.bank", "holding")), ""
        case "address":
            yield f"{key}.address", form["address"] if form else _bare(said), "0 is what a manual calls 40001 or 30001"
        case "form" if form:
            yield f"{key}.type", quoted(form["type"]), ""
            yield f"{key}.order", quoted(form["order"]), "by the meter's own display"
            if form["scale"] != "1":
                yield f"{key}.scale", form["scale"], ""
        case "k":
            yield f"{key}.k", _k(said, answers.get(f"{one}.k_by", "")), "what one pulse stands for"
        case "scale" if said != "1":
            yield f"{key}.scale", _bare(said), ""
        case "form" | "shows" | "more" | "k_by" | "scale":
            return
        case _:
            yield f"{key}.{name}", quoted(said), comment


def _bare(said: str) -> str:
    """A number bare, anything else as a text, for the reader to refuse."""
    number = said.lstrip("0") if said[1:2].isdigit() else said
    return number if _NUMBER.fullmatch(number) else quoted(said)


def _k(said: str, by: str) -> str:
    return quoted(f"{said} {by}" if _NUMBER.fullmatch(said) else said)


# --- places: an instrument that is left out has none in the file -----------------------------------------------------


def _written(answers: Answers) -> list[str]:
    asked = (part(question.id) for question in others(answers) if question.id.endswith(".channel"))
    return [prefix for prefix in asked if answers.get(f"{prefix}.channel") and not left_out(answers, prefix)]


def _place(prefix: str, answers: Answers) -> str:
    """As the file counts it."""
    return prefix if prefix == METER else f"instrument[{_written(answers).index(prefix) + 1}]"


def own_key(key: str, answers: Answers) -> str:
    """A key of the file as the questions count it."""
    found = _PART.match(key)
    if found is None or found[2] is None:
        return key
    places = _written(answers)
    place = int(found[2]) - 1
    return f"{places[place]}.{found[3]}" if place < len(places) else key


def early(key: str, answers: Answers, asked: Sequence[Question]) -> bool:
    """Whether a mistake of that key says too soon that two instruments cannot share a port: one is not whole yet."""
    prefix = part(key)
    first = first_on_port(answers, prefix) if key.endswith(".port") else ""
    open_yet = (each for each in asked if part(each.id) in (prefix, first) and each.id not in answers)
    return bool(first) and not cannot_share(answers, prefix) and any(open_yet)
