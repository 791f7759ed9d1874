"""What an argument must be. A refusal names the argument, its value and the limit; nothing is clamped."""

import math
from collections.abc import Sequence

CEILING = 1e12  # in any SI unit, far beyond a well: keeps every product finite


def finite(name: str, value: float) -> float:
    if not math.isfinite(value) or abs(value) > CEILING:
        raise ValueError(f"{name} = {value!r}: must be a finite number, at most {CEILING:g} in size")
    return value


def positive(name: str, value: float) -> float:
    if finite(name, value) <= 0.0:
        raise ValueError(f"{name} = {value!r}: must be more than 0")
    return value


def not_negative(name: str, value: float) -> float:
    if finite(name, value) < 0.0:
        raise ValueError(f"{name} = {value!r}: must be 0 or more")
    return value


def between(name: str, value: float, low: float, high: float) -> float:
    if not low <= finite(name, value) <= high:
        raise ValueError(f"{name} = {value!r}: must lie between {low!r} and {high!r}")
    return value


def less(name: str, value: float, limit_name: str, limit: float) -> float:
    if finite(name, value) >= finite(limit_name, limit):
        raise ValueError(f"{name} = {value!r}: must be less than {limit_name} = {limit!r}")
    return value


def one_of(name: str, value: str, accepted: Sequence[str]) -> str:
    if value not in accepted:
        raise ValueError(f"{name} = {value!r}: must be one of {', '.join(accepted)}")
    return value
