"""Eddy currents: how deep they reach, and what a conductance at one or two frequencies shuts out.

Decides: conductance from resistivity and back, the depth that a frequency reaches, the reading that a shell of one
metal on a core of another would give, and so the depth down to which another core would have shown. Leaves to `judging`
what a reading means beside other tests. Floats live here: kilohertz, % IACS, millimetres.

A reading counts only on a flat place as large as the coil and at least three skin depths thick, at room temperature
(0.4 % for each degree), with an instrument set on known pieces: chains, curved rings and hollow ware do not qualify.
Conductance tells fine metals and silver from imitations. It does not grade karat golds.

>>> round(skin_mm(100, 77.9), 3)
0.237
>>> fits(14.0)
('tin', 'tantalum', 'karat gold')
>>> cleared = together([(60, 77.5), (480, 77.5)])
>>> cleared.agrees, round(cleared.clears_mm, 2)
(True, 0.22)
"""

import cmath
import math
from collections.abc import Sequence
from dataclasses import dataclass

IACS_UOHM_CM = 172.41
"""Resistivity of the annealed copper standard times a hundred, micro-ohm centimetres. Source: IEC 60028, 1.7241."""
_MU0 = 4e-7 * math.pi
_SIEMENS_PER_IACS = 0.58e6
"""S/m for one % IACS. Source: ASTM E1004, 58 MS/m for 100 %."""
SPREAD = 0.07
"""Share by which a reading may lie beside its metal's: work state, warmth, edges. A project choice, k = 2."""
DIFFER = 0.03
"""Share by which readings at two frequencies on one spot may differ: they share its work state. A project choice."""
TO_BE_SEEN = 3.0
"""Skin depths that a piece must be thick for its reading to be its own. Common practice; ASTM E1004 asks for 2.6."""


@dataclass(frozen=True)
class Metal:
    """What a metal conducts, % IACS at 20 degrees Celsius, from low to high."""

    low: float
    high: float


def _pure(resistivity: float) -> Metal:
    return Metal(IACS_UOHM_CM / resistivity, IACS_UOHM_CM / resistivity)


METALS: dict[str, Metal] = {
    # Resistivities in micro-ohm centimetres at 20 degrees Celsius. Source: CRC Handbook, from memory.
    "silver": _pure(1.587), "copper": _pure(1.678), "gold": _pure(2.214), "aluminium": _pure(2.65),
    "tungsten": _pure(5.28), "molybdenum": _pure(5.34), "zinc": _pure(5.9), "nickel": _pure(6.93), "iron": _pure(9.61),
    "platinum": _pure(10.5), "palladium": _pure(10.54), "tin": _pure(11.5), "tantalum": _pure(13.1),
    "lead": _pure(20.8), "titanium": _pure(42.0),
    # Copper Development Association, C26000; ASTM B617, coin silver; nickel silver from memory.
    "brass": Metal(28.0, 28.0), "coin silver": Metal(83.0, 83.0), "sterling silver": Metal(83.0, 96.0),
    "nickel silver": Metal(5.5, 6.5), "stainless steel": Metal(2.3, 2.6),
    # Common practice, no published table; alloys of gold as ASTM B477, B522 and B596 print them conduct 11 to 14.
    "karat gold": Metal(10.0, 17.0), "22 karat gold": Metal(20.0, 25.0),
}  # fmt: skip
"""Metals by name."""


def iacs(resistivity: float) -> float:
    """% IACS of a resistivity in micro-ohm centimetres."""
    return IACS_UOHM_CM / resistivity


def skin_mm(kilohertz: float, conductance: float, mu_r: float = 1.0) -> float:
    """Millimetres at which the current has fallen to 37 %, in metal of a conductance (% IACS).

    Source: delta = sqrt(2/(omega mu sigma)).
    """
    sigma = conductance * _SIEMENS_PER_IACS
    return 1_000 / math.sqrt(math.pi * kilohertz * 1e3 * _MU0 * mu_r * sigma)


def fits(conductance: float, spread: float = SPREAD) -> tuple[str, ...]:
    """Metals that conduct as this reading says (% IACS), give or take a share of it."""
    return tuple(
        name for name, metal in METALS.items() if metal.low * (1 - spread) <= conductance <= metal.high * (1 + spread)
    )


def excludes(conductance: float, spread: float = SPREAD) -> tuple[str, ...]:
    """All the other metals: what lies under the coil is none of these, as deep as the coil sees."""
    fitting = fits(conductance, spread)
    return tuple(name for name in METALS if name not in fitting)


def apparent(shell: float, core: float, shell_mm: float, kilohertz: float) -> float:
    """% IACS that a reading shows over a shell of one conductance on a core of another.

    Source: surface impedance of a conducting layer on a conducting half-space under a plane wave, as textbooks of
    electromagnetics give it; the reading is the conductance of the metal, the same all through, that has this
    impedance. A real coil is small and sees less deep, so a core shows less than this says.
    """
    root = math.sqrt(shell / core)
    layer = cmath.tanh((1 + 1j) * shell_mm / skin_mm(kilohertz, shell))
    # Impedances in units of the shell's own: 1/sqrt(conductance).
    impedance = (root + layer) / (1 + root * layer)
    return shell / abs(impedance) ** 2


def reach_mm(
    kilohertz: Sequence[float], shell: Metal, core: Metal, *, spread: float = SPREAD, differ: float = DIFFER
) -> float:
    """Millimetres of shell below which a core would have shown, whatever the shell's thickness up to there.

    It shows where the reading at some frequency is not one of the shell's metal, or where readings at two frequencies
    differ; at every conductance that shell and core can have. Nought where they conduct too much alike. To a
    thousandth of a millimetre. A reading swings around the shell's own as the shell gets thicker and first passes
    through it at a quarter of pi of a skin depth; so readings clear less than the skin depth often given for them.
    """
    pairs = [(one, other) for one in (shell.low, shell.high) for other in (core.low, core.high)]
    farthest = round(1_000 * TO_BE_SEEN * skin_mm(min(kilohertz), shell.high))

    def shows(mm: float, one: float, other: float) -> bool:
        seen = [apparent(one, other, mm, frequency) for frequency in kilohertz]
        own = all(shell.low * (1 - spread) <= reading <= shell.high * (1 + spread) for reading in seen)
        return not own or max(seen) - min(seen) > differ * max(seen)

    hidden = (mm for mm in range(farthest) if not all(shows(mm / 1_000, *pair) for pair in pairs))
    return max(0, next(hidden, farthest) - 1) / 1_000


@dataclass(frozen=True)
class Cleared:
    """What readings at one or more frequencies say together of a piece taken for one metal."""

    agrees: bool
    """every reading is that of the metal"""
    differ: bool
    """readings at different frequencies differ: another metal below the surface"""
    clears_mm: float
    """the core asked about would have shown in this outer part; 0 where the readings do not agree"""
    needs_mm: float
    """how thick the piece must be for its readings to count"""
    excluded: tuple[str, ...]
    """metals that none of the readings allows"""


def together(
    readings: Sequence[tuple[float, float]],
    metal: str = "gold",
    *,
    core: str = "tungsten",
    spread: float = SPREAD,
    differ: float = DIFFER,
) -> Cleared:
    """What readings (kilohertz, % IACS) say of a piece taken for one of METALS: at least one, frequencies above nought.

    The lowest frequency reaches deepest; a second one shows whether the conductance changes with depth. core: the
    metal feared inside. spread, differ: shares, where the instrument's own are known.
    """
    known, inside = METALS[metal], METALS[core]
    shown = [conductance for _, conductance in readings]
    frequencies = sorted({kilohertz for kilohertz, _ in readings})
    agree = all(metal in fits(conductance, spread) for conductance in shown)
    apart = max(shown) - min(shown) > differ * max(shown)
    reach = 0.0
    if agree and not apart:
        reach = reach_mm(frequencies, known, inside, spread=spread, differ=differ)
    by_each = [excludes(conductance, spread) for conductance in shown]
    excluded = tuple(name for name in by_each[0] if all(name in each for each in by_each))
    return Cleared(agree, apart, reach, TO_BE_SEEN * skin_mm(frequencies[0], known.low), excluded)
