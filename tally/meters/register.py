"""What the registers of a Modbus device hold: words of sixteen bits to a number, in whichever order they come.

ABCD is the order of the standard, the most significant byte first. Makers differ, and so do their manuals: the order is
a setting, to be held against a reading that is known (`orders_that_read`).
"""

import math
import struct
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Order = Literal["ABCD", "CDAB", "BADC", "DCBA"]
Type = Literal["uint16", "int16", "uint32", "int32", "uint64", "int64", "float32", "float64"]
Bank = Literal["holding", "input"]

ORDERS: tuple[Order, ...] = ("ABCD", "CDAB", "BADC", "DCBA")
TYPES: dict[Type, str] = {
    "uint16": ">H", "int16": ">h", "uint32": ">I", "int32": ">i",
    "uint64": ">Q", "int64": ">q", "float32": ">f", "float64": ">d",
}  # fmt: skip
FUNCTIONS: dict[Bank, int] = {"holding": 3, "input": 4}
NEAR = 0.01


class RegisterFault(ValueError):
    """A register is described wrongly; the text says what was given and what is accepted."""


@dataclass(frozen=True, slots=True)
class Register:
    """One value of a device. `name` is total, pulses, rate, density, force, pressure or current; `factor` turns the
    number into SI. `address` counts from 0: what a manual calls 40001 is 0 of the holding registers."""

    name: str
    address: int
    factor: float
    unit: int = 1
    bank: Bank = "holding"
    type: Type = "float32"
    order: Order = "ABCD"

    def __post_init__(self) -> None:
        if self.type not in TYPES or self.order not in ORDERS or self.bank not in FUNCTIONS:
            raise RegisterFault(
                f"{self.bank} {self.type} {self.order}; accepted are {', '.join(FUNCTIONS)}, {', '.join(TYPES)},"
                f" {', '.join(ORDERS)}"
            )
        if not 0 <= self.address <= 65536 - self.count:
            raise RegisterFault(f"register address {self.address}; accepted is 0 to {65536 - self.count}")
        if not 1 <= self.unit <= 247:
            raise RegisterFault(f"unit id {self.unit}; accepted is 1 to 247")
        if not (math.isfinite(self.factor) and self.factor > 0):
            raise RegisterFault(f"the factor for {self.name} is {self.factor}; it must be a number above zero")

    @property
    def count(self) -> int:
        """Registers that it takes."""
        return struct.calcsize(TYPES[self.type]) // 2

    @property
    def function(self) -> int:
        return FUNCTIONS[self.bank]


def number(words: Sequence[int], type: Type, order: Order) -> float:
    """The number that `words` hold, in the order in which the device sent them; not finite where they hold none."""
    data = struct.pack(f">{len(words)}H", *words)
    if order in ("BADC", "DCBA"):
        data = b"".join(data[at + 1 : at + 2] + data[at : at + 1] for at in range(0, len(data), 2))
    if order in ("CDAB", "DCBA"):
        data = b"".join(data[at : at + 2] for at in range(len(data) - 2, -1, -2))
    return float(struct.unpack(TYPES[type], data)[0])


def orders_that_read(
    words: Sequence[int], type: Type, known: float, *, scale: float = 1.0, within: float | None = None
) -> list[Order]:
    """The orders in which `words` read as `known`, for a device whose display shows a number: within `within`, or
    where that is not said within a hundredth."""
    near = max(abs(known) * NEAR, 1e-9) if within is None else within
    found: list[Order] = []
    for order in ORDERS:
        value = number(words, type, order) * scale
        if math.isfinite(value) and abs(value - known) <= near:
            found.append(order)
    return found
