"""A bucket test's result entered into a session that nobody records at the moment."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tally.cli.fault import CommandFault
from tally.cli.meter import wiring

if TYPE_CHECKING:
    from tally.cli.meter.verdict import Result
    from tally.job.intents import Intent
    from tally.job.plan import Plan
    from tally.job.wired import Wired


def entered(path: Path, found: Result) -> str:
    """What came of it, in words. An accepted result amends the plan; a refused one is a note."""
    from tally.cli.meter.verdict import summary
    from tally.live.clock import SystemClock
    from tally.live.loading import open_session
    from tally.live.session import NotSaved, Saved, Session
    from tally.record.fault import RecordFault

    try:
        if open_session(path).state.closed:
            return f"not entered: {path} is signed off; what is found later belongs into a note of the next session"
        session = Session.resumed(path, SystemClock(), lambda plan, clock, on_raw: None)
    except RecordFault as fault:
        return (f"not entered: {fault}\n  in the running recorder press n and type: {summary(found)}\n"
                "  the lines above go into the plan of the next session")  # fmt: skip
    try:
        outcome = session.enter(_intent(session.snapshot.state.plan, found))
    finally:
        session.close()
    if isinstance(outcome, Saved):
        what = "the plan now has it" if found.accepted and _fits(session.snapshot.state.plan, found) else "as a note"
        return f"entered into {path} as entry {outcome.numbers[-1]}: {what}"
    if isinstance(outcome, NotSaved):
        raise CommandFault(f"not entered: {outcome.why}")
    return f"not entered: {outcome.reason}"


def _intent(plan: Plan, found: Result) -> Intent:
    from tally.cli.meter.verdict import summary
    from tally.job import intents as want
    from tally.job.calibration import corrected

    meter = plan.meter
    if not found.accepted or meter is None or not _fits(plan, found):
        return want.WriteNote(summary(found))
    factors, registers, loop = meter.factors, meter.registers, meter.loop
    if found.pulses:
        one_m3 = 1.0 / found.test.mean
        factors = {**factors, "pulses": one_m3} if "pulses" in factors else factors
        registers = tuple(
            one.model_copy(update={"factor": one_m3}) if one.reads == "pulses" else one for one in registers
        )
    elif found.tested is not None:
        # from the units of what was read, not from the plan's factors, which may hold an older correction
        right = corrected(found.tested.meter, found.correction)
        factors, registers, loop = right.factors, right.registers, right.loop
    update = {"factors": factors, "registers": registers, "loop": loop}
    meter = meter.model_copy(update=update | {"tolerance_share": min(found.tolerance, 0.99)})
    return want.AmendPlan(plan.model_copy(update={"meter": meter}), summary(found))


def _fits(plan: Plan, found: Result) -> bool:
    """Whether the result says what the session's meter is: K for a counter, a correction for what was read the same."""
    if plan.meter is None:
        return False
    if found.pulses:
        return "pulses" in wiring.factors(plan.meter)
    return found.tested is not None and _how(found.tested.meter) == _how(plan.meter)


def _how(meter: Wired) -> tuple[object, ...]:
    """How it is read, apart from what one of it stands for."""
    places = tuple((one.reads, one.unit, one.bank, one.address, one.type, one.order) for one in meter.registers)
    return meter.pattern, places, meter.loop and meter.loop.quantity
