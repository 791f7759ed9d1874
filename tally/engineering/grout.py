"""Grout by the method of absolute volumes: yield, density, water, bags and batches.

The volume of a mix is the sum of its ingredients' solid volumes, mass over (specific gravity × water's density), and
its water.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from tally.engineering._check import finite, less, not_negative, one_of, positive

WATER_KG_M3 = 999.1  # fresh water at 15 °C
CEMENT_SG = 3.15  # portland cement, construction practice; oilfield handbooks use 3.14
OILFIELD_CEMENT_SG = 3.14
BENTONITE_SG = 2.65
SAND_SG = 2.65  # quartz; one oilfield handbook prints 2.63
SACK_KG = 94.0 * 0.45359237
US_GAL_M3 = 231.0 * 0.0254**3
# Mixing water by API class [US gal to a 94 lb sack]; for G other handbooks print 5.0.
API_WATER_GAL = {"A": 5.2, "B": 5.2, "C": 6.3, "D": 4.3, "E": 4.3, "F": 4.3, "G": 5.2, "H": 4.3}


@dataclass(frozen=True, slots=True)
class Ingredient:
    """A solid: its mass [kg] and specific gravity [-]."""

    name: str
    mass_kg: float
    specific_gravity: float


@dataclass(frozen=True, slots=True)
class Slurry:
    """What a mix makes: volume [m3], mass [kg] and the water [m3] in it."""

    volume_m3: float
    mass_kg: float
    water_m3: float

    @property
    def density_kg_m3(self) -> float:
        """Density [kg/m3]."""
        return self.mass_kg / self.volume_m3


@dataclass(frozen=True, slots=True)
class Batches:
    """Mixer loads: how many, whole bags in each and in the last, and the volume [m3] of a full one."""

    count: int
    bags_each: int
    bags_last: int
    volume_each_m3: float


def slurry_of(*, solids: Sequence[Ingredient], water_m3: float, water_kg_m3: float = WATER_KG_M3) -> Slurry:
    """The slurry that solids and water make, by absolute volumes.

    solids: each of positive mass [kg] and specific gravity [-]; water_m3 [m3], 0 or more; water_kg_m3 [kg/m3], more
    than 0.
    Source: the absolute-volume method, Lapeyrouse, Formulas and Calculations for Drilling, section 4. No air is
    counted. Raises ValueError outside the range and for an empty mix.
    """
    not_negative("water_m3", water_m3)
    positive("water_kg_m3", water_kg_m3)
    if not solids and water_m3 == 0.0:
        raise ValueError("solids = () and water_m3 = 0: must hold something")
    for solid in solids:
        positive(f"mass_kg of {solid.name}", solid.mass_kg)
        positive(f"specific_gravity of {solid.name}", solid.specific_gravity)
    solid_m3 = math.fsum(solid.mass_kg / (solid.specific_gravity * water_kg_m3) for solid in solids)
    mass_kg = math.fsum(solid.mass_kg for solid in solids) + water_m3 * water_kg_m3
    return Slurry(volume_m3=solid_m3 + water_m3, mass_kg=mass_kg, water_m3=water_m3)


def neat_cement(
    *, cement_kg: float, water_m3: float, cement_sg: float = CEMENT_SG, water_kg_m3: float = WATER_KG_M3
) -> Slurry:
    """Cement and water alone.

    cement_kg [kg], more than 0; water_m3 [m3], 0 or more; cement_sg [-], more than 0; water_kg_m3 [kg/m3], more than 0.
    Source: the absolute-volume method. Raises ValueError outside the range.
    """
    cement = Ingredient("cement", cement_kg, cement_sg)
    return slurry_of(solids=(cement,), water_m3=water_m3, water_kg_m3=water_kg_m3)


def water_cement_ratio(*, water_m3: float, cement_kg: float, water_kg_m3: float = WATER_KG_M3) -> float:
    """Mass of water over mass of cement.

    water_m3 [m3], 0 or more; cement_kg [kg] and water_kg_m3 [kg/m3], more than 0. Returns [-].
    Source: its definition. Raises ValueError outside the range.
    """
    return not_negative("water_m3", water_m3) * positive("water_kg_m3", water_kg_m3) / positive("cement_kg", cement_kg)


def api_water_m3(cement_class: str, cement_kg: float) -> float:
    """Water that a class of API cement is mixed with, neat.

    cement_class: A to H; cement_kg [kg], more than 0. Returns [m3].
    Source: Lapeyrouse, Formulas and Calculations for Drilling, section 2.8, by the 94 lb sack. Raises ValueError
    outside the range.
    """
    one_of("cement_class", cement_class, tuple(API_WATER_GAL))
    return API_WATER_GAL[cement_class] * US_GAL_M3 * positive("cement_kg", cement_kg) / SACK_KG


def bentonite_mass_kg(
    *, cement_kg: float, water_m3: float, bentonite_fraction: float, basis: str, water_kg_m3: float = WATER_KG_M3
) -> float:
    """Mass of bentonite stated as a fraction of the cement (dry blended) or of the water (prehydrated).

    cement_kg [kg] and water_m3 [m3], 0 or more; bentonite_fraction [-], 0 to 1; basis: cement or water;
    water_kg_m3 [kg/m3], more than 0. Returns [kg].
    Source: Lapeyrouse (percent by weight of cement); by weight of water when prehydrated is common practice.
    Raises ValueError outside the range.
    """
    not_negative("cement_kg", cement_kg)
    not_negative("water_m3", water_m3)
    positive("water_kg_m3", water_kg_m3)
    if not 0.0 <= finite("bentonite_fraction", bentonite_fraction) <= 1.0:
        raise ValueError(f"bentonite_fraction = {bentonite_fraction!r}: must lie between 0 and 1 (0.04 is 4 %)")
    one_of("basis", basis, ("cement", "water"))
    return bentonite_fraction * (cement_kg if basis == "cement" else water_m3 * water_kg_m3)


def cement_bentonite(
    *,
    cement_kg: float,
    water_m3: float,
    bentonite_fraction: float,
    basis: str,
    cement_sg: float = CEMENT_SG,
    bentonite_sg: float = BENTONITE_SG,
    water_kg_m3: float = WATER_KG_M3,
) -> Slurry:
    """Cement, bentonite and water.

    cement_kg [kg], more than 0; water_m3 [m3], 0 or more; bentonite_fraction [-], 0 to 1, of the basis, cement or
    water; cement_sg [-], bentonite_sg [-] and water_kg_m3 [kg/m3], more than 0.
    Source: the absolute-volume method, Lapeyrouse. Raises ValueError outside the range.
    """
    bentonite_kg = bentonite_mass_kg(
        cement_kg=cement_kg,
        water_m3=water_m3,
        bentonite_fraction=bentonite_fraction,
        basis=basis,
        water_kg_m3=water_kg_m3,
    )
    solids = [Ingredient("cement", cement_kg, cement_sg)]
    if bentonite_kg > 0.0:
        solids.append(Ingredient("bentonite", bentonite_kg, bentonite_sg))
    return slurry_of(solids=solids, water_m3=water_m3, water_kg_m3=water_kg_m3)


def cement_sand(
    *,
    cement_kg: float,
    sand_kg: float,
    water_m3: float,
    cement_sg: float = CEMENT_SG,
    sand_sg: float = SAND_SG,
    water_kg_m3: float = WATER_KG_M3,
) -> Slurry:
    """Cement, sand and water.

    cement_kg [kg] and sand_kg [kg], more than 0; water_m3 [m3], 0 or more; cement_sg [-], sand_sg [-] and
    water_kg_m3 [kg/m3], more than 0.
    Source: the absolute-volume method. Raises ValueError outside the range.
    """
    solids = (Ingredient("cement", cement_kg, cement_sg), Ingredient("sand", sand_kg, sand_sg))
    return slurry_of(solids=solids, water_m3=water_m3, water_kg_m3=water_kg_m3)


def bentonite_by_solids(
    *,
    bentonite_kg: float,
    solids_fraction: float,
    bentonite_sg: float = BENTONITE_SG,
    water_kg_m3: float = WATER_KG_M3,
) -> Slurry:
    """Bentonite grout stated by its solids: mass of bentonite over the mass of all.

    bentonite_kg [kg], more than 0; solids_fraction [-], over 0 and under 1; bentonite_sg [-] and water_kg_m3 [kg/m3],
    more than 0.
    Source: Water Well Journal, September 2015, p 33 (50 lb in 24 gal is 20 %). Raises ValueError outside the range.
    """
    positive("bentonite_kg", bentonite_kg)
    less("solids_fraction", positive("solids_fraction", solids_fraction), "the whole", 1.0)
    water_m3 = bentonite_kg * (1.0 - solids_fraction) / solids_fraction / positive("water_kg_m3", water_kg_m3)
    bentonite = Ingredient("bentonite", bentonite_kg, bentonite_sg)
    return slurry_of(solids=(bentonite,), water_m3=water_m3, water_kg_m3=water_kg_m3)


def water_for_density_m3(
    *, solids: Sequence[Ingredient], density_kg_m3: float, water_kg_m3: float = WATER_KG_M3
) -> float:
    """Water that brings solids to a wanted density.

    solids: each of positive mass [kg] and specific gravity [-]; density_kg_m3 [kg/m3], between the water's and the
    solids' own; water_kg_m3 [kg/m3], more than 0. Returns [m3].
    Source: the absolute-volume method, solved for water. Raises ValueError outside the range.
    """
    dry = slurry_of(solids=solids, water_m3=0.0, water_kg_m3=water_kg_m3)
    if not water_kg_m3 < finite("density_kg_m3", density_kg_m3) <= dry.density_kg_m3:
        raise ValueError(
            f"density_kg_m3 = {density_kg_m3!r}: must be more than the water's {water_kg_m3!r} "
            f"and at most the solids' {dry.density_kg_m3!r}"
        )
    return (dry.mass_kg - density_kg_m3 * dry.volume_m3) / (density_kg_m3 - water_kg_m3)


def whole_bags(volume_needed_m3: float, yield_per_bag_m3: float) -> int:
    """Whole bags for a volume.

    volume_needed_m3 [m3], 0 or more; yield_per_bag_m3 [m3], more than 0.
    Source: arithmetic; a billionth of a bag is rounding, not need. Raises ValueError outside the range.
    """
    not_negative("volume_needed_m3", volume_needed_m3)
    positive("yield_per_bag_m3", yield_per_bag_m3)
    return max(0, math.ceil(volume_needed_m3 / yield_per_bag_m3 - 1e-9))


def batches(*, volume_needed_m3: float, yield_per_bag_m3: float, mixer_m3: float) -> Batches:
    """Mixer loads of whole bags for a volume.

    volume_needed_m3 [m3], 0 or more; yield_per_bag_m3 [m3], more than 0; mixer_m3 [m3] of usable volume, at least one
    bag's.
    Source: arithmetic. Raises ValueError outside the range.
    """
    bags = whole_bags(volume_needed_m3, yield_per_bag_m3)
    each = math.floor(positive("mixer_m3", mixer_m3) / yield_per_bag_m3 + 1e-9)
    if each < 1:
        raise ValueError(f"mixer_m3 = {mixer_m3!r}: must hold one bag's yield of {yield_per_bag_m3!r}")
    count = math.ceil(bags / each)
    return Batches(
        count=count, bags_each=each, bags_last=bags - each * max(0, count - 1), volume_each_m3=each * yield_per_bag_m3
    )


def mixing_water_m3(*, bags: int, water_per_bag_m3: float, wash_up_m3: float = 0.0, line_fill_m3: float = 0.0) -> float:
    """Water to have aboard: for the mix, to fill the line first and to wash up.

    bags counts bags, 0 or more; water_per_bag_m3 [m3], wash_up_m3 [m3] and line_fill_m3 [m3], 0 or more. Returns [m3].
    Source: common practice. Raises ValueError outside the range.
    """
    if bags < 0:
        raise ValueError(f"bags = {bags!r}: must be 0 or more")
    not_negative("water_per_bag_m3", water_per_bag_m3)
    return bags * water_per_bag_m3 + not_negative("wash_up_m3", wash_up_m3) + not_negative("line_fill_m3", line_fill_m3)
