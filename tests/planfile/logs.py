"""The example plan with a caliper log beside it. Its hole is 406.4 mm to 6 m and 311.15 mm to 48 m, its casing 219.1 mm
outside with the shoe at 47.5 m."""

from collections.abc import Sequence
from pathlib import Path

from tally.job.hole import Hole
from tally.job.plan import Plan
from tally.planfile import Mistake, example, read

STEADY = [(depth, 320.0) for depth in range(7, 48)]
"""A reading each metre from 7 to 47 m, in metres and millimetres."""


def rows(readings: Sequence[tuple[float, float]], head: str = "depth_m,diameter_mm") -> str:
    return "\n".join([head, *(f"{depth},{diameter}" for depth, diameter in readings)]) + "\n"


def found(folder: Path, log: str | bytes, *keys: str, name: str = "log.csv", plan: str = "") -> Plan | list[Mistake]:
    """What comes of the example plan with `log` as its log and `keys` as further lines of [hole]."""
    (folder / name).write_bytes(log if isinstance(log, bytes) else log.encode())
    lines = "\n".join([f'caliper = "{name}"', *keys])
    text = (plan or example()).replace('water_level = "18 m"', f'water_level = "18 m"\n{lines}', 1)
    (folder / "plan.toml").write_text(text, encoding="utf-8")
    return read(folder / "plan.toml")


def hole(folder: Path, log: str | bytes, *keys: str, name: str = "log.csv", plan: str = "") -> Hole:
    got = found(folder, log, *keys, name=name, plan=plan)
    assert isinstance(got, Plan), "\n".join(map(str, got))
    return got.hole


def mistake(folder: Path, log: str | bytes, *keys: str, name: str = "log.csv") -> str:
    """The only mistake, as it is told."""
    got = found(folder, log, *keys, name=name)
    assert isinstance(got, list) and len(got) == 1, got
    assert got[0].line is not None
    return str(got[0])


def pairs(of: Hole) -> list[tuple[float, float]]:
    return [(point.depth_m, point.diameter_m) for point in of.log]
