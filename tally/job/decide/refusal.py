"""A refusal: why nothing was recorded."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from tally.job import events as ev
from tally.job import intents as want
from tally.job.state import State
from tally.job.view.quantity import Kind, Quantity, Sentence


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why nothing was recorded, at which field.

    `reason` holds {0}, {1} … for `values`, so that it can be said in the reader's units. `ask` is a question whose yes
    (`sure=True`) has it recorded all the same.
    """

    field: str
    reason: str
    ask: str = ""
    values: tuple[Quantity, ...] = ()

    def words(self, write: Callable[[Quantity], str]) -> str:
        """The reason with its values as `write` puts them."""
        return Sentence(self.reason, self.values).written(write) if self.values else self.reason


Decision = list[ev.AnyEvent] | Refusal
Deciders = Mapping[type[want.Intent], Callable[[State, Any], Decision]]


def of(kind: Kind, *values: float) -> tuple[Quantity, ...]:
    """Values of one kind, for a refusal's words."""
    return tuple(Quantity(value, kind) for value in values)


def within(field: str, value: float, low: float, high: float, kind: Kind) -> Refusal | None:
    """A refusal where `value` is not from `low` to `high`."""
    if low <= value <= high:
        return None
    return Refusal(field, "given {0}; from {1} to {2} is accepted", values=of(kind, value, low, high))
