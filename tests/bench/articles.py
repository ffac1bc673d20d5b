"""Articles drawn by chance, with what they are and what the instruments of a counter would show of them.

Nothing here looks at the rules: an article is drawn first, its metal, layers and cavities; then its readings follow
from the layer model with the noise of an analyser, and its two weighings from its true room and weight with the noise
of a scale. Ranges without a source beside them are those of the trade from memory, and stand here to be seen.

Composition of solids: gold of 9, 10, 14, 18 and 22 karat; the rest of yellow gold is 20 to 60 % silver and up to 18 %
zinc, of rose up to 15 % silver and 8 % zinc, of nickel white 20 to 45 % nickel and 10 to 25 % zinc, of palladium white
30 to 60 % palladium and 10 to 60 % silver, and copper besides. Half of the white articles have 0.1 to 0.5 micrometres
of rhodium. The true density of a metal lies about that of ideal mixing, one per cent to either side (k = 1), and a
casting has up to one per cent of pores. A sixth of the solids is hollow (10 to 60 % of their room), a sixth set with
stones (0.5 to 25 % of the weight, small shares more often), whose weight the clerk knows to 5 % (k = 1).

Gold-filled: 1/10, 1/20, 1/30 and 1/40 of 10, 12 and 14 karat on brass, bronze and nickel silver, sheet of 0.2 to 1.5
mm covered on both sides, or wire of that diameter. Electroplate: 0.1 to 5 micrometres of 10, 14, 18, 22 and 24 karat
on the same bases, half of it over 1 to 5 micrometres of nickel. Gilt: the same coatings over sterling.

Readings: light of 32 keV, on one article in four that of a whole 40 kV tube; three spots; the uncertainty U, 10 to 30
per thousand (k = 2), is half shared by all spots (calibration, curvature) and half each spot's own, in equal variances;
of less than 300 per thousand of gold it shrinks as counts do, with the root of the share. Weighings: noise of one step
of the scale (k = 1) on each, then rounded to a step; water of 15 to 30 degrees, read to half a degree; a bubble of 2 to
20 cubic millimetres hangs unseen on one article in twenty.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from random import Random
from typing import Any

from ledger.assay import density, layers, xray
from ledger.assay.alloys import BASES, gold
from ledger.assay.xray import Layer

Document = dict[str, Any]
Parts = dict[str, float]
SOLID_KARATS = (9, 10, 14, 18, 22)
STONES = {"diamond": (3.51, 3.53), "zirconia": (5.6, 6.0), "corundum": (3.99, 4.01), "quartz": (2.64, 2.66)}
"""Densities, g/cm3, from memory."""
BUBBLES = 0.05


@dataclass(frozen=True)
class Article:
    """One article and its evidence."""

    kind: str
    """solid, hollow, stone-set, gold-filled, electroplate, gilt"""
    gold_ppm: float
    """true fineness of the metal the marks speak of; of a layer, its own"""
    grams: float
    """of the metal"""
    reading: Document
    weighing: Callable[[float], Document]
    """the density test on a scale of that step, grams"""
    mark: str
    stones: bool


@dataclass(frozen=True)
class Make:
    """What an article is made of, whatever it weighs."""

    kind: str
    gold: float
    """part of one, of the metal or of the layer"""
    shown: Parts
    """what a reading without noise shows"""
    room: float
    """cm3 that a gram takes up, cavities with it"""
    mark: str

    def weighing(self, random: Random, grams: float) -> Article:
        """An article of that make and weight of metal, with its readings and weighings."""
        stone_grams = stone_room = 0.0
        stones: Document = {}
        if self.kind == "stone-set":
            low, high = STONES[random.choice(sorted(STONES))]
            share = math.exp(random.uniform(math.log(0.005), math.log(0.25)))
            stone_grams = grams * share / (1 - share)
            stone_room = stone_grams / random.uniform(low, high)
            thought = stone_grams * random.gauss(1, 0.05)
            figures = {"weight": f"{thought:.3f}", "unit": "g", "density": f"{(low + high) / 2:.2f}", "estimated": True}
            stones = {"stones": figures}
        test = _weighing(random, grams + stone_grams, grams * self.room + stone_room, stones)
        stamp = self.mark if random.random() < 0.5 else ""
        return Article(self.kind, self.gold * 1e6, grams, _reading(random, self.shown), test, stamp, bool(stones))


def solid(random: Random) -> Make:
    """Gold all through; a sixth hollow, a sixth set with stones."""
    karat = random.choice(SOLID_KARATS)
    colour = random.choice(("yellow", "rose", "white-nickel", "white-palladium") if karat < 22 else ("yellow", "rose"))
    parts = alloy(random, karat / 24, colour)
    shown = parts
    if colour.startswith("white") and random.random() < 0.5:
        rhodium = Layer({"Rh": 1.0}, density.ELEMENTS["Rh"], random.uniform(0.1, 0.5))
        shown = xray.reads([rhodium, Layer(parts, density.predicted(parts))], _light(random))
    gravity = _true_density(random, parts) * (1 - random.uniform(0, 0.01))
    room = 1 / gravity
    chance = random.random()
    kind = "hollow" if chance < 1 / 6 else "stone-set" if chance < 1 / 3 else "solid"
    if kind == "hollow":
        room /= 1 - random.uniform(0.1, 0.6)
    return Make(kind, parts["Au"], shown, room, f"{karat}K")


def gold_filled(random: Random) -> Make:
    """A rolled layer over base metal."""
    karat, share = random.choice((10, 12, 14)), 1 / random.choice((10, 20, 30, 40))
    top = alloy(random, karat / 24, random.choice(("yellow", "rose")))
    base = BASES[random.choice(("brass", "bronze", "nickel-silver"))]
    dense, millimetres = density.predicted(top), random.uniform(0.2, 1.5)
    if random.random() < 0.5:
        um = layers.sheet_um(share, layer=dense, base=base.density, base_mm=millimetres)
    else:
        um = layers.wire_um(share, layer=dense, base=base.density, outer_mm=millimetres)
    shown = xray.reads([Layer(top, dense, um), Layer(base.parts, base.density)], _light(random))
    below = base.density * random.gauss(1, 0.003)
    room = share / _true_density(random, top) + (1 - share) / below
    return Make("gold-filled", top["Au"], shown, room, f"{karat}K")


def electroplate(random: Random) -> Make:
    """A galvanic coating over base metal, half of it over nickel."""
    base = BASES[random.choice(("brass", "bronze", "nickel-silver"))]
    barrier = random.uniform(1, 5) if random.random() < 0.5 else 0.0
    return _coated(random, "electroplate", base.name, barrier)


def gilt(random: Random) -> Make:
    """A galvanic coating over sterling."""
    return _coated(random, "gilt", "sterling", 0.0)


def _coated(random: Random, kind: str, base_name: str, barrier_um: float) -> Make:
    karat, base = random.choice((10, 14, 18, 22, 24)), BASES[base_name]
    top = alloy(random, karat / 24, "yellow")
    um = math.exp(random.uniform(math.log(0.1), math.log(5)))
    stack = [Layer(top, density.predicted(top), um), Layer(base.parts, base.density)]
    if barrier_um:
        stack.insert(1, Layer(BASES["nickel"].parts, BASES["nickel"].density, barrier_um))
    shown = xray.reads(stack, _light(random))
    room = 1 / (base.density * random.gauss(1, 0.003))  # the coating itself weighs next to nothing
    return Make(kind, top["Au"], shown, room, f"{karat}K")


KINDS: dict[str, Callable[[Random], Make]] = {
    "solid": solid,
    "gold-filled": gold_filled,
    "electroplate": electroplate,
    "gilt": gilt,
}


def alloy(random: Random, fine: float, colour: str) -> Parts:
    """Parts by mass, together 1, of a gold of a fineness and colour, drawn over the trade's ranges."""
    if fine >= 1:
        return dict(gold(24))
    fine += random.uniform(-0.002, 0.004)
    draw = random.uniform
    shares = {
        "yellow": {"Ag": draw(0.2, 0.6), "Zn": draw(0, 0.18)},
        "rose": {"Ag": draw(0, 0.15), "Zn": draw(0, 0.08)},
        "white-nickel": {"Ni": draw(0.2, 0.45), "Zn": draw(0.1, 0.25)},
        "white-palladium": {"Pd": draw(0.3, 0.6), "Ag": draw(0.1, 0.4)},
    }[colour]
    shares["Cu"] = 1 - sum(shares.values())
    return {"Au": fine, **{element: share * (1 - fine) for element, share in shares.items() if share > 0}}


def _true_density(random: Random, parts: Parts) -> float:
    zinc = density.ZINC_IN_COPPER if parts.get("Cu", 0) > parts.get("Zn", 0) else density.ELEMENTS["Zn"]
    return density.ideal(parts, zinc) * random.gauss(1, 0.01)


def _light(random: Random) -> xray.Light:
    return xray.TUBE_LIGHT if random.random() < 0.25 else xray.MIDDLE


def _reading(random: Random, shown: Parts) -> Document:
    u = random.uniform(0.010, 0.030)
    each = u / 2 / math.sqrt(2) * min(1.0, math.sqrt(shown.get("Au", 0.0) / 0.3))
    shared = random.gauss(0, each)
    readings = []
    for spot in ("inside", "edge", "back"):
        gold_part = min(max(shown.get("Au", 0.0) + shared + random.gauss(0, each), 0.0), 1.0)
        rest = {el: part * max(random.gauss(1, 0.03), 0) for el, part in shown.items() if el != "Au"}
        scale = (1 - gold_part) / (sum(rest.values()) or 1.0)
        found = {"Au": gold_part, **{element: part * scale for element, part in rest.items()}}
        elements = {element: f"{1000 * part:.1f}" for element, part in found.items() if part >= 0.0005}
        readings.append({"spot": spot, "elements": elements})
    return {"test": "xrf", "unit": "per-mille", "uncertainty": f"{1000 * u:.1f}", "readings": readings}


def _weighing(random: Random, grams: float, room: float, stones: Document) -> Callable[[float], Document]:
    celsius = random.uniform(15, 30)
    bubble = random.uniform(0.002, 0.020) if random.random() < BUBBLES else 0.0
    noise = random.gauss(0, 1), random.gauss(0, 1)
    air = grams - density.AIR * room
    in_water = grams - density.water(celsius) * (room + bubble)

    def weigh(step: float) -> Document:
        # The same pull of chance on either scale: what differs between the tables is the step alone.
        shown = [
            max(round(weight / step + pull), 0) * step for weight, pull in zip((air, in_water), noise, strict=True)
        ]
        water = f"{round(celsius * 2) / 2:.1f}"
        figures = {"air": f"{shown[0]:.3f}", "water": f"{shown[1]:.3f}", "unit": "g", "interval": f"{step:g}"}
        return {"test": "density", **figures, "water_temperature": water, **stones}

    return weigh
