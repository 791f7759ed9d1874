"""A day with instruments beside the meter that counts."""

from typing import Any

from tally.job import events as ev
from tests.scenario import Day, plan

RETURNS = {"name": "returns", "measures": "returns out", "port": "b", "pattern": "", "factors": {"total": 0.001}}
CHECK = {"name": "check", "measures": "grout in", "port": "c", "pattern": "", "factors": {"total": 0.001}}
HOOK = {"name": "hook", "measures": "hook load", "port": "d", "pattern": "", "factors": {"force": 1.0}}
GAUGE = {"name": "gauge", "measures": "pressure", "port": "e", "pattern": "", "factors": {"pressure": 1.0}}
BALANCE = {"name": "balance", "measures": "density", "port": "f", "pattern": "", "factors": {"density": 1.0}}


def day(*instruments: dict[str, Any], landed: bool = True, **changes: Any) -> Day:
    """With `landed`, a stage is under way and every volume has shown its total once."""
    found = Day(plan(instruments=list(instruments), **changes), alarms=True)
    if landed:
        found.joints()
        found.landed()
        found.metered()
        found.stage()
        for one in instruments:
            found.record(ev.MeterChanged(channel=one["name"], condition="LIVE"))
    return found


def said(channel: str, quantity: str, *values: float) -> ev.Samples:
    return ev.Samples.model_validate(
        {"channel": channel, "quantity": quantity, "before_s": (0.0,) * len(values), "values": values}
    )


def beat(day_: Day, *samples: ev.Samples, after_s: float = 1.0) -> None:
    """A second passes, in which instruments say `samples`."""
    day_.tick(after_s)
    day_.record(ev.Heartbeat(samples=samples))


def volumes(day_: Day, grout_l: float, **others_l: float) -> None:
    """A second in which the meter shows `grout_l` and the others their totals."""
    shown = [said("grout", "total_m3", grout_l / 1000)]
    shown += [said(name, "total_m3", litres / 1000) for name, litres in others_l.items()]
    beat(day_, *shown)
