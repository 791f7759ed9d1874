"""What the answers about one instrument say of its port so far: how to open it, what to ask for, how to read it."""

from __future__ import annotations

import re

from tally import formats, units
from tally.formats import Units
from tally.job.view.quantity import Kind, Quantity
from tally.job.wired import PLAIN, Bank, Wired, Wiring
from tally.planfile.guided import sequence, written
from tally.planfile.guided.asking import gallon_of
from tally.planfile.guided.inscribed import part
from tally.planfile.guided.instruments import LATER, first_on_port
from tally.planfile.guided.question import Answers, Question
from tally.planfile.guided.values import USUAL, groups
from tally.planfile.pulses import m3_per_pulse
from tally.planfile.snippet import read_wired

_BITS = re.compile(r"[78][NEO][12]")


def wiring(answers: Answers, prefix: str, about: str = "") -> Wiring | None:
    """What to listen to while the question `about` is asked; None where no port is known, or it cannot be asked yet."""
    port = answers.get(f"{prefix}.port", "")
    if not port:
        return None
    baud, bits = _speed(answers, first_on_port(answers, prefix) or prefix)
    kind = answers.get(f"{prefix}.kind", "")
    modbus = kind == "modbus"
    if port.lower().startswith("tcp://") and not modbus:
        return None
    address = _address(answers, prefix, about) if modbus else None
    # A register that is asked about is looked at as it is: type and order would be those that nobody has said.
    looked_at = ".register[" in about and not about.endswith(".more")
    wired = None if looked_at else _wired(answers, prefix)
    if modbus:
        if wired is None and address is None:
            return None
        unit = _int(answers.get(f"{prefix}.unit_id", ""), 1)
        bank: Bank = "input" if answers.get(f"{prefix}.bank") == "input" else "holding"
        return Wiring(port, baud, bits, True, wired, "", unit, bank, address) if 1 <= unit <= 247 else None
    pattern = answers.get(f"{prefix}.pattern", USUAL)
    pattern = _USUAL.get(kind, "") if pattern == USUAL else pattern
    return Wiring(port, baud, bits, False, wired, pattern if groups(pattern) or pattern == PLAIN else "")


_USUAL = {
    "pulses": r"P\s+(?P<pulses>\S+)",
    "strokes": r"P\s+(?P<pulses>\S+)",
    "current": r"I\s+(?P<current>\S+)\s+mA",
}


def _speed(answers: Answers, prefix: str) -> tuple[int, str]:
    said = answers.get(f"{prefix}.speed", "")
    if said == "other":
        baud, bits = answers.get(f"{prefix}.baud", ""), answers.get(f"{prefix}.bits", "")
    else:
        baud, _, bits = said.partition(" ")
    number = _int(baud, 9600)
    return (number if 300 <= number <= 4_000_000 else 9600), bits if _BITS.fullmatch(bits) else "8N1"


def _int(said: str, otherwise: int) -> int:
    return int(said) if said.isascii() and said.isdigit() and len(said) < 9 else otherwise


def _address(answers: Answers, prefix: str, about: str) -> int | None:
    """The register that the question is about."""
    one = about.rpartition(".")[0]
    said = answers.get(f"{one}.address", "") if one.startswith(f"{prefix}.register") else ""
    address = _int(said, -1)
    return address if 0 <= address <= 65_535 else None


def _wired(answers: Answers, prefix: str) -> Wired | None:
    """As the plan file's own reader takes it; None while something is open."""
    if answers.get(f"{prefix}.kind", LATER) == LATER:
        return None
    found = read_wired(text(answers, prefix), gallon_of(answers))
    return None if isinstance(found, list) else found


def text(answers: Answers, prefix: str) -> str:
    """The lines of one instrument for a plan file."""
    asked = [question for question in sequence.instruments_alone(answers) if part(question.id) == prefix]
    return written.plan_text(answers, asked, head="")


def comes_to(question: Question, said: str, answers: Answers, shown: Units) -> str:
    """What an answer comes to, by an example: "1,000 counts come to 1,231.5 L"; empty where there is none to give."""
    name = question.id.rpartition(".")[2]
    key = question.id.rpartition(".")[0]
    gallon = gallon_of(answers)
    try:
        if name == "k":
            by = answers.get(f"{key}.k_by", "")
            pulse_m3 = m3_per_pulse(said if any(map(str.isalpha, said)) else f"{said} {by}", gallon)
            return f"1,000 counts come to {_volume(1000 * pulse_m3, shown)}"
        if name == "efficiency":
            stroke_m3 = units.quantity(answers.get(f"{key}.stroke_volume", ""), Kind.VOLUME, gallon=gallon)
            share = units.quantity(said, Kind.SHARE)
            return f"1,000 strokes come to {_volume(1000 * stroke_m3 * share, shown)}"
    except units.UnitFault:
        return ""
    return ""


def _volume(m3: float, shown: Units) -> str:
    return formats.text(Quantity(m3, Kind.VOLUME), shown)
