"""The way of a slurry from the pump to the top of the annulus: friction passage by passage, and the pump's pressure."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tally.engineering._check import finite, not_negative, positive
from tally.engineering.pipe import circle_area_m2, ring_area_m2
from tally.engineering.slurry import annulus_loss_pa, pipe_loss_pa

NOTHING_M3_S = 1e-15  # a litre in thirty thousand years


@dataclass(frozen=True, slots=True)
class Passage:
    """A stretch of one size: a pipe of that bore [m], or an annulus around a pipe of an outside diameter [m]."""

    name: str
    bore_m: float
    length_m: float
    around_m: float = 0.0
    """Outside diameter of the pipe within; 0 for a pipe that is empty but for the slurry."""

    @property
    def area_m2(self) -> float:
        """Free area [m2]."""
        if not self.around_m:
            return circle_area_m2(self.bore_m)
        return ring_area_m2(outer_diameter_m=self.bore_m, bore_m=self.around_m)


def passage_loss_pa(
    passage: Passage, *, flow_m3_s: float, density_kg_m3: float, viscosity_pa_s: float, yield_stress_pa: float
) -> float:
    """Pressure lost to friction in one passage.

    passage: diameters and length [m], a bore of more than the pipe within; flow_m3_s [m3/s] and yield_stress_pa [Pa], 0
    or more; density_kg_m3 [kg/m3] and viscosity_pa_s [Pa s], more than 0. Returns [Pa].
    Source: `slurry.pipe_loss_pa` and `slurry.annulus_loss_pa`. Raises ValueError outside the range.
    """
    if not_negative("passage.around_m", passage.around_m) == 0.0:
        return pipe_loss_pa(
            flow_m3_s=flow_m3_s,
            bore_m=passage.bore_m,
            length_m=passage.length_m,
            density_kg_m3=density_kg_m3,
            viscosity_pa_s=viscosity_pa_s,
            yield_stress_pa=yield_stress_pa,
        )
    return annulus_loss_pa(
        flow_m3_s=flow_m3_s,
        outer_diameter_m=passage.bore_m,
        inner_diameter_m=passage.around_m,
        length_m=passage.length_m,
        density_kg_m3=density_kg_m3,
        viscosity_pa_s=viscosity_pa_s,
        yield_stress_pa=yield_stress_pa,
    )


def circuit_loss_pa(
    passages: Sequence[Passage],
    *,
    flow_m3_s: float,
    density_kg_m3: float,
    viscosity_pa_s: float,
    yield_stress_pa: float,
) -> float:
    """Pressure lost to friction in all passages that follow each other.

    passages: diameters and lengths [m]; flow_m3_s [m3/s] and yield_stress_pa [Pa], 0 or more; density_kg_m3 [kg/m3] and
    viscosity_pa_s [Pa s], more than 0. Returns [Pa]. Losses in bends, couplings and the outlet are not counted.
    Source: losses in series add. Raises ValueError outside the range.
    """
    not_negative("flow_m3_s", flow_m3_s)
    positive("density_kg_m3", density_kg_m3)
    positive("viscosity_pa_s", viscosity_pa_s)
    not_negative("yield_stress_pa", yield_stress_pa)
    return math.fsum(
        passage_loss_pa(
            passage,
            flow_m3_s=flow_m3_s,
            density_kg_m3=density_kg_m3,
            viscosity_pa_s=viscosity_pa_s,
            yield_stress_pa=yield_stress_pa,
        )
        for passage in passages
    )


def flow_at_pressure_m3_s(
    passages: Sequence[Passage],
    *,
    limit_pa: float,
    head_pa: float,
    density_kg_m3: float,
    viscosity_pa_s: float,
    yield_stress_pa: float,
) -> float:
    """Rate at which the pump's pressure reaches a limit; 0 where standing columns and yield stress alone take it.

    passages: diameters and lengths [m], at least one of some length; limit_pa [Pa], more than 0; head_pa [Pa], what
    stands outside the outlet less the column in the line, negative where the line falls by itself; density_kg_m3
    [kg/m3] and viscosity_pa_s [Pa s], more than 0; yield_stress_pa [Pa], 0 or more. Returns [m3/s].
    Source: `circuit_loss_pa` inverted by bisection: it never falls as the rate rises. Raises ValueError outside the
    range.
    """
    spare_pa = positive("limit_pa", limit_pa) - finite("head_pa", head_pa)
    positive("length of all passages", math.fsum(passage.length_m for passage in passages))

    def over(flow_m3_s: float) -> bool:
        return spare_pa < circuit_loss_pa(
            passages,
            flow_m3_s=flow_m3_s,
            density_kg_m3=density_kg_m3,
            viscosity_pa_s=viscosity_pa_s,
            yield_stress_pa=yield_stress_pa,
        )

    if over(0.0):
        return 0.0
    low, high = 0.0, min(passage.area_m2 for passage in passages)  # begin at a mean velocity of 1 m/s
    while not over(high):
        low, high = high, high * 2.0
    while high - low > max(1e-12 * high, NOTHING_M3_S):
        middle = (low + high) / 2.0
        low, high = (low, middle) if over(middle) else (middle, high)
    return low
