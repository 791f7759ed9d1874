"""How lines are read that nobody has described: by the plain dialect, or by a pattern that takes them."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tally.cli.meter import wiring

if TYPE_CHECKING:
    from tally.job.wired import Wired


@dataclass(frozen=True, slots=True)
class Choice:
    """A pattern (none for the plain dialect) with its units; of those in `open` nobody has said unit, K or range."""

    pattern: str
    units: dict[str, str]
    open: tuple[str, ...] = ()
    takes: int = 0
    of: int = 0

    def meter(self, options: argparse.Namespace) -> Wired:
        return wiring.meter(options, self.pattern, self.units)


def choice(options: argparse.Namespace, lines: Sequence[str]) -> Choice | None:
    """What takes most of the lines; None where they hold nothing to be read."""
    from tally.meters import proposal

    if proposal.is_plain(lines):
        return Choice("", {}, takes=len(lines), of=len(lines))
    best = next(iter(proposal.proposals(lines)), None)
    if best is None or not best.takes:
        return None
    units = best.units | wiring.named_units(options.units)
    unsaid = [name for name, unit in units.items() if _unsaid(options, name, unit)]
    return Choice(best.pattern, units, tuple(unsaid), best.takes, best.of)


def _unsaid(options: argparse.Namespace, name: str, unit: str) -> bool:
    from tally.meters import proposal

    if name == "pulses":
        return not (options.k_factor or options.stroke_volume)
    if name == "current":
        return not (options.at_4 and options.at_20)
    return unit == proposal.OPEN or (unit in proposal.GALLONS and not options.gallons)
