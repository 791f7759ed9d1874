"""`--shows`: what the meter's own display shows, held against what is read of it."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from math import log10
from typing import TYPE_CHECKING

from tally.cli.fault import CommandFault

if TYPE_CHECKING:
    from tally.job.wired import Wired
    from tally.meters.display import Shown, Way
    from tally.meters.probe import Answer, Probe
    from tally.meters.reading import Reading

OPEN_YET = 1
"""Exit code where no way of reading, or more than one, gives what the display shows."""
_NEAR = (-1, 1)
"""Manuals count registers from 0 or from 1."""


@dataclass(frozen=True, slots=True)
class Known:
    """A display's reading: which value it is (total, rate, pulses …), the number, and its unit as typed and in SI."""

    name: str
    display: Shown
    unit: str
    quantity: str
    one_si: float

    @property
    def words(self) -> str:
        digits = max(0, round(-log10(self.display.digit)))
        return f"{self.display.value:,.{digits}f} {self.unit}"

    def agrees(self, value_si: float) -> bool:
        """Within the display's last digit."""
        return abs(value_si - self.display.value * self.one_si) <= self.display.digit * self.one_si * (1 + 1e-6)


def known(options: argparse.Namespace, text: str) -> Known:
    """ "1234.5 L" as a volume, "62 L/min" as a rate, "1234 pulses" as a count, "12.00 mA" as a current."""
    from tally import units
    from tally.job.view.quantity import Kind
    from tally.meters.display import shown

    number, _, unit = text.strip().partition(" ")
    unit = unit.strip()
    try:
        display = shown(number)
    except ValueError as fault:
        raise CommandFault(f"--shows: {fault}") from fault
    if unit.casefold() in ("pulses", "pulse", "p"):
        return Known("pulses", display, "pulses", "total_m3", 1.0)
    if unit == "mA":
        return Known("current", display, "mA", "", 1e-3)
    for name, kind, quantity in (
        ("total", Kind.VOLUME, "total_m3"),
        ("rate", Kind.RATE, "rate_m3_s"),
        ("density", Kind.DENSITY, "density_kg_m3"),
        ("pressure", Kind.PRESSURE, "pressure_pa"),
        ("force", Kind.LOAD, "force_n"),
    ):
        try:
            return Known(name, display, unit, quantity, units.quantity(f"1 {unit}", kind, gallon=options.gallons))
        except units.UnitFault as fault:
            if "gallon" in fault.why:
                raise CommandFault(f"--shows: {text}: add --gallons US or imperial") from fault
    raise CommandFault(
        f'--shows: given {text.strip()!r}; accepted: the display\'s number and unit, such as "1234.5 L", "62 L/min", '
        '"7.2 bar", "1.88 kg/L", "12.00 mA" or "1234 pulses"'
    )


def compared(one: Known, reading: Reading) -> str:
    """The reading beside the display; the words of one that differs begin with "NOT"."""
    value = reading.value / one.one_si
    if one.agrees(reading.value):
        return f"it reads {value:,.6g} {one.unit}; the display shows {one.words}: the same within its last digit"
    ratio = f", {value / one.display.value:.4g} times as much" if value else ""
    return f"NOT the same: it reads {value:,.6g} {one.unit}{ratio}; the display shows {one.words}"


# --- Modbus ----------------------------------------------------------------------------------------------------------


def checked(options: argparse.Namespace, described: Wired | None) -> int:
    """Reads the device's registers and says which ways of reading them give what its display shows."""
    from tally.meters.probe import Probe
    from tally.meters.transport import PortFault

    one = known(options, options.shows)
    if described is not None and options.address is None:
        _of_plan(options, described, one)
    try:
        with Probe(options.port, options.baud, bits=options.bits, unit=options.unit_id, bank=options.bank) as probe:
            return _told(options, one, probe)
    except PortFault as fault:
        raise CommandFault(f"{fault}\n  which ports there are: tally meter ports") from fault


def _of_plan(options: argparse.Namespace, described: Wired, one: Known) -> None:
    """Takes the register from the plan's table, and whether that reads the display is judged by its own type."""
    register = next((each for each in described.registers if each.reads == one.name), None)
    if register is None:
        reads = ", ".join(each.reads for each in described.registers)
        raise CommandFault(f"--shows: {one.words} is a {one.name}, and the plan's registers read {reads}")
    options.address, options.unit_id, options.bank = register.address, register.unit, register.bank
    options.register = register


def _told(options: argparse.Namespace, one: Known, probe: Probe) -> int:
    answer = _asked(options, probe)
    if not answer.heard:
        return OPEN_YET
    if answer.words:
        print(_words_of(options, answer))
    if vars(options).get("register") is not None and _planned_reads(options, one, answer):
        return 0
    found = _ways(options, one, answer)
    if not found:
        found, answer = _beside(options, one, probe, answer)
    if len(found) > 1:
        found = _narrowed(options, one, probe, answer, found)
    if len(found) == 1:
        return _proposed(options, one, found[0])
    print(_several(found) if found else _none(one, answer) if answer.words else "Nothing to read there.")
    return OPEN_YET


def _planned_reads(options: argparse.Namespace, one: Known, answer: Answer) -> bool:
    """Whether the plan's own table reads what the display shows."""
    from tally.meters.display import words_of
    from tally.meters.register import number

    register = options.register
    count = words_of(register.type)
    if len(answer.words) < count:
        return False
    factor = 1.0 if one.name == "pulses" else register.factor / options.correction
    value = number(answer.words[:count], register.type, register.order) * factor
    said = f"the plan's {register.type}, order {register.order}, reads {value / one.one_si:,.10g} {one.unit}"
    if one.agrees(value):
        print(f"{said}: what the display shows")
        return True
    print(f"NOT the same: {said}; the display shows {one.words}")
    return False


def _asked(options: argparse.Namespace, probe: Probe) -> Answer:
    from tally.meters.modbus import QUESTION_BYTES, TCP_QUESTION_BYTES

    answer = probe.ask(options.address)
    if answer.packets:
        size = TCP_QUESTION_BYTES if options.port.lower().startswith("tcp://") else QUESTION_BYTES
        print(f"  asks     {answer.packets[:size].hex(' ')}")
        print(f"  answers  {answer.packets[size:].hex(' ') or '-'}")
    if answer.why:
        print(f"  register {options.address}: {answer.why}")
    return answer


def _words_of(options: argparse.Namespace, answer: Answer) -> str:
    if not answer.words:
        return ""
    last = answer.first + len(answer.words) - 1
    words = " ".join(f"{word:04X}" for word in answer.words)
    return f"  registers {answer.first} to {last} of unit {options.unit_id} ({options.bank})  {words}"


def _ways(options: argparse.Namespace, one: Known, answer: Answer) -> list[Way]:
    """Those that begin at the register that was asked for."""
    from tally.meters.display import ways
    from tally.meters.register import ORDERS, TYPES

    found = ways(
        answer.words,
        answer.first,
        one.display,
        signed=one.name in ("rate", "force", "pressure"),
        counts=one.name == "pulses",
        types=(options.type,) if options.type else tuple(TYPES),
        orders=(options.order,) if options.order else ORDERS,
    )
    return [way for way in found if way.address == answer.first]


def _beside(options: argparse.Namespace, one: Known, probe: Probe, answer: Answer) -> tuple[list[Way], Answer]:
    """The registers before and after: whoever counts from 1 is one too far."""
    for step in _NEAR:
        address = answer.first + step
        if not 0 <= address <= 65_535:
            continue
        other = probe.ask(address)
        if other.words and (found := _ways(options, one, other)):
            print(f"not from register {answer.first}, but from {address}: manuals count from 0 or from 1")
            return found, other
    return [], answer


def _narrowed(options: argparse.Namespace, one: Known, probe: Probe, answer: Answer, found: list[Way]) -> list[Way]:
    """What still reads the display after some flow, asked of whoever sits there."""
    from tally.meters.display import still

    while len(found) > 1:
        print(f"{len(found)} ways of reading give {one.words}:\n{_listed(found)}")
        print("Let some flow, stop, and type what the display shows then (Enter leaves it open): ", end="", flush=True)
        line = sys.stdin.readline().strip()
        if not sys.stdin.isatty():
            print()
        if not line:
            return found
        try:
            later = known(options, line if " " in line else f"{line} {one.unit}")
        except CommandFault as fault:
            print(fault)
            continue
        again = probe.ask(answer.first)
        if again.why:
            print(f"  {again.why}")
            continue
        print(_words_of(options, again))
        found, one = still(found, again.words, again.first, later.display), later
    return found


def _listed(found: Sequence[Way]) -> str:
    return "\n".join(f"  {number}  {_way(way)}" for number, way in enumerate(found, 1))


def _way(way: Way) -> str:
    twin = f" (as {way.twin} the same)" if way.twin else ""
    scale = f", one of it is {way.scale:g}" if way.scale != 1.0 else ""
    return f"{way.type}{twin}, order {way.order}, register {way.address}{scale}"


def _several(found: Sequence[Way]) -> str:
    return ("Which one? See the device's manual, or check again after more has flowed; then say it, such as "
            f"--type {found[0].type} --order {found[0].order}")  # fmt: skip


def _none(one: Known, answer: Answer) -> str:
    """What each type and order would read."""
    from tally.meters.display import readings

    told = [f"Nothing reads {one.words} from register {answer.first}. It would read:"]
    for kind, each in readings(answer.words):
        values = "  ".join(f"{order} {value:.8g}" for order, value in each)
        told.append(f"  {kind:<8} {values}")
    told.append("Another register, the other --bank, or a display of another value? Read it while nothing flows.")
    return "\n".join(told)


def _proposed(options: argparse.Namespace, one: Known, way: Way) -> int:
    from tally.cli.meter.wording import for_the_plan

    print(f"{_way(way)}, reads {one.words}: what the display shows, and nothing else does")
    said = vars(options) | {
        "address": way.address, "type": way.type, "order": way.order, "scale": way.scale, "source": "modbus",
    }  # fmt: skip
    print("\n" + for_the_plan(argparse.Namespace(**said), "", {one.name: one.unit}))
    return 0
