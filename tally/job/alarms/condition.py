"""Something that is wrong now."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tally.job.fill import Fill
from tally.job.state import State
from tally.job.view.quantity import Kind


@dataclass(frozen=True, slots=True)
class Condition:
    """Something that is wrong now: `value` is past `limit`, both in SI of kind `measure`."""

    alarm: str
    value: float
    limit: float
    measure: Kind
    entry: int | None = None
    other: float | None = None
    """A second value, where it stands against one."""


Rule = Callable[[State, Fill | None], Condition | None]
"""(state, fill of the stage under way) -> what is wrong, or nothing."""
