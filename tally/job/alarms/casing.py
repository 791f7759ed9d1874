"""Rules about the tally and the hook load."""

from __future__ import annotations

from tally.engineering import collapse
from tally.engineering.hook_load import ShoeState
from tally.job import lengths, loads, watching
from tally.job.alarms.condition import Condition, Rule
from tally.job.state import HookReading, State
from tally.job.strength import ratings
from tally.job.view.quantity import Kind


def _compared(state: State) -> HookReading | None:
    """The reading taken last, while the casing still hangs in water: after that it says nothing of the run."""
    readings = watching.hook_readings(state)
    hangs = state.string.landed_on is None and not state.grout.stages
    return readings[-1] if readings and hangs else None


def load_high(state: State) -> Condition | None:
    reading = _compared(state)
    if reading is None or reading.expected_n is None:
        return None
    limit_n = reading.expected_n + loads.band_n(state.plan, reading.expected_n)
    if reading.load_n <= limit_n:
        return None
    return Condition("load-high", reading.load_n, limit_n, Kind.LOAD, reading.number or None)


def load_low(state: State) -> Condition | None:
    reading = _compared(state)
    if reading is None or reading.expected_n is None:
        return None
    limit_n = reading.expected_n - loads.band_n(state.plan, reading.expected_n)
    if reading.load_n >= limit_n:
        return None
    return Condition("load-low", reading.load_n, limit_n, Kind.LOAD, reading.number or None)


def hoist_limit(state: State) -> Condition | None:
    """The next joint, as the longest left on the rack, would pass the lowest rated limit."""
    plan, string = state.plan, state.string
    if string.landed_on is not None:
        return None
    left = lengths.rack(plan, string).lengths_m
    if not left or lengths.at_depth(plan, string):
        return None
    load_n, (_, limit_n) = loads.next_joint_n(plan, string, max(left)), plan.limits.lowest
    return Condition("hoist-limit", load_n, limit_n, Kind.LOAD) if load_n > limit_n else None


def casing_floats(state: State) -> Condition | None:
    plan, string = state.plan, state.string
    if not string.joints or string.landed_on is not None or state.grout.stages:
        return None
    load_n = loads.expected_n(plan, string)
    if load_n is None or load_n >= plan.limits.hook_n:
        return None
    return Condition("casing-floats", load_n, plan.limits.hook_n, Kind.LOAD)


def casing_not_filled(state: State) -> Condition | None:
    """A closed end or a float that went down as dry as anybody knows, and more water outside than the wall may bear."""
    plan, string = state.plan, state.string
    if plan.casing.shoe_state is ShoeState.OPEN or not string.joints or state.grout.stages:
        return None
    shoe_m = max(lengths.shoe_depth_m(plan, string), 0.0)
    worst = collapse.largest_differential(
        outside=loads.water(loads.hole_fluid_m(plan, string), shoe_m),
        inside=loads.inside_column(plan, string, shoe_m),
        bottom_m=shoe_m,
    )
    allowed_pa = ratings(plan)[0].pressure_pa / plan.limits.collapse_factor
    if worst.pressure_pa <= allowed_pa:
        return None
    return Condition("casing-not-filled", worst.pressure_pa, allowed_pa, Kind.PRESSURE)


def rack_mismatch(state: State) -> Condition | None:
    unlisted = lengths.rack(state.plan, state.string).unlisted_m
    if not unlisted:
        return None
    last = state.string.joints[-1].number if state.string.joints else None
    return Condition("rack-mismatch", float(len(unlisted)), 0.0, Kind.COUNT, last)


def rack_count(state: State) -> Condition | None:
    """Joints delivered, less those in the hole, on the rack and rejected; either way round."""
    missing = lengths.missing(state.plan, state.string)
    return Condition("rack-count", float(abs(missing)), 0.0, Kind.COUNT) if missing else None


def shoe_below_hole(state: State) -> Condition | None:
    plan = state.plan
    shoe_m = lengths.shoe_depth_m(plan, state.string)
    if shoe_m <= plan.hole.bottom_m + lengths.SAME_JOINT_M:
        return None
    return Condition("shoe-below-hole", shoe_m, plan.hole.bottom_m, Kind.DEPTH)


RULES: tuple[Rule, ...] = (
    load_high,
    load_low,
    hoist_limit,
    casing_floats,
    casing_not_filled,
    rack_mismatch,
    rack_count,
    shoe_below_hole,
)
