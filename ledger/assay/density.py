"""Density: what weighing in air and in water says, and what an alloy of known make-up should weigh.

Decides: the density of water, of a piece weighed in it and of an ideal mixture, with their uncertainties.
Leaves to `judging` what a difference means. Floats live here and nowhere above: grams, cubic centimetres and
parts of one go in and out; every caller rounds to whole units at its own edge and says how.

>>> round(measured(10.00, 9.24, celsius=20.0).density, 4)
13.1197
>>> round(ideal({"Ag": 0.925, "Cu": 0.075}), 3)
10.366
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

AIR = 0.0012
"""Density of room air, g/cm3, for the lift it gives."""

# g/cm3 near room temperature. Source: CRC Handbook of Chemistry and Physics, section 4, as carried by the public
# package mendeleev; the tests hold them against periodictable. Tungsten 19.3 and ruthenium 12.1 follow CRC.
ELEMENTS: dict[str, float] = {
    "Au": 19.3, "Ag": 10.5, "Cu": 8.96, "Zn": 7.134, "Ni": 8.9, "Pd": 12.0, "Pt": 21.5, "Rh": 12.4, "Ru": 12.1,
    "Ir": 22.56, "Os": 22.59, "W": 19.3, "Re": 20.8, "Fe": 7.87, "Co": 8.86, "Cr": 7.15, "Mn": 7.3, "Cd": 8.69,
    "Pb": 11.3, "Sn": 7.287, "In": 7.31, "Ga": 5.91, "Al": 2.7, "Ti": 4.506, "Mo": 10.2, "Ta": 16.4, "Nb": 8.57,
    "Zr": 6.52, "V": 6.0, "Si": 2.3296, "Ge": 5.3234, "Sb": 6.68, "Bi": 9.79, "Hg": 13.5336, "As": 5.75,
    "Se": 4.809, "Te": 6.232, "Mg": 1.74, "Be": 1.85, "P": 1.82, "S": 2.07,
}  # fmt: skip

ZINC_IN_COPPER = 7.67
"""What zinc weighs inside a copper-rich alloy, g/cm3: from alpha brass C26000 at 8.53 g/cm3 (Copper Development
Association data sheet), which ideal mixing misses by 2.4 %."""

COPPER = ELEMENTS["Cu"]

# Densities between which the rest of an alloy lies, g/cm3. A project choice: copper-zinc to silver; with nickel and
# palladium; anything from zinc to palladium.
FAMILIES: dict[str, tuple[float, float]] = {
    "yellow-rose": (8.4, 10.5),
    "white": (8.3, 12.0),
    "unknown": (7.13, 12.0),
}


@dataclass(frozen=True)
class Measured:
    """One hydrostatic weighing worked out."""

    density: float
    """g/cm3"""
    volume: float
    """cm3"""
    mass: float
    """g, with the lift of air put back"""
    volume_u: float
    """standard uncertainty of the volume, cm3"""

    @property
    def density_u(self) -> float:
        """Standard uncertainty of the density, g/cm3, taking the volume as its one large part."""
        return self.density * self.volume_u / self.volume


def water(celsius: float) -> float:
    """Density of air-free water, g/cm3, between 0 and 40 degrees Celsius.

    Source: Tanaka, Girard, Davis, Peuto, Bignell, Metrologia 38 (2001) 301, equation 1.
    """
    t = celsius
    kg_m3 = 999.974950 * (1 - (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881)))
    return kg_m3 / 1000


def measured(
    air: float,
    in_water: float,
    *,
    celsius: float,
    step: float = 0.01,
    stone_mass: float = 0.0,
    stone_density: float = 1.0,
) -> Measured:
    """Density of a piece weighed in air and hanging in water, stones taken out, buoyancy of air allowed for.

    air, in_water, stone_mass: grams, air above in_water. step: the scale's smallest step in grams, taken as the
    standard uncertainty of each of the two weighings. stone_density: g/cm3.
    Source: hydrostatic weighing, rho = m(rho_w - rho_a)/(m - m_w) + rho_a.
    """
    lift = water(celsius) - AIR
    whole = (air - in_water) / lift
    volume = whole - stone_mass / stone_density
    mass = air + AIR * whole - stone_mass
    return Measured(mass / volume, volume, mass, math.sqrt(2) * step / lift)


def density_u(mass: float, density: float, step: float, celsius: float = 20.0) -> float:
    """Standard uncertainty of a density, g/cm3, when both weighings (grams) are good to one step.

    Source: the law of propagation of uncertainty (JCGM 100:2008, 5.1) on the formula of `measured`.
    """
    w = water(celsius)
    return density * density / (w * mass) * step * math.hypot(1 - w / density, 1)


def ideal(parts: Mapping[str, float], zinc: float = ELEMENTS["Zn"]) -> float:
    """Density of an alloy whose volumes add, g/cm3; parts by mass, any total; elements of ELEMENTS only."""
    total = volume = 0.0
    for element, part in parts.items():
        total += part
        volume += part / (zinc if element == "Zn" else ELEMENTS[element])
    return total / volume


def predicted(parts: Mapping[str, float]) -> float:
    """Density that a solid piece of this make-up should show, g/cm3: ideal mixing, zinc as it is inside copper."""
    return ideal(parts, ZINC_IN_COPPER if parts.get("Cu", 0) > parts.get("Zn", 0) else ELEMENTS["Zn"])


def fineness_between(
    density: float, u: float, *, pure: float, rest: tuple[float, float], k: float = 2.0, model: float = 0.01
) -> tuple[float, float]:
    """Parts of one of the precious metal that a density allows when the rest weighs between two densities.

    density, u, pure, rest: g/cm3. k widens u; model is the share of the density by which mixing may be wrong.
    Result: low and high, each between 0 and 1. It is wide: a density says much about construction, little of fineness.
    """
    spread = math.hypot(k * u, model * density)
    low = _share(density - spread, pure, rest[1])
    high = _share(density + spread, pure, rest[0])
    return min(max(low, 0.0), 1.0), min(max(high, 0.0), 1.0)


def _share(density: float, pure: float, rest: float) -> float:
    if density <= rest:
        return 0.0
    return (1 / density - 1 / rest) / (1 / pure - 1 / rest)


def smallest_weight(density: float, other: float, step: float, k: float = 2.0) -> float:
    """Grams from which a scale with this step (grams) tells two densities apart: difference >= k * (u1 + u2)."""
    each_gram = density_u(1.0, density, step) + density_u(1.0, other, step)
    return k * each_gram / abs(density - other)
