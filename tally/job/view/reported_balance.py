"""Do the counts add up? What came and where it went, and plain words where the two differ."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from tally.job import events as ev
from tally.job import fill as filling
from tally.job import grouting, lengths
from tally.job.line import NO_METER_TOLERANCE, meter_tolerance
from tally.job.state import Stage, State
from tally.job.view.entered import entered
from tally.job.view.quantity import Kind, Quantity, Sentence

SAME_M = 1e-6
SAME_M3 = 1e-6
"""The file keeps totals to the millilitre."""


@dataclass(frozen=True, slots=True)
class Part:
    label: str
    amount: Quantity


@dataclass(frozen=True, slots=True)
class Balance:
    """What came on one side, where it went on the other."""

    name: str
    came: tuple[Part, ...]
    went: tuple[Part, ...]
    wrong: Sentence | None
    """Why it does not hold; None where it does."""

    @property
    def holds(self) -> bool:
        return self.wrong is None


def balances(state: State) -> tuple[Balance, ...]:
    return tuple(_balances(state))


def imbalances(state: State) -> tuple[Sentence, ...]:
    """What does not add up, to be said on top."""
    found = [balance.wrong for balance in balances(state) if balance.wrong is not None]
    if state.flow.offered_m3 > SAME_M3:
        words = "{0} went through the meter unseen and nobody has said how much of it counts: it is counted as nothing"
        found.append(Sentence(words, (_volume(state.flow.offered_m3),)))
    gross_m, cut_m = lengths.length_of_m(state.plan, _joints_m(state)), state.string.cut_off_m
    if cut_m > gross_m + SAME_M:
        words = "{0} was cut off a string of {1}: a joint was voided that had been cut"
        found.append(Sentence(words, (Quantity(cut_m, Kind.LENGTH), Quantity(gross_m, Kind.LENGTH))))
    return tuple(found)


def _joints_m(state: State) -> list[float]:
    return [joint.length_m for joint in state.string.joints]


def _balances(state: State) -> Iterator[Balance]:
    yield _joints(state)
    yield _bags(state)
    yield _water(state)
    if state.plan.meter is not None or state.flow.metered_m3 > 0:
        yield _metered(state)
    if any(entered(state, ev.VolumeAdded)):
        yield _typed(state)
    if state.grout.batches and any(grouting.pumped_m3(stage, state.flow) > 0 for stage in state.grout.stages):
        yield _grout(state)


def _count(count: int) -> Quantity:
    return Quantity(float(count), Kind.COUNT)


def _volume(volume_m3: float) -> Quantity:
    return Quantity(volume_m3, Kind.VOLUME)


def _joints(state: State) -> Balance:
    string, rack = state.string, lengths.rack(state.plan, state.string)
    listed, unlisted = len(state.plan.casing.rack_m), rack.unlisted_m
    used = len(string.joints) + len(string.rejected_m)
    wrong = None
    if unlisted or listed != used + len(rack.lengths_m):
        places = ", ".join(f"{{{place}}}" for place in range(len(unlisted)))
        words = f"joints do not reconcile: no joint on the list matches {places}"
        wrong = Sentence(words, tuple(Quantity(length_m, Kind.LENGTH) for length_m in unlisted))
    elif missing := lengths.missing(state.plan, string):
        side = "fewer" if missing > 0 else "more"
        wrong = Sentence(f"{{0}} joints {side} than were delivered", (_count(abs(missing)),))
    return Balance(
        "Joints",
        (Part("on the list", _count(listed)),),
        (
            Part("in the hole", _count(len(string.joints))),
            Part("rejected", _count(len(string.rejected_m))),
            Part("left", _count(len(rack.lengths_m))),
        ),
        wrong,
    )


def _bags(state: State) -> Balance:
    mixed, left = sum(batch.bags for batch in state.grout.batches), grouting.bags_left(state)
    words = "{0} bags were mixed, {1} more than were aboard and delivered"
    return Balance(
        "Bags",
        (
            Part("aboard", _count(state.plan.aboard.bags)),
            Part("delivered", _count(state.grout.bags_delivered)),
        ),
        (Part("mixed", _count(mixed)), Part("left", _count(left))),
        Sentence(words, (_count(mixed), _count(-left))) if left < 0 else None,
    )


def _water(state: State) -> Balance:
    mixed_m3, left_m3 = sum(batch.water_m3 for batch in state.grout.batches), grouting.water_left_m3(state)
    words = "{0} of mixing water was used, {1} more than was aboard and delivered"
    return Balance(
        "Water",
        (
            Part("aboard", _volume(state.plan.aboard.water_m3)),
            Part("delivered", _volume(state.grout.water_delivered_m3)),
        ),
        (Part("mixed", _volume(mixed_m3)), Part("left (wash-up not taken off)", _volume(left_m3))),
        Sentence(words, (_volume(mixed_m3), _volume(-left_m3))) if left_m3 < -SAME_M3 else None,
    )


def _stage_metered_m3(state: State, stage: Stage) -> float:
    return grouting.pumped_m3(stage, state.flow) - stage.typed_m3


def _outside_m3(state: State) -> float:
    """Metered before, between and after the stages."""
    outside_m3, reached_m3 = 0.0, 0.0
    for stage in state.grout.stages:
        outside_m3 += max(stage.metered_at_start_m3 - reached_m3, 0.0)
        reached_m3 = state.flow.metered_m3 if stage.metered_at_end_m3 is None else stage.metered_at_end_m3
    return outside_m3 + max(state.flow.metered_m3 - reached_m3, 0.0)


def _metered(state: State) -> Balance:
    flow, stages = state.flow, state.grout.stages
    in_stages_m3, outside_m3 = [_stage_metered_m3(state, stage) for stage in stages], _outside_m3(state)
    over_m3 = sum(in_stages_m3) + outside_m3 - flow.metered_m3
    words = "the stages come to {0} by the meter, which counted {1}: a stage has no end before the next began"
    return Balance(
        "Metered",
        (
            Part("seen by the meter", _volume(flow.metered_m3 - flow.answered_m3)),
            Part("unseen, counted on the operator's word", _volume(flow.answered_m3)),
        ),
        (
            *(Part(f"in stage {place}", _volume(volume_m3)) for place, volume_m3 in enumerate(in_stages_m3, start=1)),
            Part("outside stages", _volume(outside_m3)),
        ),
        Sentence(words, (_volume(sum(in_stages_m3)), _volume(flow.metered_m3))) if abs(over_m3) > SAME_M3 else None,
    )


def _typed(state: State) -> Balance:
    entered_m3 = sum(typed.event.volume_m3 for typed in entered(state, ev.VolumeAdded))
    stages = state.grout.stages
    outside_m3 = entered_m3 - sum(stage.typed_m3 for stage in stages)
    words = "{0} was typed while no stage was under way: it is counted in none"
    return Balance(
        "Typed",
        (Part("pumped that no meter counted", _volume(entered_m3)),),
        (
            *(Part(f"in stage {place}", _volume(stage.typed_m3)) for place, stage in enumerate(stages, start=1)),
            Part("outside stages", _volume(outside_m3)),
        ),
        Sentence(words, (_volume(outside_m3),)) if outside_m3 > SAME_M3 else None,
    )


def _grout(state: State) -> Balance:
    """Two counts of one thing: batches by their recipe, pumped by meter or hand."""
    fills = [filling.fill(state, stage) for stage in state.grout.stages]
    mixed_m3 = sum(batch.volume_m3 for batch in state.grout.batches)
    pumped_m3, out_m3 = sum(fill.pumped_m3 for fill in fills), sum(fill.out_m3 for fill in fills)
    # what was pumped beyond what was mixed is the water that pushes grout down a casing, as far as it was planned
    pumped_m3 -= min(max(pumped_m3 - mixed_m3, 0.0), sum(fill.displacing_m3 for fill in fills))
    topped_up_m3 = sum(stage.topped_up_m3 for stage in state.grout.stages)
    tolerance = max(meter_tolerance(state.plan), NO_METER_TOLERANCE)
    words = "{0} was pumped and only {1} mixed: a batch was not entered, or water went through the meter"
    short = pumped_m3 > mixed_m3 * (1 + tolerance) + SAME_M3
    return Balance(
        "Grout",
        (Part("mixed, by recipe", _volume(mixed_m3)),),
        (
            Part("out of the line", _volume(out_m3)),
            Part("left in the line at the end of a stage", _volume(pumped_m3 - out_m3)),
            Part("topped up from above", _volume(topped_up_m3)),
            Part("mixed and not used", _volume(mixed_m3 - pumped_m3 - topped_up_m3)),
        ),
        Sentence(words, (_volume(pumped_m3), _volume(mixed_m3))) if short else None,
    )
