"""What the casing's wall bears: its collapse pressure, cold and while cement sets beside it."""

from __future__ import annotations

from tally.engineering import collapse, pipe
from tally.engineering.collapse import Rating
from tally.job.plan import Plan

A53B_YIELD_PA = 35_000 * collapse.PSI_PA
"""ASTM A53 grade B, the softest casing in common use: taken where the plan gives no yield strength for steel."""
SETTING_C = 49.0
"""Plastic casing while cement sets beside it (120 °F), common practice; a thick annulus can be hotter still."""


def ratings(plan: Plan) -> tuple[Rating, Rating]:
    """Collapse pressure cold, and while cement sets beside it: the same for steel, less for plastic."""
    casing, given_pa = plan.casing, plan.limits.collapse_pa
    warm = collapse.pvc_modulus_factor(SETTING_C)
    if given_pa is not None:
        cold = Rating(given_pa, "as given in the plan")
        derated = Rating(given_pa * warm, f"as given, modulus x {warm:.2f} at {SETTING_C:.0f} °C (120 °F)")
        return cold, cold if casing.material == "steel" else derated
    outer_m, wall_m = casing.outer_diameter_m, minimum_wall_m(plan)
    if casing.material == "steel":
        yield_pa = casing.yield_pa or A53B_YIELD_PA
        said = "yield as given" if casing.yield_pa else "yield taken as"
        api = collapse.api_collapse(outer_diameter_m=outer_m, wall_m=wall_m, yield_pa=yield_pa)
        words = f"{api.formula}, {said} {yield_pa / 1e6:.0f} MPa ({yield_pa / collapse.PSI_PA:.0f} psi)"
        steel = Rating(api.pressure_pa, words)
        return steel, steel
    plastic = collapse.plastic_collapse(outer_diameter_m=outer_m, minimum_wall_m=wall_m)
    setting = collapse.plastic_collapse(outer_diameter_m=outer_m, minimum_wall_m=wall_m, temperature_c=SETTING_C)
    return plastic, Rating(setting.pressure_pa, f"{setting.formula} at {SETTING_C:.0f} °C (120 °F)")


def allowed_in_grout_pa(plan: Plan) -> float:
    """What may press on the wall while cement sets beside it, the plan's factor kept [Pa]."""
    return ratings(plan)[1].pressure_pa / plan.limits.collapse_factor


def minimum_wall_m(plan: Plan) -> float:
    """The wall that strength goes by [m]: as given, else from the bore, which for plastic is that of the average."""
    casing = plan.casing
    if casing.minimum_wall_m is not None:
        return casing.minimum_wall_m
    wall_m = (casing.outer_diameter_m - casing.bore_m) / 2.0
    return wall_m if casing.material == "steel" else wall_m / pipe.AVERAGE_WALL_RATIO
