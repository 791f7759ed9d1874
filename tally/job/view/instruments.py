"""Every instrument beside the meter that counts: what it says now, and how it is."""

from __future__ import annotations

from dataclasses import dataclass

from tally.job import watching
from tally.job.state import Flow, State
from tally.job.view.quantity import Kind, Quantity
from tally.job.wired import Measured


@dataclass(frozen=True, slots=True)
class InstrumentRow:
    name: str
    measures: Measured
    value: Quantity
    """What it measures: a volume in the stage, or the last reading while it is heard."""
    trouble: str
    """How it is, in words, where it is not simply heard."""


def instruments(state: State) -> tuple[InstrumentRow, ...]:
    gauges = state.gauges
    last = {
        "hook load": Quantity(gauges.load_n, Kind.LOAD),
        "pressure": Quantity(gauges.pressure_pa, Kind.PRESSURE),
        "density": Quantity(gauges.density_kg_m3, Kind.DENSITY),
    }
    rows: list[InstrumentRow] = []
    for instrument in state.plan.instruments:
        one = watching.watched(state, instrument)
        said = trouble(one.flow)
        if instrument.measures in last:
            value = last[instrument.measures]
            value = value if one.flow.condition == "LIVE" else Quantity(None, value.kind)
        else:
            value = Quantity(one.flow.metered_m3 - one.stage_m3 if one.flow.last_data_s else None, Kind.VOLUME)
        rows.append(InstrumentRow(instrument.name, instrument.measures, value, said))
    return tuple(rows)


def trouble(flow: Flow) -> str:
    """What is wrong with an instrument, in words; empty while it is heard and believed."""
    if flow.condition != "LIVE":
        return f"{flow.condition.lower()}, {flow.why}" if flow.why else flow.condition.lower()
    return flow.why if flow.doubt else ""
