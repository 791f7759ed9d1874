"""The pipe tables that ship with the program: names, dimensions in SI, and where each row comes from."""

import re
import tomllib
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from importlib import resources
from typing import Any

from tally.engineering.pipe import PVC_KG_M3, STEEL_KG_M3, average_wall_m, bore_m, plain_end_mass_kg_m

IN_M = 0.0254
PSI_PA = 6894.757293168
LB_FT_KG_M = 0.45359237 / 0.3048
_INCHES = re.compile(r"([0-9]{1,2}(?:\.[0-9]+)?)(?:[ -]([0-9]{1,2})/([1-9][0-9]?))?")


class UnknownPipe(ValueError):
    """A name that the tables do not hold, or that stands for several; `near` lists what it may have meant."""

    def __init__(self, words: str, near: tuple[str, ...]) -> None:
        super().__init__(words)
        self.near = near


@dataclass(frozen=True, slots=True)
class Pipe:
    """One row of the tables, in SI. Strength goes by the minimum wall; bore and mass by the average one."""

    name: str
    aliases: tuple[str, ...]
    """Other names of the same row."""
    material: str
    outer_diameter_m: float
    minimum_wall_m: float
    bore_m: float
    mass_kg_m: float
    """Plain end."""
    coupled_mass_kg_m: float | None
    """Published average over a 20 ft length with its coupling, where the source gives one."""
    yield_pa: float | None
    collapse_pa: float | None
    burst_pa: float | None
    source: str
    known: str
    """R: read on the named page; R2: on a secondary page; M+: recalled, and reproduced by formula."""


@lru_cache(maxsize=1)
def pipes() -> tuple[Pipe, ...]:
    """Every row, steel first."""
    text = resources.files("tally.catalogue").joinpath("pipe.toml").read_text(encoding="utf-8")
    data = tomllib.loads(text)
    sources = data["source"]
    return (
        *(_steel(row, sources) for row in data["steel"]),
        *(_api(row, sources) for row in data["api"]),
        *(_pvc(row, sources) for row in data["pvc"]),
    )


def pipe_named(name: str, material: str | None = None) -> Pipe:
    """The row of that name, of that material if one is said, whatever its spacing and case. Raises UnknownPipe."""
    wanted = _plain(name)
    rows = {spelled: pipe for pipe in pipes() if material in (None, pipe.material) for spelled in _spellings(pipe)}
    found = [pipe for pipe in pipes() if material in (None, pipe.material) and wanted in _spellings(pipe)]
    if len(found) == 1:
        return found[0]
    if found:
        several = tuple(pipe.name for pipe in found)
        raise UnknownPipe(f"{name!r} may be {' or '.join(several)}: say which", several)
    close = get_close_matches(wanted, rows, n=4, cutoff=0.5)
    alike = tuple(dict.fromkeys(rows[spelled].name for spelled in close))
    near = _of_size(wanted, material) or alike or (next(iter(rows.values())).name,)
    raise UnknownPipe(
        f"{name!r} is in no pipe table; near it: {', '.join(near)}; or give diameter, wall and mass", near
    )


def _of_size(wanted: str, material: str | None) -> tuple[str, ...]:
    """Where a name begins with an outside diameter in inches, "8 5/8" or "8.625": the rows of that diameter."""
    size = _INCHES.match(wanted)
    if size is None:
        return ()
    outer_m = (float(size[1]) + (float(size[2]) / float(size[3]) if size[2] else 0.0)) * IN_M
    return tuple(
        pipe.name
        for pipe in pipes()
        if material in (None, pipe.material) and abs(pipe.outer_diameter_m - outer_m) < 0.005 * IN_M
    )


def _spellings(pipe: Pipe) -> tuple[str, ...]:
    """Every name of a row, each also without its leading material: "nps 6 x 0.280"."""
    names = [_plain(name) for name in (pipe.name, *pipe.aliases)]
    return (*names, *(name.partition(" ")[2] for name in names if name.startswith(("steel ", "pvc "))))


def _plain(name: str) -> str:
    return " ".join(name.casefold().replace("×", "x").split())


def _steel(row: dict[str, Any], sources: dict[str, Any]) -> Pipe:
    coupled = row.get("coupled_lb_ft")
    return _pipe(
        name=f"steel NPS {row['nps']} x {row['wall_in']:.3f}",
        aliases=tuple(f"steel NPS {row['nps']} {schedule}" for schedule in row.get("schedules", ())),
        material="steel",
        row=row,
        sources=sources,
        coupled_mass_kg_m=None if coupled is None else coupled * LB_FT_KG_M,
    )


def _api(row: dict[str, Any], sources: dict[str, Any]) -> Pipe:
    return _pipe(
        name=f"API {row['outer_in']:.3f} {row['nominal_lb_ft']:.2f} {row['grade']}",
        material="steel",
        row=row,
        sources=sources,
        yield_pa=row["yield_psi"] * PSI_PA,
        collapse_pa=row["collapse_psi"] * PSI_PA,
        burst_pa=row["burst_psi"] * PSI_PA,
    )


def _pvc(row: dict[str, Any], sources: dict[str, Any]) -> Pipe:
    return _pipe(name=f"PVC NPS {row['nps']} {row['kind']}", material="pvc", row=row, sources=sources)


def _pipe(
    *,
    name: str,
    aliases: tuple[str, ...] = (),
    material: str,
    row: dict[str, Any],
    sources: dict[str, Any],
    coupled_mass_kg_m: float | None = None,
    yield_pa: float | None = None,
    collapse_pa: float | None = None,
    burst_pa: float | None = None,
) -> Pipe:
    outer = row["outer_in"] * IN_M
    wall = row["min_wall_in" if material == "pvc" else "wall_in"] * IN_M
    bore = bore_m(outer_diameter_m=outer, wall_m=average_wall_m(wall) if material == "pvc" else wall)
    density = PVC_KG_M3 if material == "pvc" else STEEL_KG_M3
    source = sources[row["source"]]
    return Pipe(
        name=name,
        aliases=aliases,
        material=material,
        outer_diameter_m=outer,
        minimum_wall_m=wall,
        bore_m=bore,
        mass_kg_m=plain_end_mass_kg_m(outer_diameter_m=outer, bore_m=bore, density_kg_m3=density),
        coupled_mass_kg_m=coupled_mass_kg_m,
        yield_pa=yield_pa,
        collapse_pa=collapse_pa,
        burst_pa=burst_pa,
        source=source["text"],
        known=source["known"],
    )
