"""What one pulse stands for, asked plainly: "98.5 pulses/L" or "0.0102 L/pulse". A bare K is refused, since makers mean
either by it."""

import re

from tally import units
from tally.job.view.quantity import Kind
from tally.units import Gallon, UnitFault

ACCEPTED = 'pulses per volume, such as "98.5 pulses/L", or volume per pulse, such as "0.0102 L/pulse" or "10 mL/pulse"'
_NUMBER = r"(?P<number>[0-9]+\.?[0-9]*|\.[0-9]+)"
_PULSES = r"(?:pulses?|imp(?:ulses?)?)"
_PER_VOLUME = re.compile(rf"{_NUMBER}\s*{_PULSES}\s*(?:/|per)\s*(?P<unit>.+)", re.IGNORECASE)
_PER_PULSE = re.compile(rf"{_NUMBER}\s*(?P<unit>.+?)\s*(?:/|per)\s*{_PULSES}", re.IGNORECASE)


def m3_per_pulse(text: str, gallon: Gallon | None = None) -> float:
    """The volume of one pulse; raises `UnitFault`."""
    tidy = " ".join(text.split())
    for form, inverse in ((_PER_VOLUME, True), (_PER_PULSE, False)):
        match = form.fullmatch(tidy)
        if match is None:
            continue
        unit_m3 = units.quantity(f"1 {match['unit']}", Kind.VOLUME, gallon=gallon)
        number = float(match["number"])
        if number <= 0:
            raise UnitFault(tidy, ACCEPTED, "it must be more than zero")
        return unit_m3 / number if inverse else number * unit_m3
    raise UnitFault(tidy or "nothing", ACCEPTED, "it does not say whether pulses per volume or volume per pulse")
