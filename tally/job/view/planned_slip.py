"""What in a plan is possible, and more likely a slip in typing: said, never refused."""

from __future__ import annotations

from collections.abc import Iterator

from tally.job.plan import Plan
from tally.job.view.quantity import Kind, Quantity, Sentence


def shoe_slips(plan: Plan) -> Iterator[Sentence]:
    """A shoe is a short piece: held against the longest joint that it stands under."""
    casing = plan.casing
    longest_m = max(casing.rack_m)
    joint_kg = longest_m * casing.mass_kg_m
    length, mass = Quantity(casing.shoe_length_m, Kind.LENGTH), Quantity(casing.shoe_mass_kg, Kind.MASS)
    if casing.shoe_length_m > longest_m:
        words = "the shoe is {0} long, longer than the longest joint, {1}: see that number and unit are right"
        yield Sentence(words, (length, Quantity(longest_m, Kind.LENGTH)))
    if casing.shoe_mass_kg > joint_kg:
        words = "the shoe weighs {0}, more than the longest joint, {1}: see that number and unit are right"
        yield Sentence(words, (mass, Quantity(joint_kg, Kind.MASS)))
    if casing.shoe_length_m and not casing.shoe_mass_kg:
        words = "the shoe is {0} long and weighs nothing, so the hook loads leave it out: give shoe_mass"
        yield Sentence(words, (length,))
