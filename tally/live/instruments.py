"""The plan's instruments as instruments: the one place where what is planned meets what is plugged in."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from tally.job.plan import Plan
from tally.job.wired import Instrument, MeterPlan, Wired
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


def grout_meter(plan: Plan, clock: Clock, on_raw: RawHook) -> Source | None:
    """The meter that counts the grout, not yet started; None where the plan names none."""
    return None if plan.meter is None else instrument("grout", plan.meter, clock, on_raw)


def instrument(channel: str, wired: Wired, clock: Clock, on_raw: RawHook) -> Source:
    """An instrument of the plan, not yet started; its readings and bytes go by the name `channel`."""
    # A device that is asked rarely is not silent in between.
    stale_after_s = max(3.0, 2.5 * wired.every_s) if wired.registers else 3.0
    return Meter(
        channel,
        wired.port,
        wired.baud,
        dialect(wired),
        clock=clock,
        on_raw=on_raw,
        opener=opener(wired),
        stale_after_s=stale_after_s,
    )


def opener(wired: Wired) -> Callable[[str, int], Port]:
    """What opens its port, given the port and the baud rate."""
    if wired.registers:
        return modbus_opener(_registers(wired), wired.every_s, wired.bits)
    return partial(open_port, bits=wired.bits)


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
