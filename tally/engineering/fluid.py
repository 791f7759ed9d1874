"""Standing fluid: layers in a hole or a casing, and the pressure at their foot."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from operator import attrgetter

from tally.engineering._check import CEILING, finite, not_negative

GRAVITY_M_S2 = 9.80665  # standard gravity


@dataclass(frozen=True, slots=True)
class FluidLayer:
    """One fluid between two depths [m], with its density [kg/m3]. What no layer covers is air and weighs nothing."""

    top_m: float
    bottom_m: float
    density_kg_m3: float


def column_pressure_pa(layers: Sequence[FluidLayer], depth_m: float) -> float:
    """Pressure of a standing column at a depth, 0 at the surface.

    layers: tops and bottoms [m] (negative above ground), densities [kg/m3] of 0 or more, in any order; depth_m [m].
    Returns [Pa].
    Source: hydrostatics. Raises ValueError outside the range and for layers that overlap.
    """
    finite("depth_m", depth_m)
    for index, layer in enumerate(layers):
        # names are made only for what is refused: this is asked several times a second
        if not (0.0 <= layer.density_kg_m3 <= CEILING and -CEILING <= layer.top_m <= layer.bottom_m <= CEILING):
            _refuse(index, layer)
    if len(layers) > 1:
        for above, below in pairwise(sorted(layers, key=_place)):
            if below.top_m < above.bottom_m - 1e-9:
                raise ValueError(
                    f"layers: top_m = {below.top_m!r} overlaps the layer above, which ends at {above.bottom_m!r}"
                )
    mass_kg_m2 = sum(layer.density_kg_m3 * max(0.0, min(layer.bottom_m, depth_m) - layer.top_m) for layer in layers)
    return mass_kg_m2 * GRAVITY_M_S2


_place = attrgetter("top_m", "bottom_m")


def _refuse(index: int, layer: FluidLayer) -> None:
    not_negative(f"layers[{index}].density_kg_m3", layer.density_kg_m3)
    finite(f"layers[{index}].bottom_m", layer.bottom_m)
    finite(f"layers[{index}].top_m", layer.top_m)
    raise ValueError(
        f"layers[{index}].bottom_m = {layer.bottom_m!r}: must be no higher than its top_m = {layer.top_m!r}"
    )
