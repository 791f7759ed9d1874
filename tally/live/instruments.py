"""The plan's instruments as instruments: the one place where what is planned meets what is plugged in."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from tally.job.plan import Plan
from tally.job.wired import GROUT, Instrument, MeterPlan, Wired
from tally.live.clock import Clock
from tally.meters.current import CurrentLoop
from tally.meters.dialect import LineDialect
from tally.meters.meter import Meter
from tally.meters.modbus import ModbusDialect
from tally.meters.modbus_port import is_tcp, modbus_opener
from tally.meters.register import Register
from tally.meters.source import Source
from tally.meters.transport import Port, open_port

RawHook = Callable[[str, float, bytes], None]
STALE_AFTER_S = 3.0


def grout_meter(plan: Plan, clock: Clock, on_raw: RawHook) -> Source | None:
    """The meter that counts the grout, not yet started; None where the plan names none."""
    if plan.meter is None:
        return None
    return instrument(GROUT, plan.meter, clock, on_raw, sharing(plan, plan.meter))


def sharing(plan: Plan, wired: Wired) -> tuple[Wired, ...]:
    """The plan's other instruments on the same port."""
    others = (plan.meter, *plan.instruments)
    return tuple(one for one in others if one is not None and one != wired and one.port == wired.port)


def instrument(channel: str, wired: Wired, clock: Clock, on_raw: RawHook, others: Sequence[Wired] = ()) -> Source:
    """An instrument of the plan, not yet started; its readings and bytes go by the name `channel`.

    `others` share its port, and may be put `beside` it.
    """
    return Meter(
        channel,
        wired.port,
        wired.baud,
        dialect(wired),
        others=[dialect(one) for one in others],
        clock=clock,
        on_raw=on_raw,
        opener=opener(wired, others),
        stale_after_s=stale_after_s(wired),
    )


def beside(first: Source | None, channel: str, wired: Wired, others: Sequence[Wired]) -> Source | None:
    """An instrument that hears the port of `first`; None where that is no meter on a port."""
    if not isinstance(first, Meter):
        return None
    dialects = [dialect(one) for one in others]
    return first.beside(channel, dialect(wired), others=dialects, stale_after_s=stale_after_s(wired))


def stale_after_s(wired: Wired) -> float:
    """A device that is asked rarely is not silent in between."""
    return max(STALE_AFTER_S, 2.5 * wired.every_s) if wired.registers else STALE_AFTER_S


def opener(wired: Wired, others: Sequence[Wired] = ()) -> Callable[[str, int], Port]:
    """What opens its port, given the port and the baud rate. On a bus all are asked in turn, at the pace of the one
    that is asked most often."""
    if not wired.registers:
        return partial(open_port, bits=wired.bits)
    asked = dict.fromkeys(register for one in (wired, *others) for register in _registers(one))
    return modbus_opener(tuple(asked), min(one.every_s for one in (wired, *others)), wired.bits)


def dialect(wired: Wired) -> LineDialect | ModbusDialect:
    """How the instrument's bytes are read. The plan file has tried the pattern already."""
    loop = None if wired.loop is None else CurrentLoop(wired.loop.quantity, wired.loop.at_4, wired.loop.at_20)
    volume = counts_volume(wired)
    if wired.registers:
        return ModbusDialect(_registers(wired), tcp=is_tcp(wired.port), loop=loop, integrates=volume)
    return LineDialect(wired.pattern, wired.factors, loop=loop, integrates=volume)


def counts_volume(wired: Wired) -> bool:
    """True where its rate, if it gives nothing else, is to be added up to a total."""
    measures = wired.measures if isinstance(wired, Instrument) else None
    return isinstance(wired, MeterPlan) or measures in ("grout in", "returns out")


def _registers(wired: Wired) -> tuple[Register, ...]:
    return tuple(
        Register(one.reads, one.address, one.factor, one.unit, one.bank, one.type, one.order) for one in wired.registers
    )
