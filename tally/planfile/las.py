"""A caliper log in the open LAS format, versions 1.2 and 2.0 (Canadian Well Logging Society), wrapped or not."""

import io
import logging
import math
from collections.abc import Iterable
from typing import Any

from tally.formats import plain
from tally.planfile.curve import Curves, Heading, LogFault, place, si_of

_ACCEPTED = "a LAS file of version 1.2 or 2.0, whose ~Curve section names every column of its ~ASCII section"
_FEET = {"f": "ft"}
"""The format's own spelling of feet."""


def curves(text: str, depth: str | None, diameter: str | None) -> Curves:
    """Depth and diameter by their mnemonics, or those that are plainly so called."""
    head = _read(text, ignore_data=True)
    version, wrapped = (str(head.version[key].value) if key in head.version else "" for key in ("VERS", "WRAP"))
    if version not in ("1.2", "2.0", "2"):
        raise LogFault("caliper", f"LAS version {plain(version)[:20] or 'not said'}", _ACCEPTED)
    if wrapped.upper() != "YES":
        _check_columns(text, len(head.curves))
    las = _read(text)
    headings = [Heading(curve.mnemonic, _FEET.get(curve.unit.casefold(), curve.unit)) for curve in las.curves]
    at = place(headings, "depth", depth), place(headings, "diameter", diameter)
    _check_depth_unit(las, headings[at[0]])
    depths, diameters = (_numbers(las.curves[column].data, headings[column].name) for column in at)
    return Curves(headings[at[0]], headings[at[1]], tuple(zip(depths, diameters, strict=True)))


def _read(text: str, ignore_data: bool = False) -> Any:
    import lasio  # type: ignore[import-untyped]  # it brings an array library: loaded only when a LAS file is read

    log = logging.getLogger("lasio")
    if not log.handlers:
        log.addHandler(logging.NullHandler())  # what it would print on the terminal is checked here and said in words
    try:
        # no silent mending of numbers: what is not one must be seen
        return lasio.read(io.StringIO(text), read_policy=(), ignore_data=ignore_data)
    except Exception as fault:  # the library raises whatever its parsing met
        raise LogFault("caliper", f"a log that is not LAS: {plain(str(fault))[:120]}", _ACCEPTED) from fault


def _check_columns(text: str, count: int) -> None:
    """A line that lacks a value would move all that follow it by one column."""
    within = False
    for number, line in enumerate(text.splitlines(), start=1):
        words = line.split()
        if line.lstrip().startswith("~"):
            within = line.lstrip()[1:2].upper() == "A"
        elif within and words and not words[0].startswith("#") and len(words) != count:
            raise LogFault("caliper", f"line {number} of the log: {len(words)} values", f"{count}, one for each curve")


def _check_depth_unit(las: Any, depth: Heading) -> None:
    """The unit in which the well section gives the start is that of the depths."""
    start = las.well["STRT"].unit if "STRT" in las.well else ""
    if start and depth.unit and si_of(_FEET.get(start.casefold(), start)) != si_of(depth.unit):
        given = f"depths in {plain(depth.unit)} that start in {plain(start)}"
        raise LogFault("caliper", given, "one unit of depth in one log")


def _numbers(values: Iterable[Any], name: str) -> list[float | None]:
    found: list[float | None] = []
    for at, value in enumerate(values, start=1):
        try:
            number = float(value)
        except ValueError as fault:
            given = f"reading {at} of {plain(name)} in the log: {plain(str(value))[:40]}"
            raise LogFault("caliper", given, "a number, with a point as its decimal mark") from fault
        found.append(number if math.isfinite(number) else None)
    return found
