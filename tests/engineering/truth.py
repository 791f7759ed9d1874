"""Random holes and jobs: what is true, kept apart from what the model believes."""

import math
import random
from dataclasses import dataclass

from tally.engineering.hole import PipeSpan, Profile, Segment
from tally.engineering.placement import Zone

Z_80 = 1.2815515655
STEP_M = 0.5
DEPTH_M = 80.0
MIDDLE = int(DEPTH_M / 2 / STEP_M)
THEORY = Profile.compile([Segment(0, DEPTH_M, 0.25, 0.25)], pipes=[PipeSpan(0, DEPTH_M, 0.168)])
STEP_M3 = THEORY.volume_m3(0, STEP_M)


@dataclass(frozen=True)
class World:
    """What varies, each as half its central 80 % range: the hole as a whole, its roughness, its halves, the meter."""

    hole: float = 0.15
    roughness: float = 0.0
    halves: float = 0.0
    """Lower half over upper half."""
    alike: bool = False
    """True: both halves depart from a common rock alike. False: the lower one departs from the upper."""
    meter: float = 0.02
    allowance: float = 0.15
    correlation_m: float = 5.0
    zones: tuple[Zone, ...] = ()
    """Where they are, and how far each one's own factor truly strays."""


@dataclass(frozen=True)
class Job:
    """One true hole, in steps from the top down, each with its factor; `meter` is what the meter reads for 1 m3."""

    factors: list[float]
    meter: float

    def metered_m3(self, top_step: int, bottom_step: int) -> float:
        """What the meter reads when the hole is truly full between two steps."""
        return sum(self.factors[top_step:bottom_step]) * STEP_M3 * self.meter

    def true_top_m(self, bottom_step: int, metered_m3: float) -> float:
        """Where the top truly stands when the meter has read that much since the grout stood at `bottom_step`."""
        left_m3 = metered_m3 / self.meter
        for step in reversed(range(bottom_step)):
            holds_m3 = self.factors[step] * STEP_M3
            if holds_m3 >= left_m3:
                return (step + 1 - left_m3 / holds_m3) * STEP_M
            left_m3 -= holds_m3
        return 0.0


def sigma(spread: float, median: float = 1.0) -> float:
    """Standard deviation of the logarithm whose central 80 % range is `spread` each way."""
    return math.asinh(spread / median) / Z_80


def job(world: World, chance: random.Random) -> Job:
    """A hole rough along its length, autocorrelated from step to step, and a meter whose bias is drawn once."""
    log_upper = chance.gauss(math.log(1 + world.allowance), sigma(world.hole, 1 + world.allowance))
    log_lower = log_upper
    if world.alike:
        log_upper += chance.gauss(0, sigma(world.halves) / math.sqrt(2))
        log_lower += chance.gauss(0, sigma(world.halves) / math.sqrt(2))
    else:
        log_lower += chance.gauss(0, sigma(world.halves))
    keep, rough_sigma = math.exp(-STEP_M / world.correlation_m), sigma(world.roughness)
    rough, factors = chance.gauss(0, rough_sigma), []
    for step in range(2 * MIDDLE):
        rough = keep * rough + math.sqrt(1 - keep * keep) * chance.gauss(0, rough_sigma)
        factors.append(math.exp((log_upper if step < MIDDLE else log_lower) + rough))
    for zone in world.zones:
        own = math.exp(chance.gauss(0, sigma(zone.spread)))
        for step in range(round(zone.top_m / STEP_M), round(zone.bottom_m / STEP_M)):
            factors[step] *= own
    return Job(factors, math.exp(chance.gauss(0, sigma(world.meter))))
