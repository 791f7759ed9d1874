"""A view as SI numbers for other programs: the unit in every key, an unknown value is null, times in UTC."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import UTC, datetime
from typing import Any

from tally import formats
from tally.job.model import Model
from tally.job.view.quantity import Kind, Quantity, Sentence

_SUFFIX = {
    Kind.DEPTH: "_m",
    Kind.LENGTH: "_m",
    Kind.DIAMETER: "_m",
    Kind.VOLUME: "_m3",
    Kind.RATE: "_m3_s",
    Kind.LOAD: "_n",
    Kind.MASS: "_kg",
    Kind.LINE_MASS: "_kg_m",
    Kind.CAPACITY: "_m3_m",
    Kind.DENSITY: "_kg_m3",
    Kind.PRESSURE: "_pa",
    Kind.VISCOSITY: "_pa_s",
    Kind.YIELD_STRESS: "_pa",
    Kind.DURATION: "_s",
    Kind.SHARE: "_share",
    Kind.COUNT: "",
}


def si_object(part: Any) -> dict[str, Any]:
    """A dataclass of a view, or a part of the plan, as a dictionary, its keys in the order of the view."""
    if isinstance(part, Model):
        return part.model_dump(mode="json")
    found: dict[str, Any] = {}
    for field in fields(part):
        value = getattr(part, field.name)
        if isinstance(value, Quantity):
            found[si_key(field.name, value.kind)] = _number(value)
        elif isinstance(value, tuple) and value and all(isinstance(item, Quantity) for item in value):
            found[si_key(field.name, value[0].kind)] = [_number(item) for item in value]
        else:
            found[field.name] = _value(value)
    return found


def si_key(name: str, kind: Kind) -> str:
    """A name with the unit of its kind: "shoe" in metres is "shoe_m"."""
    suffix = _SUFFIX[kind]
    return name if f"_{name}".endswith(suffix) else name + suffix


def si_unit(kind: Kind) -> str:
    """The unit as keys spell it: "m3_s"; "" for what is counted."""
    return _SUFFIX[kind].removeprefix("_").removesuffix("share")


def _number(quantity: Quantity) -> float | None:
    return None if quantity.si is None else float(f"{quantity.si:.10g}")


def _value(value: Any) -> Any:
    match value:
        case Sentence():
            return formats.plain(value.written(lambda quantity: formats.text(quantity, "metric")))
        case datetime():
            return value.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
        case tuple():
            return [_value(item) for item in value]
    return si_object(value) if is_dataclass(value) or isinstance(value, Model) else value
