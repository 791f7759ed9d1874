"""Every number that the handbook takes: not a number, infinite and absurd input is refused by name, value and limit."""

import inspect
import math
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from tally.engineering.bucket import BucketTest
from tally.engineering.circuit import Passage
from tally.engineering.hole import PipeSpan, Profile, Segment, Walls
from tally.engineering.hook_load import FluidLayer, ShoeState, StringStep
from tally.engineering.placement import Factor, Uptake, Zone
from tests.engineering.test_docstrings import FUNCTIONS

PROFILE = Profile.compile([Segment(0, 60, 0.3, 0.28)], pipes=[PipeSpan(0, 60, 0.17)])
WALLS = Walls([Segment(0, 60, 0.3, 0.28)])
UPTAKE = Uptake(PROFILE, bottom_m=50, factor=Factor(1.15, 0.15), zones=[Zone(20, 25, 0.5)])
LAYERS = [FluidLayer(20, 60, 1000.0)]

# One good value for each parameter name, from which each test spoils one.
GOOD: dict[str, Any] = {
    "profile": PROFILE,
    "pipes": [PipeSpan(0, 60, 0.17)],
    "profile_without": PROFILE,
    "factor": Factor(1.15, 0.15),
    "prior": Factor(1.15, 0.15),
    "measured": Factor(1.3, 0.1),
    "layers": LAYERS,
    "passage": Passage("tremie", 0.05, 40.0),
    "passages": [Passage("tremie", 0.05, 40.0), Passage("annulus", 0.3, 40.0, 0.17)],
    "outside": LAYERS,
    "inside": LAYERS,
    "solids": [],
    "counted": [1973.0, 1981.0],
    "true_m3": [0.02, 0.02],
    "test": BucketTest((98_650.0, 99_050.0)),
    "bucket_error": 0.005,
    "probability": 0.975,
    "freedom": 2,
    "steps": [StringStep(0.02, 0.03, 1e5, 2e5)],
    "shoe": ShoeState.CLOSED,
    "basis": "cement",
    "form": "a",
    "line_starts": "empty",
    "project": True,
    "zones": (Zone(20, 25, 0.5),),
    "taken": lambda deviate: math.exp(deviate),
    "ground_drinks": True,
    "outer_diameter_m": 0.3,
    "inner_diameter_m": 0.17,
    "bore_m": 0.15,
    "wall_m": 0.01,
    "minimum_wall_m": 0.01,
    "diameter_m": 0.05,
    "sdr": 21.0,
    "yield_pa": 3.8e8,
    "modulus_pa": 2.7e9,
    "poisson": 0.38,
    "temperature_c": 40.0,
    "wall_tolerance": 0.125,
    "bore_area_m2": 0.02,
    "outer_area_m2": 0.03,
    "area_m2": 0.02,
    "piston_area_m2": 0.002,
    "fluid_level_m": 20.0,
    "bottom_m": 50.0,
    "top_m": 10.0,
    "tag_depth_m": 40.0,
    "level_m": 0.02,
    "rows": ((0.0, 0.0), (1.0, 1.0)),
    "tip_depth_m": 45.0,
    "lowest_top_m": 30.0,
    "shoe_depth_m": 60.0,
    "column_m": 60.0,
    "depth_m": 30.0,
    "volume_m3": 0.4,
    "out_at_tag_m3": 0.4,
    "grout_out_m3": 0.9,
    "out_m3": 0.4,
    "standing_water_m3": 0.01,
    "line_m3": 0.05,
    "meter_tolerance": 0.02,
    "resemblance": 0.1,
    "share": 0.05,
    "dynamic_factor": 1.25,
    "bentonite_fraction": 0.04,
    "solids_fraction": 0.2,
    "joint_lengths_m": [6.0, 6.1],
    "section_lengths_m": [3.0, 3.0],
    "loads_n": [1e4, 2e4],
    "line_parts": 2,
    "make_up_loss_m": 0.05,
    "cut_off_m": 0.1,
    "weld_gap_m": 0.002,
    "density_kg_m3": 1800.0,
    "water_kg_m3": 999.1,
    "limit_n": 5e4,
    "delivered": 12,
    "on_rack": 4,
    "in_hole": 7,
    "rejected": 1,
    "joint_count": 7,
    "bags": 20,
    "grout_m": 0.045,
    "ground_c": 12.0,
    "design_stress_pa": 1.4e7,
    "cement_class": "A",
}
# Where a good value must be another one.
SPECIAL: dict[str, dict[str, Any]] = {
    "grout.water_for_density_m3": {"solids": None},
    "grout.slurry_of": {"solids": None},
    "grout.whole_bags": {},
    "pipe.from_ground_m": {},
    "placement.top_after_pulling_m": {"metal_m3": 0.001},
}


def good_arguments(name: str, function: Callable[..., Any]) -> dict[str, Any]:
    """Arguments that the function takes without complaint."""
    from tally.engineering.grout import Ingredient

    cement = [Ingredient("cement", 50.0, 3.15)]
    arguments: dict[str, Any] = {}
    for parameter in inspect.signature(function).parameters.values():
        if parameter.name == "self":
            arguments["self"] = UPTAKE if name.startswith("zone.") else WALLS if ".Walls." in name else PROFILE
            continue
        value = SPECIAL.get(name, {}).get(parameter.name, GOOD.get(parameter.name, 1.0))
        arguments[parameter.name] = cement if parameter.name == "solids" else value
    return arguments


def spoilable() -> Iterator[tuple[str, Callable[..., Any], str]]:
    """Every number of every function."""
    for name, function in FUNCTIONS:
        if name.endswith(".compile"):
            continue
        for parameter in inspect.signature(function).parameters.values():
            if parameter.annotation is float or parameter.annotation == float | None:
                yield name, function, parameter.name


CASES = list(spoilable())


@pytest.mark.parametrize(("name", "function"), FUNCTIONS, ids=[name for name, _ in FUNCTIONS])
def test_the_good_arguments_are_good(name: str, function: Callable[..., Any]) -> None:
    if not name.endswith(".compile"):
        function(**good_arguments(name, function))


@pytest.mark.parametrize(("name", "function", "parameter"), CASES, ids=[f"{n}-{p}" for n, _, p in CASES])
@pytest.mark.parametrize(
    "bad", [math.nan, math.inf, -math.inf, 1e300, -1e300], ids=["nan", "inf", "-inf", "huge", "-huge"]
)
def test_no_number_that_is_none_gets_through(
    name: str, function: Callable[..., Any], parameter: str, bad: float
) -> None:
    arguments = good_arguments(name, function)
    arguments[parameter] = bad
    with pytest.raises(ValueError, match=r".+ = .+: must ") as refusal:
        function(**arguments)
    text = str(refusal.value)
    assert repr(bad) in text or parameter in text, text


def said_limit(function: Callable[..., Any], parameter: str) -> str | None:
    """What the docstring says of a parameter: "more than 0", "0 or more", "1 or more", or nothing of the kind."""
    text = " ".join((function.__doc__ or "").split())
    clause = re.search(rf"\b{parameter} \[[^\]]+\](.*?)(?:;|\. |$)", text)
    found = re.search(r"more than 0\b(?!\.)|\b[01] or more", clause[1]) if clause else None
    return found[0] if found else None


LIMITED = [(n, f, p, limit) for n, f, p in CASES if (limit := said_limit(f, p)) is not None]
EDGE = {"more than 0": 0.0, "0 or more": -1e-9, "1 or more": 1 - 1e-9}


@pytest.mark.parametrize(
    ("name", "function", "parameter", "limit"), LIMITED, ids=[f"{n}-{p}" for n, _, p, _ in LIMITED]
)
def test_a_limit_stands_where_the_docstring_says(
    name: str, function: Callable[..., Any], parameter: str, limit: str
) -> None:
    for bad in (EDGE[limit], EDGE[limit] - 1e-3):
        # a room that leans on another may name what it is called there
        with pytest.raises(ValueError, match=r".+ = .+: must "):
            function(**(good_arguments(name, function) | {parameter: bad}))


def test_most_limits_are_said_in_this_way() -> None:
    assert len(LIMITED) > 150
