"""How much a totaliser has counted: never a negative volume, and never a doubtful one without saying so."""

import math
from dataclasses import dataclass, replace
from typing import Literal

Kind = Literal["normal", "reset", "rollover", "jump", "backward"]


@dataclass(frozen=True, slots=True)
class Step:
    """From one total to the next: what counts, and what may have flowed but is for a person to confirm.

    A `reset` leaves in doubt what the total shows since zero, a `jump` the whole move, a `backward` the fall.
    """

    increment_m3: float
    kind: Kind
    doubtful_m3: float = 0.0


def step(last_total_m3: float, new_total_m3: float, *, modulus_m3: float | None, jump_limit_m3: float) -> Step:
    """What a totaliser's move means.

    `jump_limit_m3` is the most that can have flowed since the last total: the pump's limit times the time between.
    A fall is a rollover if the modulus explains it by no more than that; a small fall that ends nearer to the
    last total than to zero is backward; any other fall is a reset. A rise past the limit is a jump.
    """
    _check(last_total_m3, new_total_m3, modulus_m3, jump_limit_m3)
    move_m3 = new_total_m3 - last_total_m3
    if move_m3 >= 0:
        return _rise(move_m3, modulus_m3, jump_limit_m3)
    if modulus_m3 is not None and 0 <= (through_zero_m3 := move_m3 + modulus_m3) <= jump_limit_m3:
        return Step(through_zero_m3, "rollover")
    if -move_m3 <= jump_limit_m3 and new_total_m3 > -move_m3:
        return Step(0.0, "backward", -move_m3)
    return Step(0.0, "reset", max(0.0, new_total_m3))


def _rise(move_m3: float, modulus_m3: float | None, jump_limit_m3: float) -> Step:
    if move_m3 <= jump_limit_m3:
        return Step(move_m3, "normal")
    if modulus_m3 is not None and 0 <= modulus_m3 - move_m3 <= jump_limit_m3:
        return Step(0.0, "backward", modulus_m3 - move_m3)  # backward through zero
    return Step(0.0, "jump", move_m3)


@dataclass(frozen=True, slots=True)
class Counter:
    """A totaliser followed over time; frozen, so that it can be kept and taken up again.

    Two things that a single step cannot see: a count that shivers backward and forward is counted once, and one bad
    line in between (a lost digit) costs nothing, since the total comes back to where it was.
    """

    modulus_m3: float | None = None
    last_m3: float | None = None
    owed_m3: float = 0.0  # what went backward and has not come back yet
    before_break_m3: float | None = None  # the total before a reset or a jump, until the next total confirms that

    def take(self, total_m3: float, *, jump_limit_m3: float) -> tuple["Counter", Step]:
        """The counter after `total_m3`, and what that total adds. The first total of all only sets the start."""
        if self.last_m3 is None:
            _check(total_m3, total_m3, self.modulus_m3, jump_limit_m3)
            return replace(self, last_m3=total_m3), Step(0.0, "normal")
        found = self._step(self.last_m3, total_m3, jump_limit_m3)
        if self.before_break_m3 is not None:
            resumed = self._step(self.before_break_m3, total_m3, jump_limit_m3)
            if found.kind not in ("normal", "rollover") and resumed.kind in ("normal", "rollover"):
                return replace(self, last_m3=total_m3, owed_m3=0.0, before_break_m3=None), resumed
        after = replace(self, last_m3=total_m3, before_break_m3=None)
        if found.kind == "backward":
            # past the limit it is no shiver but a meter that runs the other way: later volume must count again
            return replace(after, owed_m3=min(self.owed_m3 + found.doubtful_m3, jump_limit_m3)), found
        if found.kind in ("reset", "jump"):
            return replace(after, owed_m3=0.0, before_break_m3=self.last_m3), found
        repaid_m3 = min(self.owed_m3, found.increment_m3)
        counted = replace(found, increment_m3=found.increment_m3 - repaid_m3)
        return replace(after, owed_m3=self.owed_m3 - repaid_m3), counted

    def _step(self, last_m3: float, total_m3: float, jump_limit_m3: float) -> Step:
        return step(last_m3, total_m3, modulus_m3=self.modulus_m3, jump_limit_m3=jump_limit_m3)


def _check(last_m3: float, new_m3: float, modulus_m3: float | None, jump_limit_m3: float) -> None:
    for name, value in (("last_total_m3", last_m3), ("new_total_m3", new_m3), ("jump_limit_m3", jump_limit_m3)):
        if not math.isfinite(value):
            raise ValueError(f"{name} is {value}; it must be finite")
    if jump_limit_m3 < 0:
        raise ValueError(f"jump_limit_m3 is {jump_limit_m3}; it must not be negative")
    if modulus_m3 is not None and not (math.isfinite(modulus_m3) and modulus_m3 > 0):
        raise ValueError(f"modulus_m3 is {modulus_m3}; it must be finite and above zero")
