"""Entries of the list before the first batch, and the question that the first batch meets."""

from __future__ import annotations

from tally.job import checklist
from tally.job import events as ev
from tally.job import intents as want
from tally.job.decide.refusal import Deciders, Decision, Refusal
from tally.job.state import State
from tally.job.view.quantity import Kind, Quantity

FIELD = "checklist"
"""The field that a refusal of the first batch names: a screen shows the list."""


def unchecked(state: State, intent: want.Intent) -> Refusal | None:
    """The question that the first batch meets while the list is open."""
    if not isinstance(intent, want.MixBatch) or intent.sure:
        return None
    waiting = checklist.to_check(state)
    if not waiting:
        return None
    things = "thing waits" if len(waiting) == 1 else "things wait"
    return Refusal(FIELD, f"before the first batch, {len(waiting)} {things} to be looked at", "mix it all the same?")


def _confirm(state: State, intent: want.ConfirmCheck) -> Decision:
    if wrong := _no_item(state, intent.check):
        return wrong
    if intent.check == "stock" and not (found := checklist.stock(state)).covers:
        return Refusal(
            "check",
            f"{found.bags} bags and {{0}} of water aboard, {found.bags_high} bags and {{1}} needed at the high"
            " estimate: take more aboard, or say why it goes on",
            values=(Quantity(found.water_m3, Kind.VOLUME), Quantity(found.water_high_m3, Kind.VOLUME)),
        )
    return [ev.CheckConfirmed(check=intent.check)]


def _override(state: State, intent: want.OverrideCheck) -> Decision:
    if wrong := _no_item(state, intent.check):
        return wrong
    if not intent.reason.strip():
        return Refusal("reason", "say why it goes on without; the reason stands in the report")
    return [ev.CheckOverridden(check=intent.check, reason=intent.reason)]


def _no_item(state: State, check: str) -> Refusal | None:
    if check not in checklist.items(state.plan):
        return Refusal("check", f"{check} is none of the things to look at on this job")
    done = next((each for each in state.grout.checks if each.check == check), None)
    if done is not None and done.confirmed:
        return Refusal("check", "that is confirmed already; if it was wrong, void the entry in the log")
    return None


DECIDERS: Deciders = {want.ConfirmCheck: _confirm, want.OverrideCheck: _override}
