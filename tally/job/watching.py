"""Every instrument beside the meter that counts: what it says, and how far its volume agrees with what counts."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from tally.job import events as ev
from tally.job import lengths, loads, metering
from tally.job.metering import Count, Sampled
from tally.job.plan import Plan
from tally.job.state import Flow, Gauges, HookReading, State, String, Watched
from tally.job.wired import Instrument

KEPT_EVERY_S = 30.0
"""A hook load that does not change is kept this often."""
MOST_LOADS = 600
FIRST_M3 = 0.005
"""Returns have begun once this much has come: less is what stood in the hose."""
HANGS_SHARE = 0.1
"""A hook that carries less of the casing than this carries none of it: the string stands in its clamp."""
FRESH_S = 10.0
"""A reading older than this says nothing of now."""
_GAUGED = ("force_n", "pressure_pa", "density_kg_m3")
_BREAKS = (ev.MeterChanged, ev.MeterRebased, ev.GapAnswered, ev.SessionResumed, ev.StageStarted, ev.StageEnded)


def watched(state: State, instrument: Instrument) -> Watched:
    """What is known of an instrument of the plan, by its name."""
    found = next((one for one in state.watched if one.name == instrument.name), None)
    return found or Watched(instrument.name)


class Watch:
    """All other instruments and gauges over any number of heartbeats."""

    def __init__(self, state: State) -> None:
        self._plan, self._string = state.plan, state.string
        self._grouting = bool(state.grout.stages)
        self._gauges = state.gauges
        self._watched = {one.name: watched(state, one) for one in state.plan.instruments}
        self._counts = {name: Count(one.flow, name) for name, one in self._watched.items()}
        stage = state.grout.stage
        self._typed_m3 = stage.typed_m3 - stage.metered_at_start_m3 if stage else 0.0

    @property
    def gauges(self) -> Gauges:
        return self._gauges

    @property
    def watched(self) -> tuple[Watched, ...]:
        return tuple(replace(one, flow=self._counts[name].flow) for name, one in self._watched.items())

    def beat(
        self, sampled: Iterable[Sampled], now_s: float, at: datetime, metered_m3: float, stage: int | None,
        stage_started_s: float,
    ) -> None:  # fmt: skip
        """One heartbeat that brought samples; `metered_m3` is what the meter that counts has come to."""
        for _, quantity, values in sampled:
            if quantity in _GAUGED and values:
                self._gauge(quantity, values[-1], now_s, at)
        for name, count in self._counts.items():
            count.beat(sampled, now_s, stage, stage_started_s)
            one = self._watched[name]
            if one.first_m3 is None and count.metered_m3 - one.from_m3 > FIRST_M3:
                self._watched[name] = replace(
                    one, first_m3=count.metered_m3, first_pumped_m3=metered_m3 + self._typed_m3
                )

    def _gauge(self, quantity: str, value: float, now_s: float, at: datetime) -> None:
        if quantity == "pressure_pa":
            self._gauges = replace(self._gauges, pressure_pa=value, pressure_s=now_s)
        elif quantity == "density_kg_m3":
            self._gauges = replace(self._gauges, density_kg_m3=value, density_s=now_s)
        else:
            self._gauges = replace(self._gauges, load_n=value, load_s=now_s)
            self._keep_load(value, now_s, at)

    def _keep_load(self, load_n: float, now_s: float, at: datetime) -> None:
        """Keeps a reading that tells something new: past the band from the last one, or after a while."""
        plan, string = self._plan, self._string
        expected_n = _expected_n(plan, string, self._grouting)
        if not _hangs(plan, load_n, expected_n):
            return
        kept, kept_s = self._gauges.loads, self._gauges.kept_s
        last = kept[-1] if kept else None
        if last is not None and kept_s is not None and now_s - kept_s < KEPT_EVERY_S:
            changed = abs(load_n - last.load_n) > loads.band_n(plan, last.load_n)
            if not changed:
                return
        reading = HookReading(0, load_n, "unknown", expected_n, lengths.shoe_depth_m(plan, string), at)
        self._gauges = replace(self._gauges, loads=(*kept, reading)[-MOST_LOADS:], kept_s=now_s)


def _expected_n(plan: Plan, string: String, grouting: bool) -> float | None:
    return loads.expected_n(plan, string) if string.landed_on is None and not grouting else None


def _hangs(plan: Plan, load_n: float, expected_n: float | None) -> bool:
    hook_n = plan.limits.hook_n
    if load_n < 0.0:
        return False
    if expected_n is None:
        return load_n > hook_n
    return load_n > hook_n + max(HANGS_SHARE * (expected_n - hook_n), 0.0)


def after_event(state: State, event: ev.AnyEvent, now_s: float) -> State:
    """`state` with what an event about an instrument, or one that breaks a comparison, does to the watched ones."""
    if not state.plan.instruments or not isinstance(event, _BREAKS):
        return state
    own = event.channel if isinstance(event, ev.MeterChanged | ev.MeterRebased) else None
    pumped_m3 = _pumped_m3(state)
    found: list[Watched] = []
    for instrument in state.plan.instruments:
        one = watched(state, instrument)
        if own == one.name:
            one = replace(one, flow=_flow_after(one.flow, event, now_s))
        elif isinstance(event, ev.SessionResumed):
            one = replace(one, flow=metering.after_restart(one.flow))
        if own in (None, "grout", one.name) and not _goes_on(event):
            one = replace(
                one, from_m3=one.flow.metered_m3, from_pumped_m3=pumped_m3, first_m3=None, first_pumped_m3=None
            )
        if isinstance(event, ev.StageStarted):
            one = replace(one, stage_m3=one.flow.metered_m3)
        found.append(one)
    return replace(state, watched=tuple(found))


def _goes_on(event: ev.AnyEvent) -> bool:
    """A change that breaks no comparison: an instrument still heard, of which something else is said."""
    return isinstance(event, ev.MeterChanged) and bool(event.doubt) and event.condition == "LIVE"


def _flow_after(flow: Flow, event: ev.AnyEvent, now_s: float) -> Flow:
    if isinstance(event, ev.MeterChanged):
        return metering.after_change(flow, event, now_s)
    if isinstance(event, ev.MeterRebased):
        return metering.after_rebase(flow, event, now_s)
    return flow


def _pumped_m3(state: State) -> float:
    """Pumped in the stage under way, typed volumes included, as `Watch` works it out."""
    stage = state.grout.stage
    return state.flow.metered_m3 + (stage.typed_m3 - stage.metered_at_start_m3 if stage else 0.0)


def apart_m3(state: State, one: Watched) -> tuple[float, float]:
    """(what counts, what the instrument says) since both were last heard without a break [m3]."""
    return _pumped_m3(state) - one.from_pumped_m3, one.flow.metered_m3 - one.from_m3


def returned_m3(state: State, one: Watched) -> tuple[float, float] | None:
    """(in, out) since returns began [m3]; None before."""
    if one.first_m3 is None or one.first_pumped_m3 is None:
        return None
    return _pumped_m3(state) - one.first_pumped_m3, one.flow.metered_m3 - one.first_m3


def returns_heard(state: State) -> Flow | None:
    """The instrument by which returns were seen to flow in the stage under way; None where none saw any."""
    if state.grout.stage is None:
        return None
    for instrument in state.plan.instruments:
        one = watched(state, instrument)
        if instrument.measures == "returns out" and one.flow.metered_m3 - one.stage_m3 > FIRST_M3:
            return one.flow
    return None


def surface_density(state: State) -> tuple[float, int | None] | None:
    """Density of grout at the surface [kg/m3]: by an instrument now, else as weighed last, with the entry of that."""
    stage, gauges = state.grout.stage, state.gauges
    if stage is None:
        return None
    seen = next((look for look in reversed(stage.returns) if look.fluid == "grout" and look.strength != "none"), None)
    if seen is None:
        return None
    fresh = gauges.density_s is not None and state.elapsed_s - gauges.density_s <= FRESH_S
    if fresh and gauges.density_kg_m3 is not None and stage.returns[-1] is seen:
        return gauges.density_kg_m3, None
    return None if seen.density_kg_m3 is None else (seen.density_kg_m3, seen.number)


def hook_readings(state: State) -> tuple[HookReading, ...]:
    """All readings of the hook load, typed and from an instrument, in the order in which they were taken."""
    if not state.gauges.loads:
        return state.string.hook_readings
    return tuple(sorted((*state.string.hook_readings, *state.gauges.loads), key=lambda reading: reading.at))
