"""Anything that the file accepts, for property tests: events made up from the models' own fields and bounds."""

import math
from collections.abc import Sequence
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import annotated_types as at
from hypothesis import strategies as st
from pydantic.fields import FieldInfo

from tally.job import events as ev
from tally.job.model import Model
from tally.job.plan import Plan
from tests.scenario import plan

KINDS: tuple[type[ev.Event], ...] = get_args(ev.AnyEvent)
BY_RECORDER = (ev.SessionOpened, ev.SessionResumed, ev.SessionClosed, ev.AlarmRaised, ev.AlarmCleared)
PLANS = (
    plan(),
    plan(meter=None, tremie=None, stages=[{**plan().stages[0].model_dump(), "method": "through casing"}]),
    plan(casing={"shoe": "closed", "make_up_loss_m": 0.15, "shoe_length_m": 0.3, "connection": "solvent"}),
    plan(hole={"water_level_m": 0.0, "drinks_water": None}, line={"starts": "empty"}),
    plan(
        hole={
            "sections": [
                {"top_m": 0.0, "bottom_m": 30.0, "diameter_m": 0.25},
                {"top_m": 30.0, "bottom_m": 45.0, "diameter_m": 0.15},
            ]
        },
        casing={"target_shoe_depth_m": 30.0},
        stages=[
            {"name": "foot", "bottom_m": 30.0, "top_m": 20.0, "mix": "neat", "method": "tremie"},
            {"name": "rest", "bottom_m": 20.0, "top_m": 0.0, "mix": "neat", "method": "tremie"},
        ],
    ),
)


def events_of(kind: type[Model]) -> st.SearchStrategy[Any]:
    """Any event of a kind."""
    return st.builds(kind, **{name: _field(info) for name, info in kind.model_fields.items()})


def events(*but: type[ev.Event]) -> st.SearchStrategy[Any]:
    return st.sampled_from([kind for kind in KINDS if kind not in but]).flatmap(events_of)


def _field(info: FieldInfo) -> st.SearchStrategy[Any]:
    return _value(info.annotation, list(info.metadata))


def _value(hint: Any, bounds: list[Any]) -> st.SearchStrategy[Any]:
    origin, inside = get_origin(hint), get_args(hint)
    if origin is Annotated:
        more = [part for held in inside[1:] for part in (held.metadata if isinstance(held, FieldInfo) else [held])]
        return _value(inside[0], [*bounds, *more])
    if origin in (Union, UnionType):
        return st.one_of([_value(part, bounds) for part in inside])
    if origin is Literal:
        return st.sampled_from(inside)
    if origin is tuple:
        return st.lists(_value(inside[0], []), max_size=3).map(tuple)
    if hint is NoneType:
        return st.none()
    if hint is Plan:
        return st.sampled_from(PLANS)
    if isinstance(hint, type) and issubclass(hint, Model):
        return events_of(hint)
    return _plain(hint, bounds)


def _plain(hint: Any, bounds: list[Any]) -> st.SearchStrategy[Any]:
    least: Any = next((bound.ge for bound in bounds if isinstance(bound, at.Ge)), None)
    above: Any = next((bound.gt for bound in bounds if isinstance(bound, at.Gt)), None)
    most: Any = next((bound.le for bound in bounds if isinstance(bound, at.Le)), None)
    low = least if above is None else above

    def fit(usual: Sequence[Any]) -> list[Any]:
        """Mostly what a rig could send: extremes alone would never meet each other in a state that means something."""
        floor, ceiling = (-math.inf if low is None else low), (math.inf if most is None else most)
        return [value for value in usual if floor <= value <= ceiling and value != above]

    if hint is float:
        any_float = st.floats(low, most, exclude_min=above is not None, allow_nan=False, allow_infinity=False)
        within = fit((0.1, 5.05, 20.0, 60.0, 70.0))
        return st.one_of(st.floats(within[0], within[-1]), st.sampled_from(within), any_float) if within else any_float
    if hint is int:
        any_int = st.integers(-(10**9) if low is None else low + (above is not None), 10**9 if most is None else most)
        return st.one_of(st.sampled_from(within), any_int) if (within := fit(range(1, 13))) else any_int
    if hint is bool:
        return st.booleans()
    assert hint is str, hint
    return st.sampled_from(["returns-overdue", "meter-gap", "a {0} b", "[/] [red]", "\x1b[31m", "", "ø" * 20])
