"""Density: what weighing in air and in water says, and what an alloy of known make-up should weigh.

Decides: the density of water, of a piece weighed in it and of an alloy of known make-up, with their uncertainties;
whether the room a piece takes up is that of the metal read; from which weight that can be told. Leaves to `judging`
what a difference means. Floats live here: grams, cubic centimetres and parts of one go in and out; every caller
rounds to whole units at its own edge and says how.

>>> round(measured(10.00, 9.24, celsius=20.0).density, 4)
13.1197
>>> round(ideal({"Ag": 0.925, "Cu": 0.075}), 3)
10.366
>>> compare(measured(18.00, 15.93, celsius=20.0), wanted=13.2).says
'lighter'
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

# Atomic masses. Source: IUPAC standard atomic weights, as carried by the public package mendeleev; the tests hold
# them against periodictable.
MASSES: dict[str, float] = {
    "Au": 196.967, "Ag": 107.868, "Cu": 63.546, "Zn": 65.38, "Ni": 58.693, "Pd": 106.42, "Pt": 195.084, "Rh": 102.906,
    "Ru": 101.07, "Ir": 192.217, "Os": 190.23, "W": 183.84, "Re": 186.207, "Fe": 55.845, "Co": 58.933, "Cr": 51.996,
    "Mn": 54.938, "Cd": 112.414, "Pb": 207.2, "Sn": 118.71, "In": 114.818, "Ga": 69.723, "Al": 26.982, "Ti": 47.867,
    "Mo": 95.95, "Ta": 180.948, "Nb": 92.906, "Zr": 91.224, "V": 50.942, "Si": 28.085, "Ge": 72.63, "Sb": 121.76,
    "Bi": 208.98, "Hg": 200.592, "As": 74.922, "Se": 78.971, "Te": 127.6, "Mg": 24.305, "Be": 9.012, "P": 30.974,
    "S": 32.06,
}  # fmt: skip

# Cubic centimetres per mole of atoms that two metals take up more, mixed, than apart, at half and half; less or more
# of one by the product of both shares, four times. Source: cell sides of the disordered alloys: AuCu 3.873 angstrom
# (teaching pages of the Universite du Maine), AuAg 4.071 (from memory), against gold 4.0782, silver 4.0857 and copper
# 3.6146 (CRC Handbook).
EXCESS: dict[tuple[str, str], float] = {("Au", "Cu"): 0.086, ("Au", "Ag"): -0.082}

ZINC_IN_COPPER = 7.67
"""What zinc weighs inside a copper-rich alloy, g/cm3: from alpha brass C26000 at 8.53 g/cm3 (Copper Development
Association data sheet), which ideal mixing misses by 2.4 %."""

COPPER = ELEMENTS["Cu"]

STONES: dict[str, float] = {
    "diamond": 3.52, "cubic zirconia": 5.8, "corundum": 4.0, "quartz": 2.65, "glass": 2.5, "pearl": 2.7,
}  # fmt: skip
"""Densities of stones, g/cm3. Source: CRC Handbook, minerals; cubic zirconia and glass vary, from memory."""
FILLERS: dict[str, float] = {"air": AIR, "resin": 1.15, "pitch": 1.3, "plaster": 2.3}
"""What hollow ware is filled with, g/cm3; from memory."""

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
    mass_u: float = 0.0
    """standard uncertainty of the mass, g, as far as stones bring it in; the scale's own is in `volume_u`"""

    @property
    def density_u(self) -> float:
        """Standard uncertainty of the density, g/cm3."""
        return self.density * math.hypot(self.volume_u / self.volume, self.mass_u / self.mass)


@dataclass(frozen=True)
class Comparison:
    """The room a piece takes up against the room that the metal read would take up."""

    mass: float
    """g"""
    expected: float
    """cm3 that the metal read would take up"""
    over: float
    """cm3 more than expected; below nought: less"""
    spread: float
    """cm3 within which the two agree"""

    @property
    def says(self) -> str:
        """agrees, lighter (takes up too much room: a layer on something light, a cavity) or denser."""
        if abs(self.over) <= self.spread:
            return "agrees"
        return "lighter" if self.over > 0 else "denser"

    def decides(self, core: float) -> bool:
        """Whether a piece all of another metal (g/cm3) would lie outside on either side: twice the spread away."""
        return abs(self.mass / core - self.expected) >= 2 * self.spread


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
    stone_mass_u: float = 0.0,
    stone_density_u: float = 0.0,
    air_density: float = AIR,
) -> Measured:
    """Density of a piece weighed in air and hanging in water, stones taken out, buoyancy of air allowed for.

    air, in_water, stone_mass: grams, air above in_water. step: the scale's smallest step in grams, taken as the
    standard uncertainty of each of the two weighings. stone_density, air_density: g/cm3. stone_mass_u,
    stone_density_u: standard uncertainties, where the stones were estimated. The metal must take up some room.
    Source: hydrostatic weighing, rho = m(rho_w - rho_a)/(m - m_w) + rho_a; JCGM 100:2008, 5.1, for the uncertainty.
    """
    lift = water(celsius) - air_density
    whole = (air - in_water) / lift
    stones = stone_mass / stone_density
    volume = whole - stones
    mass = air + air_density * whole - stone_mass
    by_stones = math.hypot(stone_mass_u / stone_density, stones * stone_density_u / stone_density)
    return Measured(mass / volume, volume, mass, math.hypot(math.sqrt(2) * step / lift, by_stones), stone_mass_u)


def compare(piece: Measured, wanted: float, *, model: float = 0.025, k: float = 2.0) -> Comparison:
    """The room a piece takes up against that of metal of a density, g/cm3: the noise does not grow with density there.

    model: standard share by which the wanted density may be wrong: 0.025 where it comes from a reading, 0.01 for an
    alloy that is known (choices of this project). k: how many standard uncertainties still agree.
    """
    expected = piece.mass / wanted
    spread = k * math.hypot(piece.volume_u, expected * model, piece.mass_u / wanted)
    return Comparison(piece.mass, expected, piece.volume - expected, spread)


def decides_from(
    wanted: float, core: float, *, step: float, model: float = 0.025, k: float = 2.0, celsius: float = 20.0
) -> float | None:
    """Grams from which `compare` tells a piece all of one density from one all of another (`Comparison.decides`).

    wanted, core: g/cm3. step: grams. None: at no weight, because the densities lie within the model's doubt.
    """
    apart = abs(1 / core - 1 / wanted)
    free = apart * apart - (2 * k * model / wanted) ** 2
    if free <= 0:
        return None
    return 2 * k * math.sqrt(2) * step / (water(celsius) - AIR) / math.sqrt(free)


def with_void(metal: float, share: float, filler: float = AIR) -> float:
    """Density, g/cm3, of a piece of whose room a share (0 to 1) is a void or a filler of some density."""
    return metal * (1 - share) + filler * share


def void_share(whole: float, metal: float, filler: float = AIR) -> float:
    """Share of the room, 0 to 1, that a void or filler must have to give the whole its density; 0 for a dense one."""
    return min(max((metal - whole) / (metal - filler), 0.0), 1.0)


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
    """Density that a solid piece of this make-up should show, g/cm3; parts by mass, any total.

    Ideal mixing with what is known of its error: zinc as it is inside copper, gold with copper taking up up to 0.9 %
    more room than apart and gold with silver up to 0.8 % less. What is left is the model's doubt, `compare`.
    """
    volume = sum(parts.values()) / ideal(
        parts, ZINC_IN_COPPER if parts.get("Cu", 0) > parts.get("Zn", 0) else ELEMENTS["Zn"]
    )
    atoms = {element: part / MASSES[element] for element, part in parts.items()}
    moles = sum(atoms.values())
    for (one, other), excess in EXCESS.items():
        volume += 4 * excess * atoms.get(one, 0.0) * atoms.get(other, 0.0) / moles
    return sum(parts.values()) / volume


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
