"""The pipe tables that ship with the program: names, dimensions in SI, and where each row comes from."""

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


class UnknownPipe(ValueError):
    """A name that the tables do not hold; the text says what was given and what comes near."""


@dataclass(frozen=True, slots=True)
class Pipe:
    """One row of the tables, in SI. Strength goes by the minimum wall; bore and mass by the average one."""

    name: str
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


def pipe_named(name: str) -> Pipe:
    """The row of that name, whatever its spacing and case. Raises UnknownPipe."""
    wanted = _plain(name)
    found = next((pipe for pipe in pipes() if _plain(pipe.name) == wanted), None)
    if found is None:
        near = get_close_matches(wanted, [_plain(pipe.name) for pipe in pipes()], n=3, cutoff=0.5)
        hint = [pipe.name for pipe in pipes() if _plain(pipe.name) in near] or [pipes()[0].name]
        raise UnknownPipe(f"{name!r} is in no pipe table; near it: {', '.join(hint)}; or give diameter, wall and mass")
    return found


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def _steel(row: dict[str, Any], sources: dict[str, Any]) -> Pipe:
    coupled = row.get("coupled_lb_ft")
    return _pipe(
        name=f"steel NPS {row['nps']} x {row['wall_in']:.3f}",
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
