"""The handbook's docstrings hold: units in brackets agree with names, sources are named, refusals are stated."""

import dataclasses
import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest

import tally.engineering

UNITS = {
    "_kg_m3": "kg/m3",
    "_kg_m": "kg/m",
    "_m3_m": "m3/m",
    "_m3_s": "m3/s",
    "_pa_m": "Pa/m",
    "_pa_s": "Pa s",
    "_m_s": "m/s",
    "_m_s2": "m/s2",
    "_n_m": "N/m",
    "_m3": "m3",
    "_m2": "m2",
    "_kg": "kg",
    "_pa": "Pa",
    "_m": "m",
    "_n": "N",
    "_s": "s",
    "_c": "°C",
}


def unit_of(name: str) -> str | None:
    """The unit that a name's suffix states: the longest suffix that fits."""
    fitting = [suffix for suffix in UNITS if name.endswith(suffix)]
    return UNITS[max(fitting, key=len)] if fitting else None


def functions() -> Iterator[tuple[str, Callable[..., Any]]]:
    """Every public function and method that the handbook defines."""
    for info in pkgutil.iter_modules(tally.engineering.__path__):
        if info.name.startswith("_"):
            continue
        module = importlib.import_module(f"tally.engineering.{info.name}")
        for name, member in vars(module).items():
            if name.startswith("_") or getattr(member, "__module__", None) != module.__name__:
                continue
            if inspect.isfunction(member):
                yield f"{info.name}.{name}", member
            elif inspect.isclass(member) and not dataclasses.is_dataclass(member):
                for method_name, method in inspect.getmembers(member, inspect.isfunction):
                    if not method_name.startswith("_") and method.__module__ == module.__name__:
                        yield f"{info.name}.{name}.{method_name}", method


FUNCTIONS = list(functions())
IDS = [name for name, _ in FUNCTIONS]


def test_the_handbook_is_found() -> None:
    assert {"pipe.circle_area_m2", "hole.Profile.volume_m3", "placement.top_range"} <= set(IDS)


@pytest.mark.parametrize(("name", "function"), FUNCTIONS, ids=IDS)
def test_units_in_brackets_agree_with_names(name: str, function: Callable[..., Any]) -> None:
    text = " ".join((function.__doc__ or "").split())
    for parameter in inspect.signature(function).parameters.values():
        unit = unit_of(parameter.name)
        if unit is not None:
            assert f"{parameter.name} [{unit}]" in text, f"{name}: the docstring must give {parameter.name} [{unit}]"
        elif parameter.annotation in (float, "float"):
            assert f"{parameter.name} [-]" in text, f"{name}: the docstring must give {parameter.name} [-]"
    # and no bracket that contradicts its name
    for word, bracket in re.findall(r"(\w+) \[([^\]]+)\]", text):
        if unit_of(word) and word in inspect.signature(function).parameters:
            assert bracket == unit_of(word), f"{name}: {word} [{bracket}]"


@pytest.mark.parametrize(("name", "function"), FUNCTIONS, ids=IDS)
def test_what_comes_back_has_its_unit(name: str, function: Callable[..., Any]) -> None:
    if inspect.signature(function).return_annotation not in (float, float | None):
        return
    text = " ".join((function.__doc__ or "").split())
    unit = unit_of(function.__name__) or "-"
    assert f"Returns [{unit}]" in text, f"{name}: the docstring must say Returns [{unit}]"


@pytest.mark.parametrize(("name", "function"), FUNCTIONS, ids=IDS)
def test_every_function_names_a_source_and_what_it_refuses(name: str, function: Callable[..., Any]) -> None:
    text = " ".join((function.__doc__ or "").split())
    if name.endswith(".compile"):
        assert "Raises ValueError" in text
        return
    assert re.search(r"Source: \S.{3,}", text), f"{name}: names no source"
    assert "Raises ValueError" in text or name.endswith("rack_difference"), f"{name}: does not say what it refuses"


@pytest.mark.parametrize(("name", "function"), FUNCTIONS, ids=IDS)
def test_more_than_two_floats_are_named_at_the_call(name: str, function: Callable[..., Any]) -> None:
    positional = [p for p in inspect.signature(function).parameters.values() if p.kind is p.POSITIONAL_OR_KEYWORD]
    assert len([p for p in positional if p.name not in ("self", "cls")]) <= 2, name


def test_a_contradicting_bracket_would_be_seen() -> None:
    assert unit_of("density_kg_m3") == "kg/m3"
    assert unit_of("plain_end_mass_kg_m") == "kg/m"
    assert unit_of("capacity_m3_m") == "m3/m"
    assert unit_of("bore_m") == "m"
    assert unit_of("poisson") is None
