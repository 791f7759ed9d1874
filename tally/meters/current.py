"""4 to 20 mA: what a current stands for, and where it says that the instrument or its wire has failed.

Limits by NAMUR NE 43: 3.8 to 20.5 mA measures, below 3.6 or above 21 mA reports a failure, and what lies between is
past the end of the range.
"""

import math
from dataclasses import dataclass

LOW_A, HIGH_A = 3.8e-3, 20.5e-3
FAILED_LOW_A, FAILED_HIGH_A = 3.6e-3, 21e-3
_ROUNDING_A = 1e-9


@dataclass(frozen=True, slots=True)
class CurrentLoop:
    """The range of one transmitter: the values of `quantity`, in its SI unit, at 4 and at 20 mA."""

    quantity: str
    at_4: float
    at_20: float

    def __post_init__(self) -> None:
        if not (math.isfinite(self.at_4) and math.isfinite(self.at_20)) or self.at_4 == self.at_20:
            raise ValueError(f"at 4 mA {self.at_4}, at 20 mA {self.at_20}: they must be two different numbers")

    def value(self, current_a: float) -> float | str:
        """What `current_a` [A] stands for, or in words why it stands for nothing."""
        shown = f"{current_a * 1000:.2f} mA"
        if not math.isfinite(current_a) or current_a < FAILED_LOW_A - _ROUNDING_A:
            return f"{shown}, below 3.6: a broken wire, no supply or a failed transmitter"
        if current_a > FAILED_HIGH_A + _ROUNDING_A:
            return f"{shown}, above 21: a short circuit or a failed transmitter"
        if current_a < LOW_A - _ROUNDING_A or current_a > HIGH_A + _ROUNDING_A:
            return f"{shown}, past the end of the range: the true value is not known"
        return self.at_4 + (current_a - 4e-3) / 16e-3 * (self.at_20 - self.at_4)
