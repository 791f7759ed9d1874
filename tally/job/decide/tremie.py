"""Entries about the tremie: where its end hangs, and sections pulled."""

from __future__ import annotations

import math

from tally.job import events as ev
from tally.job import fill as filling
from tally.job import intents as want
from tally.job import lengths
from tally.job.decide.refusal import Deciders, Decision, Refusal, of, within
from tally.job.state import Stage, State
from tally.job.view.quantity import Kind


def _set_tremie(state: State, intent: want.SetTremie) -> Decision:
    tremie = state.plan.tremie
    if tremie is None:
        return Refusal("tremie", "the plan has no tremie")
    deepest_m = min(tremie.length_m, state.plan.hole.bottom_m)
    tip_m = lengths.from_ground_m(state.plan, intent.tip_m)
    return within("tremie", tip_m, 0.0, deepest_m, Kind.DEPTH) or [ev.TremieSet(tip_m=tip_m, typed=intent.typed)]


def _pull_tremie(state: State, intent: want.PullTremie) -> Decision:
    tremie, tip_m = state.plan.tremie, state.grout.tremie_tip_m
    if tremie is None or tip_m is None:
        return Refusal("tremie", "no tremie hangs in the hole; set its depth first")
    most = math.ceil(tip_m / tremie.section_m - 1e-9)
    if not 1 <= intent.sections <= most:
        return Refusal("sections", f"given {intent.sections}; from 1 to {most} hang in the hole")
    stage = state.grout.stage
    if stage is not None and not intent.sure:
        end_m = max(tip_m - intent.sections * tremie.section_m, 0.0)
        if short := _short_of_cover(state, stage, end_m, tremie.minimum_cover_m):
            return short
    return [ev.TremiePulled(sections=intent.sections)]


def _short_of_cover(state: State, stage: Stage, end_m: float, least_m: float) -> Refusal | None:
    """The question where the end, pulled up to `end_m`, would not be as deep in the grout as it should."""
    fill = filling.fill(state, stage)
    cover_m = end_m - fill.top.low_m
    if cover_m >= least_m:
        return None
    if fill.out_m3 <= 0.0:
        words, depth_m = "no grout is out yet: the end would hang {0} above the stage's bottom", -cover_m
    elif cover_m < 0.0:
        words, depth_m = "the end would hang {0} above the grout at its lowest top (worst case)", -cover_m
    else:
        words, depth_m = "the end would have {0} of grout over it at the lowest top (worst case)", cover_m
    return Refusal(
        "sections",
        f"{words}; at least {{1}} over it is asked for",
        "pull it all the same? Enter again records it",
        of(Kind.LENGTH, depth_m, least_m),
    )


DECIDERS: Deciders = {want.SetTremie: _set_tremie, want.PullTremie: _pull_tremie}
