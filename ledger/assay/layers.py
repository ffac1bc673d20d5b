"""Layers of gold: how thick they are, how much gold they hold, and what an X-ray reading of them would look like.

Decides: the thickness of a gold-filled layer from its share of the weight and the shape of the ware, the gold in it,
the reading that a coating on another metal would give, and from which thickness on that reading can no longer be told
from solid gold. Leaves to `xray` how a reading comes about, and to `judging` what follows. Floats live here: shares of
one, g/cm3, millimetres of metal, micrometres of layer.

A reading worked out here is for judging whether a piece can be what it seems, never for paying: instruments differ in
their light by a quarter of the figure under thin layers, which is why two kinds of light are shown.

>>> seen = coating(14, 5, "brass")
>>> [round(1000 * reading["Au"]) for reading in (seen.reads, seen.reads_tube)]
[436, 510]
>>> seen.hidden(10_000)
False
>>> round(sheet_um(1 / 20, layer=13.19, base=8.53, base_mm=1.0), 1)
17.0
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from ledger.assay import alloys, density, xray
from ledger.assay.xray import Layer, Light
from ledger.errors import InputError

# Least thicknesses as fine gold, micrometres. Sources: 16 CFR 23.4(c) as it stood until 2018 (0.175 gold electroplate,
# 0.5 gold plate, 2.5 heavy gold electroplate) and 23.5(b) (2.5 on sterling); the guides of 2018 ask for reasonable
# durability instead.
ELECTROPLATE_UM, PLATE_UM, HEAVY_UM = 0.175, 0.5, 2.5
FILLED_LEAST = Fraction(1, 20)
"""Share of the weight from which ware may be called gold-filled without its fraction. Source: 16 CFR 23.3."""
LEAST_KARAT = 10
"""Source: the same."""
THICKEST_UM = 60.0
"""No line by which gold is judged reaches further up through a layer of gold."""


@dataclass(frozen=True)
class Coating:
    """A layer of gold on another metal and what X-rays show of it."""

    layers: tuple[Layer, ...]
    """top first"""
    reads: dict[str, float]
    """parts by mass that a reading shows under light of one energy in the middle of a tube's"""
    reads_tube: dict[str, float]
    """the same under all the light of a 40 kV tube"""

    @property
    def own(self) -> Mapping[str, float]:
        """What the layer itself is made of."""
        return self.layers[0].parts

    @property
    def gold_ppm(self) -> tuple[int, int]:
        """Gold that readings show under both kinds of light, lower first, parts per million, rounded to the nearest."""
        both = sorted(round(1e6 * reading.get("Au", 0.0)) for reading in (self.reads, self.reads_tube))
        return both[0], both[1]

    @property
    def own_ppm(self) -> int:
        """Gold in the layer itself, parts per million."""
        return round(1e6 * self.own["Au"])

    @property
    def fine_um(self) -> float:
        """Micrometres of fine gold that hold as much gold on the same face."""
        return fine_um(self.layers[0].um or 0.0, self.own)

    def hidden(self, u_ppm: int) -> bool:
        """Whether some reading good to u_ppm could not be told from one of solid gold of the layer's fineness."""
        return any(abs(ppm - self.own_ppm) <= u_ppm for ppm in self.gold_ppm)

    def called(self) -> str:
        """What a coating as thick as this could be called under the guides named above."""
        if 24 * self.own["Au"] < LEAST_KARAT - 0.01:
            return "under 10 karat and no gold plate at all"
        for least, word in ((HEAVY_UM, "heavy gold electroplate"), (PLATE_UM, "gold plate")):
            if self.fine_um >= least:
                return word
        return "gold electroplate" if self.fine_um >= ELECTROPLATE_UM else "gold washed or gold flashed"


def coating(karat: float | Fraction, um: float, on: str, *, colour: str = "yellow", barrier_um: float = 0.0) -> Coating:
    """A layer of gold of this karat, so many micrometres thick, on one of `alloys.BASES`.

    colour: one of `alloys.COLOURS`. barrier_um: nickel between both. Raises: InputError.
    """
    _known(karat, on, colour)
    if not 0 < um <= 1_000 or not 0 <= barrier_um <= 1_000:
        raise InputError(field="microns", given=f"{um:g}, {barrier_um:g}", wanted="a layer of up to 1000 micrometres")
    return over(alloys.gold(karat, colour), um, alloys.BASES[on], barrier_um=barrier_um)


def _known(karat: float | Fraction, on: str, colour: str) -> None:
    if not 0 < karat <= 24:
        raise InputError(field="karat", given=f"{float(karat):g}", wanted="a karat above 0 and up to 24")
    if on not in alloys.BASES:
        raise InputError(field="on", given=on, wanted="one of " + ", ".join(alloys.BASES))
    if colour not in alloys.COLOURS:
        raise InputError(field="colour", given=colour, wanted="one of " + ", ".join(alloys.COLOURS))


def over(parts: Mapping[str, float], um: float, base: alloys.Base, *, barrier_um: float = 0.0) -> Coating:
    """The same for a layer of any make-up, such as the one a reading showed. Raises: InputError for rare elements."""
    stack = _stack(parts, um, base, barrier_um)
    return Coating(stack, xray.reads(stack), xray.reads(stack, xray.TUBE_LIGHT))


def _stack(parts: Mapping[str, float], um: float, base: alloys.Base, barrier_um: float) -> tuple[Layer, ...]:
    nickel = alloys.BASES["nickel"]
    barrier = (Layer(nickel.parts, nickel.density, barrier_um),) if barrier_um else ()
    return (Layer(parts, density.ideal(parts), um), *barrier, Layer(base.parts, base.density))


def hidden_from_um(parts: Mapping[str, float], base: alloys.Base, within_ppm: int, light: Light = xray.MIDDLE) -> float:
    """Micrometres from which on a layer on a base reads within so much of its own gold, whatever thicker it gets.

    Found to a hundredth of a micrometre, at most THICKEST_UM.
    """
    own = parts["Au"] / sum(parts.values())

    def off(um: float) -> bool:
        reading = xray.reads(_stack(parts, um, base, 0.0), light)
        return abs(reading["Au"] - own) * 1e6 > within_ppm

    high = THICKEST_UM
    while high > 1 and not off(high - 1):
        high -= 1
    low = high - 1
    while high - low > 0.01:
        middle = (low + high) / 2
        low, high = (middle, high) if off(middle) else (low, middle)
    return high


def sheet_um(share: float, *, layer: float, base: float, base_mm: float, sides: int = 2) -> float:
    """Micrometres of layer on each covered side of flat sheet.

    share: of the weight, below 1. layer, base: densities, g/cm3. base_mm: thickness of the base without its layers.
    sides: 1 or 2. Source: balance of masses.
    """
    return share / (1 - share) * base / layer * base_mm * 1_000 / sides


def wire_um(share: float, *, layer: float, base: float, outer_mm: float) -> float:
    """Micrometres of layer around round wire of an outer diameter. Source: balance of masses."""
    room = share / layer / (share / layer + (1 - share) / base)
    return outer_mm / 2 * 1_000 * (1 - math.sqrt(1 - room))


def called_filled(share: Fraction, karat: float | Fraction) -> str:
    """What ware with a layer of this share of its weight could be called under 16 CFR 23.3."""
    if karat < LEAST_KARAT:
        return "nothing of gold by name: the layer is under 10 karat"
    if share >= FILLED_LEAST:
        return "gold-filled, or rolled gold plate"
    return "rolled gold plate if the fraction stands before it"


def overall_ppm(share: Fraction, fineness_ppm: int) -> int:
    """Gold in the whole of layered ware as made, parts per million, rounded down: at most, because a layer wears."""
    return math.floor(share * fineness_ppm)


def fine_um(um: float, parts: Mapping[str, float]) -> float:
    """Micrometres of fine gold that hold as much gold as a layer. ISO 10713:1992 reckons coatings so."""
    return um * density.ideal(parts) * parts.get("Au", 0.0) / sum(parts.values()) / density.ELEMENTS["Au"]


def by_fineness_um(um: float, parts: Mapping[str, float]) -> float:
    """The same by fineness alone, as a footnote of 16 CFR 23.4 reckoned: a micrometre of 12 karat is half of fine."""
    return um * parts.get("Au", 0.0) / sum(parts.values())


def mg_per_cm2(um: float, parts: Mapping[str, float]) -> float:
    """Milligrams of gold on a square centimetre of a layer."""
    return fine_um(um, parts) * density.ELEMENTS["Au"] / 10


def filled(
    share: float, karat: float | Fraction, *, on: str = "brass", colour: str = "yellow", sheet_mm: float | None = None,
    wire_mm: float | None = None, sides: int = 2
) -> Coating:  # fmt: skip
    """What a reading of gold-filled ware as made would show: its layer from its share of the weight and its shape.

    share: of the weight, above 0 and below 1. sheet_mm: thickness of the base; else wire_mm: outer diameter; else sheet
    of 1 mm. Raises: InputError.
    """
    if not 0 < share < 1:
        raise InputError(field="fraction", given=f"{share:g}", wanted="a share of the weight between 0 and 1, as 1/20")
    _known(karat, on, colour)
    parts = alloys.gold(karat, colour)
    metals = {"layer": density.ideal(parts), "base": alloys.BASES[on].density}
    if wire_mm is not None and sheet_mm is None:
        return coating(karat, wire_um(share, **metals, outer_mm=wire_mm), on, colour=colour)
    um = sheet_um(share, **metals, base_mm=1.0 if sheet_mm is None else sheet_mm, sides=sides)
    return coating(karat, um, on, colour=colour)
