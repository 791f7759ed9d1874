"""What an instrument said, in SI, with the time at which it arrived."""

from dataclasses import dataclass

QUANTITIES = frozenset({"total_m3", "rate_m3_s", "density_kg_m3", "force_n", "pressure_pa"})


@dataclass(frozen=True, slots=True)
class Reading:
    """One value from one channel; `quantity` is one of QUANTITIES and names the unit of `value`."""

    mono_s: float
    channel: str
    quantity: str
    value: float
