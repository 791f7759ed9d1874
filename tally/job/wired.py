"""How the instruments are reached and what they say: the meter that counts, and the others beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from tally.job.model import MOST, Model, Positive, Share, Text

ValueName = Literal["total", "pulses", "rate", "density", "force", "pressure", "current"]
"""What a line or a register may hold; see `tally.meters.dialect`."""
Bank = Literal["holding", "input"]
"""Which of a Modbus device's two tables."""
Signed = Annotated[float, Field(ge=-MOST, le=MOST)]


class Register(Model):
    """One value of a Modbus device."""

    reads: ValueName
    address: Annotated[int, Field(ge=0, le=65_535)]
    """From 0: what a manual calls 40001 is 0."""
    unit: Annotated[int, Field(ge=1, le=247)] = 1
    bank: Bank = "holding"
    type: Literal["uint16", "int16", "uint32", "int32", "uint64", "int64", "float32", "float64"] = "float32"
    order: Literal["ABCD", "CDAB", "BADC", "DCBA"] = "ABCD"
    factor: Positive
    """SI value of one of what the register counts."""


class Loop(Model):
    """What 4 and 20 mA stand for, in SI."""

    quantity: Literal["rate_m3_s", "density_kg_m3", "force_n", "pressure_pa"]
    at_4: Signed
    at_20: Signed

    @model_validator(mode="after")
    def _has_a_range(self) -> Self:
        if self.at_4 == self.at_20:
            raise ValueError("4 and 20 mA stand for the same value")
        return self


class Wired(Model):
    """How an instrument is reached and what it says: lines by a pattern, or the registers of a Modbus device."""

    name: Text = ""
    port: Text
    baud: Annotated[int, Field(ge=300, le=4_000_000)] = 9_600
    bits: Annotated[str, Field(pattern=r"^[78][NEO][12]$")] = "8N1"
    """Data bits, parity, stop bits."""
    pattern: Text
    """Regular expression with named groups; see `tally.meters.dialect`. Empty for Modbus."""
    factors: dict[str, Positive]
    """SI value of one printed unit, for each named group."""
    registers: Annotated[tuple[Register, ...], Field(max_length=20)] = ()
    every_s: Positive = 1.0
    """How often the registers are asked for."""
    loop: Loop | None = None
    modulus_m3: Positive | None = None

    def port_differs(self, other: Wired) -> str:
        """Why `other` cannot share this one's port, which is opened once; "" where it can."""
        if bool(self.registers) != bool(other.registers):
            return "another kind of source: lines and Modbus cannot be on one wire"
        if (self.baud, self.bits) != (other.baud, other.bits):
            return f"{self.baud} baud and {self.bits}, not {other.baud} and {other.bits}"
        return ""

    @property
    def keeps_count(self) -> bool:
        """True where the instrument counts by itself, so that it tells afterwards what went by unheard."""
        return bool({"total", "pulses"} & {*self.factors, *(one.reads for one in self.registers)})


PLAIN = "plain"
"""In place of a pattern: lines in the dialect that needs none."""


@dataclass(frozen=True, slots=True)
class Wiring:
    """How a port is listened to before its instrument is known in full: `wired` once it is; until then a pattern whose
    units are open, or the registers from `address` on."""

    port: str
    baud: int = 9600
    bits: str = "8N1"
    modbus: bool = False
    wired: Wired | None = None
    pattern: str = ""
    unit: int = 1
    bank: Bank = "holding"
    address: int | None = None


GROUT = "grout"
"""The channel of the meter that counts, whatever it is called."""


class MeterPlan(Wired):
    """The meter that counts the grout."""

    channel: Literal["grout"] = "grout"
    tolerance_share: Share = 0.02
    step_m3: Positive | None = None
    """The most that its total grows at once, where it counts in coarse steps."""


Measured = Literal["grout in", "returns out", "hook load", "pressure", "density"]


class Instrument(Wired):
    """Any other instrument: a second source of volume, which checks the one that counts, or a gauge."""

    name: Annotated[str, Field(min_length=1, max_length=40)]
    """Its readings are recorded under it."""
    measures: Measured
