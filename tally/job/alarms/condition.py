"""Something that is wrong now."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tally.job.fill import Fill
from tally.job.state import Stage, State
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


Rule = Callable[[State], Condition | None]
"""What is wrong, or nothing."""
StageRule = Callable[[State, Stage, Fill], Condition | None]
"""The same of the stage under way and its fill; where there is none, nobody asks."""
